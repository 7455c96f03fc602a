// What stands beside the take: each thing one tap away, with what was said of it.

import { act } from "./app.js";
import { once, rested, sightOf } from "./bounce.js";
import { h } from "./dom.js";
import { photoInput } from "./photo.js";
import { card } from "./visit.js";
import { logShare } from "./zone.js";

/** The buttons of a zone: key, label, what was said. */
function rowsOf(visit, zone) {
  const state = visit.zones[zone.key] ?? {};
  const reading = visit.readings[`${zone.key}|${state.done ? "after" : "before"}`] ?? {};
  const read = Object.values(reading).length;
  const tool = state.tool ?? visit.tool;
  return [
    ["tool", "Tool", tool || "fingers"],
    ["ease", "Hair came", state.ease],
    ["reaction", "The dog", state.reaction],
    ["skin", "Skin", state.skin],
    ["read", "Reading", read ? `${read} said` : ""],
    ["grams", "Weight", state.grams ? `${state.grams} g` : ""],
    ["how", "Hold and tip", ""],
    ["zones", "All zones", ""],
  ];
}

export function extras(visit, zone) {
  const home = `#dog/${visit.dog}`;
  const state = visit.zones[zone.key] ?? {};
  return h(
    "section.extras",
    { "aria-label": "More about this zone" },
    rowsOf(visit, zone).map(([key, label, said]) =>
      h(`a.extra#extra-${key}`, { href: `${home}/${key}` }, h("b", {}, label), said && h("span", {}, said)),
    ),
    photoInput(visit, zone.key),
    zone.card &&
      h(
        "button.extra#card",
        {
          "aria-pressed": String(Boolean(visit.carded[zone.key])),
          onclick: () => act(() => card(visit.key, zone.key)),
        },
        h("b", {}, "Card it"),
        h("span", {}, visit.carded[zone.key] ? "carded" : "due today"),
      ),
    h(
      "button.extra#leave",
      { onclick: once("log", () => logShare(visit, zone, 0)), ...rested("log", sightOf(visit)) },
      h("b", {}, "Leave it"),
      h("span", {}, state.left ? "left" : "0 %"),
    ),
    h("a.extra#finish", { href: `${home}/finish` }, h("b", {}, "Finish"), h("span", {}, "feet, end")),
  );
}
