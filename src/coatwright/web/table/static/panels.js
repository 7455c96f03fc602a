// What is said of a zone besides its take: each one tap away, each one tap.

import { act, app } from "./app.js";
import { h, percent } from "./dom.js";
import { shareOf, logShare } from "./zone.js";
import { photoInput } from "./photo.js";
import { card, goTo, move, readZone, remark } from "./visit.js";
import { stopPanel } from "./stop.js";

/** The buttons of a zone: key, label, what was said. */
function extras(visit, zone) {
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

export function panel(visit, zone, part) {
  const home = `#dog/${visit.dog}`;
  const open = { ease, reaction, skin, tool, grams, read, how, zones, stop: stopPanel }[part];
  if (open) {
    return h("section.panel", { "aria-label": part }, open(visit, zone), h("p.ways", {}, h("a.big.close#close", { href: home }, "Back to the take")));
  }
  const state = visit.zones[zone.key] ?? {};
  return h(
    "section.extras",
    { "aria-label": "More about this zone" },
    extras(visit, zone).map(([key, label, said]) =>
      h(`a.extra#extra-${key}`, { href: `${home}/${key}` }, h("b", {}, label), said && h("span", {}, said)),
    ),
    photoInput(visit, zone.key),
    zone.card &&
      h(
        "button.extra#card",
        { "aria-pressed": String(Boolean(visit.carded[zone.key])), onclick: () => act(() => card(visit.key, zone.key)) },
        h("b", {}, "Card it"),
        h("span", {}, visit.carded[zone.key] ? "carded" : "due today"),
      ),
    h(
      "button.extra#leave",
      { onclick: () => logShare(visit, zone, 0) },
      h("b", {}, "Leave it"),
      h("span", {}, state.left ? "left" : "0 %"),
    ),
    h("a.extra#finish", { href: `${home}/finish` }, h("b", {}, "Finish"), h("span", {}, "feet, hygiene, end")),
  );
}

/** Buttons of which one is chosen; the same again takes it back. */
function choices(visit, zone, what, rows) {
  const chosen = visit.zones[zone.key]?.[what] ?? (what === "tool" ? (visit.tool ?? "") : "");
  return h(
    "div.choices",
    {},
    rows.map(([value, note, level], k) =>
      h(
        `button.choice#${what}-${k}`,
        { "aria-pressed": String(value === chosen), onclick: () => act(() => remark(visit.key, zone.key, what, value)) },
        h("b", {}, value),
        note && h(`span${level ? `.${level}-word` : ".light"}`, {}, note),
      ),
    ),
  );
}

const title = (text) => h("h2", {}, text);

function ease(visit, zone) {
  const hard = visit.zones[zone.key]?.ease === "hard";
  return [
    title("How the hair came"),
    choices(visit, zone, "ease", app.bundle.eases),
    hard &&
      h("p.stop", { role: "status" }, h("span.caps", {}, "Stop here"), " Hair that needs force is not ripe, or the skin holds it: leave the zone for today."),
  ];
}

function reaction(visit, zone) {
  const said = visit.zones[zone.key]?.reaction;
  const grave = said && !["calm", "restless"].includes(said);
  return [
    title("The dog"),
    choices(visit, zone, "reaction", app.bundle.reactions.map((word) => [word])),
    said === "restless" && h("p.caution", { role: "status" }, h("span.caps", {}, "Caution"), " Shorter takes, a pause; head and tender zones wait."),
    grave && stopHint(visit),
  ];
}

function skin(visit, zone) {
  const said = visit.zones[zone.key]?.skin;
  const level = app.bundle.skins.find(([word]) => word === said)?.[1];
  return [
    title("Skin"),
    choices(
      visit,
      zone,
      "skin",
      app.bundle.skins.map(([word, grave]) => [word, grave === "stop" ? "stop" : "", grave]),
    ),
    level === "stop" && stopHint(visit),
    level === "caution" && h("p.caution", { role: "status" }, h("span.caps", {}, "Caution"), " Look again at the next zone; tell the owner."),
  ];
}

const stopHint = (visit) =>
  h(
    "p.stop",
    { role: "status" },
    h("span.caps", {}, "Stop"),
    ` ${app.bundle.after_stop} `,
    h("a.big#to-stop", { href: `#dog/${visit.dog}/stop` }, "Stop list"),
  );

const tool = (visit, zone) => [
  title("Tool"),
  choices(
    visit,
    zone,
    "tool",
    app.bundle.tools.map(({ name, breaks }) => [name, breaks && `breaks hair: ${breaks}`, breaks && "caution"]),
  ),
];

function grams(visit, zone) {
  const now = visit.zones[zone.key]?.grams ?? 0;
  const set = (value) => act(() => remark(visit.key, zone.key, "grams", Math.max(0, Math.round(10 * value) / 10)));
  return [
    title("Weight of the pulled hair"),
    h("p.amount", { role: "status" }, h("b", {}, now.toFixed(1)), h("span.unit", {}, " g")),
    h(
      "div.choices.steps",
      {},
      [-1, -0.1, 0.1, 1, 5, 10].map((by, k) =>
        h(
          `button.step#grams-${k}`,
          { onclick: () => set(now + by), disabled: now + by < -1e-9 || now + by > 500 },
          `${by > 0 ? "+" : "−"}${Math.abs(by)}`,
        ),
      ),
      h("button.step#grams-none", { onclick: () => set(0), disabled: now === 0 }, "0"),
    ),
    h("p.light", {}, "It goes to the desk with the take."),
  ];
}

function read(visit, zone) {
  const moment = visit.zones[zone.key]?.done ? "after" : "before";
  const reading = visit.readings[`${zone.key}|${moment}`] ?? {};
  const scale = (what, marks) =>
    h(
      "div.marks",
      {},
      marks.map(([value, text], k) =>
        h(
          `button#${what}-${k}`,
          {
            "aria-pressed": String(reading[what] === Number(value)),
            onclick: () => act(() => readZone(visit.key, zone.key, what, Number(value))),
          },
          text,
        ),
      ),
    );
  return [
    title(moment === "before" ? "Reading, before the pulling" : "Reading, after the pulling"),
    h("p.caps", {}, `Longest hair, ${app.bundle.unit}`),
    scale("longest_mm", zone.longest),
    h("p.caps", {}, `Shortest hair that shows, ${app.bundle.unit}`),
    scale("shortest_mm", zone.shortest),
    h("p.caps", {}, "Cover by eye"),
    h(
      "div.choices",
      {},
      app.bundle.looks.map(([word, meaning], k) =>
        h(
          `button.choice#look-${k}`,
          {
            "aria-pressed": String(reading.look === word),
            onclick: () => act(() => readZone(visit.key, zone.key, "look", word)),
          },
          h("b", {}, word),
          h("span.light", {}, meaning),
        ),
      ),
    ),
  ];
}

const how = (visit, zone) => [
  title(`${zone.name}: hold and tip`),
  h("p.lead", {}, zone.hold),
  h("p.lead", {}, zone.tip),
  zone.why && h("p", {}, h("span.caps", {}, "Why"), ` ${zone.why}.`),
  visit.plan.hand && h("p.light", {}, `${visit.plan.hand}.`),
  visit.plan.measure && h("p.light", {}, visit.plan.measure),
  visit.plan.notes && h("p", {}, h("span.caps", {}, "Notes"), ` ${visit.plan.notes}`),
  visit.plan.cautions.map(({ level, title: head, text }) =>
    h(`p.${level}`, {}, h("span.caps", {}, head), ` ${text}`),
  ),
];

function zones(visit) {
  const row = (key, place) => {
    const zone = visit.plan.zones.find((each) => each.key === key);
    const state = visit.zones[key] ?? {};
    return h(
      "li",
      {},
      h(
        `button.zone-row#zone-${key}`,
        {
          "aria-current": key === visit.at ? "true" : null,
          onclick: () => act(async () => {
            const made = await goTo(visit.key, key);
            location.hash = `#dog/${visit.dog}`;
            return made;
          }),
        },
        h("b", {}, zone.name),
        h("span", {}, state.done ? `logged ${percent(state.share)}` : `plan ${percent(zone.planned)}`),
        zone.tender && h("span.caution-word", {}, "tender"),
      ),
      place >= 0 && h(`button.step#up-${key}`, { "aria-label": `${zone.name} earlier`, disabled: place === 0, onclick: () => act(() => move(visit.key, key, -1)) }, "↑"),
      place >= 0 && h(`button.step#down-${key}`, { "aria-label": `${zone.name} later`, disabled: place === visit.order.length - 1, onclick: () => act(() => move(visit.key, key, 1)) }, "↓"),
    );
  };
  const rest = visit.plan.zones.map((zone) => zone.key).filter((key) => !visit.order.includes(key));
  return [
    title("All zones, in working order"),
    h("ol.zone-list", {}, visit.order.map(row)),
    rest.length > 0 && h("h3", {}, "Left alone today"),
    rest.length > 0 && h("ul.zone-list", {}, rest.map((key) => row(key, -1))),
  ];
}

