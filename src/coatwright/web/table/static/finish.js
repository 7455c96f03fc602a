// The end of a visit: what was done, feet and hygiene, what the owner is told.

import { act, app } from "./app.js";
import { once, rested, sightOf } from "./bounce.js";
import { h, listed, percent, unit } from "./dom.js";
import { finish, reopen } from "./ending.js";
import { careFor, isElsewhere } from "./visit.js";

export function finishView(visit) {
  const { plan } = visit;
  const done = visit.order.filter((key) => visit.zones[key]?.done);
  const elsewhere = visit.order.filter((key) => isElsewhere(visit, key));
  const open = visit.order.filter((key) => !visit.zones[key]?.done && !elsewhere.includes(key));
  const name = (key) => plan.zones.find((zone) => zone.key === key)?.name.toLowerCase() ?? key;
  const other = done.filter((key) => {
    const { share } = visit.zones[key];
    return Math.abs(share - plan.zones.find((zone) => zone.key === key).planned) > 0.025;
  });
  const uncarded = plan.zones
    .filter((zone) => zone.card && !visit.carded[zone.key])
    .map((zone) => zone.name.toLowerCase());
  const heading = { open: "Finish", done: "Finished", stopped: "Stopped" }[visit.state];
  return h(
    "div.end",
    {},
    h("h1", {}, heading),
    visit.state === "stopped" &&
      h(
        "p.stop",
        {},
        h("span.caps", {}, "Stop"),
        ` ${visit.why}. ${plan.name} is marked unfit: a vet first, then mark it fit at the desk.`,
      ),
    h(
      "p.lead",
      {},
      `${done.length} of ${visit.order.length} zones, `,
      unit(Math.round(visit.clock.ms / 60_000), "min"),
      " on the table.",
    ),
    open.length > 0 &&
      visit.state === "open" &&
      h("p.caution", {}, h("span.caps", {}, "Still open"), ` ${listed(open.map(name))}.`),
    elsewhere.length > 0 &&
      h(
        "p",
        {},
        h("span.caps", {}, "Logged elsewhere"),
        ` ${listed(elsewhere.map((key) => `${name(key)} ${percent(visit.elsewhere[key])}`))}.`,
      ),
    other.length > 0 &&
      h(
        "p",
        {},
        h("span.caps", {}, "Not as planned"),
        ` ${listed(other.map((key) => `${name(key)} ${percent(visit.zones[key].share)}`))}.`,
      ),
    visit.state === "open" &&
      uncarded.length > 0 &&
      h("p", {}, h("span.caps", {}, "Not carded"), ` ${listed(uncarded)}.`),
    visit.state === "open" &&
      h(
        "button.log#finish-visit",
        { onclick: once("finish", () => act(() => finish(visit.key))), ...rested("finish", sightOf(visit)) },
        h("b", {}, "Finish the visit"),
      ),
    visit.state !== "stopped" && care(visit),
    visit.state !== "open" && aftercare(plan),
    visit.state === "open"
      ? h(
          "p.ways",
          {},
          h("a.big#to-zones", { href: `#dog/${visit.dog}${visit.at ? "" : "/zones"}` }, "Back to the zones"),
        )
      : h(
          "p.ways",
          {},
          visit.state === "done" &&
            h("button.big#reopen", { onclick: () => act(() => reopen(visit.key)) }, "Open it again"),
          h("a.big#to-day", { href: "#" }, "The day's dogs"),
        ),
  );
}

function care(visit) {
  const rule = app.bundle.care.find((item) => item.rule)?.rule;
  return h(
    "section.care",
    { "aria-label": "Feet and hygiene" },
    h("h2", {}, "Feet and hygiene"),
    rule && h("p.caution", {}, h("span.caps", {}, "Scissors"), ` ${rule}`),
    h(
      "div.choices",
      {},
      app.bundle.care.map((item) =>
        h(
          `button.choice#care-${item.key}`,
          {
            "aria-pressed": String(Boolean(visit.care[item.key])),
            onclick: once("care", () => act(() => careFor(visit.key, item))),
            // one chore after the other goes quickly; only what the last zone's tap brought rests
            ...rested("care", `${visit.key} ${visit.state} ${visit.at}`),
          },
          h("b", {}, item.name),
          h("span.light", {}, visit.care[item.key] ? "done" : item.how),
        ),
      ),
    ),
  );
}

const aftercare = (plan) =>
  plan.aftercare.length > 0 &&
  h(
    "section",
    {},
    h("h2", {}, "Afterwards"),
    h(
      "ul",
      {},
      plan.aftercare.map((line) => h("li", {}, line)),
    ),
  );
