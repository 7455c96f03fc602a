// The stop list: always one tap away; a sign, then what is done about it.

import { act, app } from "./app.js";
import { h } from "./dom.js";
import { shareOf } from "./zone.js";
import { leaveFor, stop } from "./ending.js";

/** The sign that was tapped, by visit; it is nothing until it is said what is done. */
const signs = {};

/** What a sign says of the dog and of the skin. */
const SAYS = [{ skin: "red" }, { reaction: "flinched" }, { ease: "hard", skin: "" }];

export function stopPanel(visit, zone) {
  const { stops, after_stop: after } = app.bundle;
  const chosen = signs[visit.key];
  const choose = (k) => {
    signs[visit.key] = chosen === k ? undefined : k;
    act(async () => {});
  };
  const soFar = visit.zones[zone.key]?.done ? visit.zones[zone.key].share : 0;
  const reason = chosen === undefined ? "" : stops[chosen];
  return [
    h(
      "div.choices",
      {},
      stops.map((sign, k) =>
        h(
          `button.choice#sign-${k}`,
          { "aria-pressed": String(chosen === k), onclick: () => choose(k) },
          h("b", {}, sign),
        ),
      ),
    ),
    h("p.lead", {}, after),
    chosen !== undefined &&
      h(
        "div.choices.two",
        {},
        h(
          "button.choice#leave-zone",
          {
            onclick: () =>
              act(async () => {
                const share = Math.min(soFar, shareOf(visit, zone));
                const made = await leaveFor(visit.key, zone.key, share, SAYS[chosen] ?? {});
                signs[visit.key] = undefined;
                location.hash = `#dog/${visit.dog}`;
                return made;
              }),
          },
          h("b", {}, `Leave the ${zone.name.toLowerCase()}`),
          h("span.light", {}, "go on with the next zone"),
        ),
        h(
          "button.choice.grave#stop-dog",
          {
            onclick: () =>
              act(async () => {
                const made = await stop(visit.key, `${reason} (${zone.name.toLowerCase()}, at the table)`);
                signs[visit.key] = undefined;
                location.hash = `#dog/${visit.dog}/finish`;
                return made;
              }),
          },
          h("b", {}, "Stop for today"),
          h("span.light", {}, "marks the dog unfit: a vet first"),
        ),
      ),
  ];
}
