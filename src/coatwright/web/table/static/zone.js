// One zone at a time: what to take, the dial, one big tap; everything else one tap away.

import { act, app, render, visitOf } from "./app.js";
import { once, rested, sightOf } from "./bounce.js";
import { dial } from "./dial.js";
import { clock, h, percent, share as told } from "./dom.js";
import { handsLine } from "./hands.js";
import { time } from "./list.js";
import { STEP, afterTake, most } from "./model.js";
import { picture } from "./picture.js";
import { extras } from "./extras.js";
import { panel } from "./panels.js";
import { finishView } from "./finish.js";
import { tableMs, zoneMs } from "./times.js";
import { begin, isCalm, isElsewhere, logTake, rest } from "./visit.js";
import { limitOf, warningOf } from "./words.js";

export function dogView(id, part) {
  const visit = visitOf(id);
  const plan = visit?.plan ?? app.bundle?.dogs.find((dog) => dog.id === id);
  if (!plan)
    return [h("p", {}, "This dog is not on today's list."), h("p", {}, h("a.big", { href: "#" }, "The day"))];
  if (!visit) return notBegun(plan);
  const zone = plan.zones.find((each) => each.key === visit.at);
  const needsNone = part === "zones" || part === "stop";
  if (visit.state !== "open" || part === "finish" || !(zone || needsNone)) return [head(visit), finishView(visit)];
  return [
    head(visit),
    visit.clock.on ? null : restingLine(visit),
    handsLine(),
    part
      ? panel(visit, zone, part)
      : h("div.stage", {}, titleOf(visit, zone), h("div.work", {}, takeOf(visit, zone), extras(visit, zone))),
  ];
}

/** A dog that is not on the table yet: its cautions, and the way to begin. */
function notBegun(plan) {
  const start = () => act(() => begin(plan, app.bundle, app.groomer));
  return [
    h(
      "header.mast",
      {},
      h("a.back#back", { href: "#", "aria-label": "The day's dogs" }, "Day"),
      h("p.who", {}, h("span.light", {}, plan.about)),
    ),
    h("h1", {}, plan.name),
    plan.cautions.map(({ level, title, text }) => h(`p.${level}`, {}, h("span.caps", {}, title), ` ${text}`)),
    !plan.unfit && h("button.log#begin", { onclick: start }, h("b", {}, "On the table")),
  ];
}

export function head(visit) {
  const ms = tableMs(visit, Date.now());
  const level = limitOf(ms, visit.plan.limit);
  const { key, plan } = visit;
  return h(
    "header.mast",
    {},
    h("a.back#back", { href: "#", "aria-label": "The day's dogs" }, "Day"),
    h(
      "p.who",
      {},
      h("b", {}, plan.name),
      h(
        `span.time${level ? `.${level}-word` : ""}`,
        {},
        h("time", { "data-visit": key, "data-of": "dog" }, clock(ms)),
        h("span.light", {}, ` of ${plan.limit} min`),
        level === "stop" && " enough",
        level === "caution" && " nearly enough",
      ),
    ),
    visit.state === "open" &&
      h(
        "button.rest#rest",
        { onclick: () => act(() => (visit.clock.on ? rest(key) : begin(plan, app.bundle, app.groomer))) },
        visit.clock.on ? "Rest" : "Go on",
      ),
    visit.state === "open" && h("a.stop-button#stop", { href: `#dog/${plan.id}/stop` }, "Stop"),
  );
}

const restingLine = (visit) =>
  h("p.note.resting", {}, h("span.caps", {}, "Resting"), " ", time(visit), ". The clocks stand still.");

