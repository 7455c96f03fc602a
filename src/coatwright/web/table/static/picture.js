// The dog from the side: what is done is shaded, the zone in hand stands out. A picture only; nothing has to be hit.

import { h } from "./dom.js";

export function picture(visit, chosen) {
  const { box, zones } = visit.plan.picture;
  const name = visit.plan.zones.find((zone) => zone.key === chosen)?.name ?? "";
  const seen = chosen in zones;
  return h(
    "figure.dog-picture",
    {},
    h(
      "svg",
      {
        viewBox: `-8 -8 ${box[0] + 16} ${box[1] + 16}`,
        role: "img",
        "aria-label": `${visit.plan.name} from the side`,
      },
      Object.entries(zones).map(([key, d]) => {
        const state =
          key === chosen ? "now" : visit.zones[key]?.done ? "done" : visit.order.includes(key) ? "open" : "off";
        return h(`path.${state}`, { d });
      }),
    ),
    !seen && h("figcaption", {}, `${name}: not seen from the side`),
  );
}
