// The day: who comes, in which order, how tired the hands are by then.

import { act, app, visitOf } from "./app.js";
import { clock, h, unit } from "./dom.js";
import { begin, tableMs } from "./visit.js";
import { groomerLine } from "./who.js";
import { handsLine } from "./hands.js";

const STATES = { open: "", done: "finished", stopped: "stopped" };

export function listView() {
  const { bundle } = app;
  if (!bundle) return firstTime();
  const { waiting } = bundle;
  const dogs = dogsOf(bundle);
  const listed = new Set(dogs.map(([dog]) => dog.id));
  const elsewhere = bundle.elsewhere.filter(({ id }) => !listed.has(id));
  const title = dogs.length ? "At the table" : waiting.length ? "Plans are being made" : "Nobody is planned today";
  return [
    h("p.dateline", {}, bundle.date),
    h("h1", {}, title),
    groomerLine(),
    h("ol.dogs", {}, dogs.map(([dog, why]) => dogRow(dog, why))),
    handsLine(true),
    waiting.length > 0 &&
      h("p.light", { role: "status" }, `Still being planned: ${waiting.join(", ")}.`),
    elsewhere.length > 0 &&
      h(
        "details.elsewhere",
        {},
        h("summary", {}, elsewhere.length === 1 ? "One more dog, not today" : `${elsewhere.length} more dogs, not today`),
        h(
          "ul",
          {},
          elsewhere.map(({ name, why }) => h("li", {}, h("b", {}, name), ` ${why}`)),
        ),
        h("p.light", {}, "One that comes all the same is logged at the desk."),
      ),
    h("p.ways", {}, h("a.big#to-tablet", { href: "#tablet" }, "This tablet")),
  ];
}

/** The day's dogs, then those whose visit lies on this tablet though the list no longer has them, with why. */
function dogsOf({ dogs, elsewhere }) {
  const listed = new Set(dogs.map((dog) => dog.id));
  const begun = app.visits.filter((visit) => !listed.has(visit.dog));
  const why = (id) => elsewhere.find((each) => each.id === id)?.why;
  return [...dogs.map((dog) => [dog, ""]), ...begun.map((visit) => [visit.plan, why(visit.dog) ?? ""])];
}

function firstTime() {
  return [
    h("h1", {}, "At the table"),
    h(
      "p.lead",
      {},
      "The day's list is not on this tablet yet. It comes as soon as the salon's computer answers, and stays here " +
        "from then on.",
    ),
    h("p.ways", {}, h("a.big#to-tablet", { href: "#tablet" }, "This tablet")),
  ];
}

function dogRow(dog, why) {
  const visit = visitOf(dog.id);
  const done = visit ? Object.values(visit.zones).filter((zone) => zone.done).length : 0;
  const state = visit ? STATES[visit.state] || (visit.clock.on ? "on the table" : "resting") : "";
  const count = visit?.order.length ?? dog.order.length;
  const open = () =>
    act(async () => {
      if (!dog.unfit || visit) await begin(visit?.plan ?? dog, app.bundle, app.groomer);
      location.hash = `#dog/${dog.id}`;
    });
  const told = dog.unfit
    ? h("span.stop-word", {}, "unfit ", h("span.light", {}, dog.unfit))
    : why
      ? h("span.stop-word", {}, "no longer on the list ", h("span.light", {}, why))
    : dog.remarks.map(([level, label, text]) => h("span.remark", {}, h(`span.${level}-word`, {}, label), ` ${text}`));
  return h(
    "li",
    {},
    h(
      `button.dog${visit?.clock.on ? ".on" : ""}#dog-${dog.id}`,
      { onclick: open },
      h("span.who", {}, h("b", {}, dog.name), h("span.light", {}, dog.about)),
      h(
        "span.what",
        {},
        unit(Math.round(dog.minutes), "min"),
        h("span.light", {}, visit ? ` ${done} of ${count} zones` : ` ${count} zones`),
        state && h("span.state", {}, state, visit.state === "open" && [" ", time(visit)]),
      ),
      h("span.told", {}, told),
    ),
  );
}

/** A running time: brought up to date every second by its data. */
export function time(visit) {
  const ms = visit.clock.on
    ? tableMs(visit, Date.now())
    : visit.clock.restedSince
      ? Date.now() - visit.clock.restedSince
      : 0;
  return h("time", { "data-visit": visit.key, "data-of": visit.clock.on ? "dog" : "rest" }, clock(ms));
}