function titleOf(visit, zone) {
  const state = visit.zones[zone.key] ?? {};
  const number = visit.order.indexOf(zone.key) + 1;
  const marks = [
    zone.tender && h("span.caution-word", {}, `tender, ${percent(zone.cap)} at most`),
    zone.head && !zone.tender && h("span.light", {}, "head: when the dog is calm"),
    zone.over && h("span.caution-word", {}, `spared: ${zone.over}`),
  ];
  return h(
    "div.title",
    {},
    picture(visit, zone.key),
    h(
      "div",
      {},
      h(
        "p.place",
        {},
        h("span.caps", {}, `Zone ${number} of ${visit.order.length}`),
        " ",
        h("time", { "data-visit": visit.key, "data-of": "zone" }, clock(zoneMs(visit, Date.now()))),
        zone.planned > 0 && h("span.light", {}, ` of ${Math.max(1, Math.round(zone.whole * zone.planned))} min`),
      ),
      h("h1", {}, zone.name),
      h("p.marks", {}, marks),
      zone.hairs && h("p.hairs", {}, zone.hairs),
      h(`p.hold${zone.tender ? ".must" : ""}`, {}, zone.hold, h("span.tip", {}, ` ${zone.tip}`)),
      state.done && h("p.logged", {}, h("span.caps", {}, "Logged"), ` ${percent(state.share)}`),
      !state.done &&
        isElsewhere(visit, zone.key) &&
        h(
          "p.note",
          {},
          h("span.caps", {}, "Logged elsewhere"),
          ` ${percent(visit.elsewhere[zone.key])}; what is logged here takes its place.`,
        ),
      !isCalm(visit) &&
        h("p.caution", {}, h("span.caps", {}, "Not calm"), " head and tender zones wait until it is."),
    ),
  );
}

const keyOnDial = (visit, zone) => `${visit.key}|${zone.key}`;

/** The share that the dial was touched for and that is not logged yet; undefined where it was not touched. */
export const dialledOf = (visit, zone) => app.dialled[keyOnDial(visit, zone)];

export const forgetDialled = (visit, zone) => delete app.dialled[keyOnDial(visit, zone)];

/** The share that stands on the dial. */
export function shareOf(visit, zone) {
  const logged = visit.zones[zone.key];
  const standing = most(zone, visit.ordinal);
  return dialledOf(visit, zone) ?? (logged?.done ? logged.share : Math.min(zone.planned, standing));
}

export const setShare = (visit, zone, value) => {
  app.dialled[keyOnDial(visit, zone)] = Math.round(100 * Math.round(value / STEP) * STEP) / 100;
  render();
};

/** Log what the dial shows. */
export const logShare = (visit, zone, value) =>
  act(async () => {
    const made = await logTake(visit.key, zone.key, Math.round(100 * value) / 100);
    forgetDialled(visit, zone);
    return made;
  });

function takeOf(visit, zone) {
  const value = shareOf(visit, zone);
  const { before, after } = afterTake(zone, visit.ordinal, value);
  const limit = most(zone, visit.ordinal);
  const step = (by) => setShare(visit, zone, Math.min(Math.max(value + by * STEP, 0), limit));
  return h(
    "section.take",
    { "aria-label": `Take of the ${zone.name.toLowerCase()}` },
    h(
      "div.dialled",
      {},
      dial(zone, visit.ordinal, value, (next) => setShare(visit, zone, next)),
      h(
        "div.stepper",
        {},
        h(
          "button.step#more",
          { onclick: () => step(1), disabled: value > limit - STEP / 2, "aria-label": "5 % more" },
          "+",
        ),
        h("button.step#less", { onclick: () => step(-1), disabled: value < STEP / 2, "aria-label": "5 % less" }, "−"),
      ),
    ),
    h(
      "p.cover",
      {},
      h("span.caps", {}, "Cover"),
      " ",
      told(before),
      " → ",
      h("b", {}, told(after)),
      zone.look > 0 && h("span.light", {}, `, not below ${percent(zone.look)}`),
    ),
    zone.judge !== undefined &&
      h("p.note", {}, h("span.caps", {}, "Your hand"), ` judge it ${percent(zone.judge)}; log what you judged.`),
  );
}

/** The one big tap, always in the same place: at the foot. Nothing where there is no zone in hand. */
export function logButton(visit) {
  const zone = visit.plan.zones.find((each) => each.key === visit.at);
  if (visit.state !== "open" || !zone) return null;
  const value = shareOf(visit, zone);
  const planned = Math.abs(value - zone.planned) < STEP / 2;
  return h(
    "button.log#log",
    { onclick: once("log", () => logShare(visit, zone, value)), ...rested("log", sightOf(visit)) },
    h("b", {}, value < STEP / 2 ? "Leave it" : planned ? "As planned" : "Log"),
    value >= STEP / 2 && h("span", {}, told(value)),
  );
}

/** What to know of the take on the dial before it is logged. */
export function warningLine(visit) {
  const zone = visit.plan.zones.find((each) => each.key === visit.at);
  if (visit.state !== "open" || !zone) return null;
  const warning = warningOf(zone, visit, shareOf(visit, zone), app.bundle);
  if (!warning) return null;
  const { level, text } = warning;
  return h(`p.${level}.warning`, { role: "status" }, level !== "note" && [h("span.caps", {}, level), " "], text);
}
