// The share as a dial: three quarters of a circle in steps of 5 %, the plan's mark outside, the number within. The
// whole dial is one target: where it is touched is what it takes. The stepper beside it does all of it too.

import { h, share as told } from "./dom.js";
import { STEP, most } from "./model.js";

const RADIUS = 82;
const [FROM, SWEEP] = [135, 270];

const at = (part, radius) => {
  const turn = ((FROM + SWEEP * part) * Math.PI) / 180;
  return [100 + radius * Math.cos(turn), 100 + radius * Math.sin(turn)];
};
const point = (part, radius) =>
  at(part, radius)
    .map((value) => value.toFixed(2))
    .join(" ");

function arc(from, to, radius) {
  const large = (to - from) * SWEEP > 180 ? 1 : 0;
  return `M${point(from, radius)}A${radius} ${radius} 0 ${large} 1 ${point(to, radius)}`;
}

/** `zone` as the bundle has it, `value` as it stands, `set(value)` for another one. */
export function dial(zone, day, value, set) {
  const limit = Math.min(most(zone, day), 1);
  const keep = (next) => set(Math.round(Math.min(Math.max(next, 0), limit) / STEP) * STEP);
  const ticks = Array.from({ length: 21 }, (_, k) => {
    const inner = k % 5 ? RADIUS - 6 : RADIUS - 11;
    return `M${point(k / 20, inner)}L${point(k / 20, RADIUS + 6)}`;
  }).join("");
  const picture = h(
    "svg",
    { viewBox: "0 0 200 168", "aria-hidden": "true", focusable: "false" },
    h("path.way", { d: arc(0, 1, RADIUS) }),
    limit < 1 && h("path.none", { d: arc(limit, 1, RADIUS) }),
    zone.cap < Math.min(limit, 1) && h("path.tender", { d: arc(zone.cap, limit, RADIUS) }),
    value > 0 && h("path.take", { d: arc(0, value, RADIUS) }),
    h("path.ticks", { d: ticks }),
    planMark(zone.planned),
    h("circle.knob", { cx: at(value, RADIUS)[0], cy: at(value, RADIUS)[1], r: 9 }),
  );
  const words = `${Math.round(100 * value)} %, planned ${Math.round(100 * zone.planned)} %`;
  const made = h(
    "div.dial#dial",
    {
      role: "slider",
      tabindex: "0",
      "aria-label": `Take of the ${zone.name.toLowerCase()}`,
      "aria-valuemin": "0",
      "aria-valuemax": Math.round(100 * limit),
      "aria-valuenow": Math.round(100 * value),
      "aria-valuetext": words,
      onclick: (event) => keep(partAt(event, made)),
      onkeydown: (event) => {
        const by = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 4, PageDown: -4 }[event.key];
        const to = { Home: 0, End: limit }[event.key];
        if (by === undefined && to === undefined) return;
        event.preventDefault();
        keep(to ?? value + by * STEP);
      },
    },
    picture,
    h(
      "p.number",
      {},
      h("b", {}, told(value)),
      h("span", {}, zone.planned > 0 ? `plan ${Math.round(100 * zone.planned)} %` : "not planned"),
    ),
  );
  return made;
}

function planMark(planned) {
  const [x, y] = at(planned, RADIUS + 8);
  const [left, right] = [at(planned - 0.022, RADIUS + 17), at(planned + 0.022, RADIUS + 17)];
  return h("path.plan", { d: `M${x} ${y}L${left.join(" ")}L${right.join(" ")}Z` });
}

/** The share at the place that was touched. Below, between the ends, it is the nearer end. */
function partAt(event, made) {
  const box = made.querySelector("svg").getBoundingClientRect();
  const [x, y] = [event.clientX - box.left - box.width / 2, event.clientY - box.top - (box.width * 100) / 200];
  const turn = ((Math.atan2(y, x) * 180) / Math.PI - FROM + 720) % 360;
  if (turn > SWEEP) return turn > SWEEP + (360 - SWEEP) / 2 ? 0 : 1;
  return turn / SWEEP;
}
