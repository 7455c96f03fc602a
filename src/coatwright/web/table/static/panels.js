// What is said of a zone besides its take: each one tap away, each one tap.

import { act, app } from "./app.js";
import { album } from "./album.js";
import { h, percent } from "./dom.js";
import { goTo, isElsewhere, move, readZone, remark } from "./visit.js";
import { stopPanel } from "./stop.js";

const TITLES = {
  tool: "Tool",
  ease: "How the hair came",
  reaction: "The dog",
  skin: "Skin",
  grams: "Weight of the pulled hair",
  read: "Reading",
  how: "Hold and tip",
  zones: "All zones, in working order",
  stop: "Stop when",
};

/** What is opened in place of the take; all zones and the stop list also where no zone is in hand. */
export function panel(visit, zone, part) {
  const made = { ease, reaction, skin, tool, grams, read, how, zones, stop: stopPanel }[part];
  if (!made) return h("p.ways", {}, back(visit));
  const sign = part === "stop" ? ".stop-word" : "";
  return h(
    `section.panel.${part}`,
    { "aria-labelledby": "panel-head" },
    h("p.place", {}, part === "zones" || !zone ? visit.plan.name : zone.name),
    h(`h1#panel-head${sign}`, {}, TITLES[part]),
    made(visit, zone),
    h("p.ways", {}, back(visit)),
  );
}

const back = (visit) =>
  h("a.big.close#close", { href: `#dog/${visit.dog}` }, visit.at ? "Back to the take" : "Back to the end");

/** Keep a remark; unless there is something to read of it, back to the take. */
const say = (visit, zone, what, value, grave) =>
  act(async () => {
    const made = await remark(visit.key, zone.key, what, value);
    if (!grave) location.hash = `#dog/${visit.dog}`;
    return made;
  });

/** Buttons of which one is chosen; the same again takes it back. After those in `grave` there is more to read. */
function choices(visit, zone, what, rows, grave = []) {
  const chosen = visit.zones[zone.key]?.[what] ?? (what === "tool" ? (visit.tool ?? "") : "");
  return h(
    "div.choices",
    {},
    rows.map(([value, note, level], k) =>
      h(
        `button.choice#${what}-${k}`,
        {
          "aria-pressed": String(value === chosen),
          onclick: () => say(visit, zone, what, value, grave.includes(value)),
        },
        h("b", {}, value),
        note && h(`span${level ? `.${level}-word` : ".light"}`, {}, note),
      ),
    ),
  );
}

function ease(visit, zone) {
  const hard = visit.zones[zone.key]?.ease === "hard";
  return [
    choices(visit, zone, "ease", app.bundle.eases, ["hard"]),
    hard &&
      h(
        "p.stop",
        { role: "status" },
        h("span.caps", {}, "Stop here"),
        " Hair that needs force is not ripe, or the skin holds it: leave the zone for today.",
      ),
  ];
}

function reaction(visit, zone) {
  const said = visit.zones[zone.key]?.reaction;
  const grave = said && !["calm", "restless"].includes(said);
  return [
    choices(
      visit,
      zone,
      "reaction",
      app.bundle.reactions.map((word) => [word]),
      app.bundle.reactions.slice(1),
    ),
    said === "restless" &&
      h(
        "p.caution",
        { role: "status" },
        h("span.caps", {}, "Caution"),
        " Shorter takes, a pause; head and tender zones wait.",
      ),
    grave && stopHint(visit),
  ];
}

function skin(visit, zone) {
  const said = visit.zones[zone.key]?.skin;
  const level = app.bundle.skins.find(([word]) => word === said)?.[1];
  return [
    choices(
      visit,
      zone,
      "skin",
      app.bundle.skins.map(([word, level]) => [word, level === "stop" ? "stop" : "", level]),
      app.bundle.skins.filter(([, level]) => level).map(([word]) => word),
    ),
    level === "stop" && stopHint(visit),
    level === "caution" &&
      h(
        "p.caution",
        { role: "status" },
        h("span.caps", {}, "Caution"),
        " Look again at the next zone; tell the owner.",
      ),
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
  choices(
    visit,
    zone,
    "tool",
    app.bundle.tools.map((name) => {
      const breaks = visit.plan.breaking[name.toLowerCase()];
      return [name, breaks, breaks && "caution"];
    }),
  ),
  visit.plan.layout.length > 0 && h("p", {}, h("span.caps", {}, "Lay out"), ` ${visit.plan.layout.join("; ")}.`),
  cautionOf("dust"),
];

/** A caution of the desk, where it matters. */
function cautionOf(key) {
  const found = app.bundle.cautions.find((each) => each.key === key);
  return found && h(`p.${found.level}`, {}, h("span.caps", {}, found.title), ` ${found.text}`);
}

function grams(visit, zone) {
  const now = visit.zones[zone.key]?.grams ?? 0;
  const set = (value) => act(() => remark(visit.key, zone.key, "grams", Math.max(0, Math.round(10 * value) / 10)));
  return [
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
    h("p.lead", {}, moment === "before" ? "Before the pulling" : "After the pulling"),
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
  h("p.lead", {}, zone.hold),
  h("p.lead", {}, zone.tip),
  album(visit.plan, zone),
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
          onclick: () =>
            act(async () => {
              const made = await goTo(visit.key, key);
              location.hash = `#dog/${visit.dog}`;
              return made;
            }),
        },
        h("b", {}, zone.name),
        h(
          "span",
          {},
          state.done
            ? `logged ${percent(state.share)}`
            : isElsewhere(visit, key)
              ? `logged elsewhere ${percent(visit.elsewhere[key])}`
              : `plan ${percent(zone.planned)}`,
        ),
        zone.tender && h("span.caution-word", {}, "tender"),
      ),
      place >= 0 &&
        h(
          `button.step#up-${key}`,
          {
            "aria-label": `${zone.name} earlier`,
            disabled: place === 0,
            onclick: () => act(() => move(visit.key, key, -1)),
          },
          "↑",
        ),
      place >= 0 &&
        h(
          `button.step#down-${key}`,
          {
            "aria-label": `${zone.name} later`,
            disabled: place === visit.order.length - 1,
            onclick: () => act(() => move(visit.key, key, 1)),
          },
          "↓",
        ),
    );
  };
  const rest = visit.plan.zones.map((zone) => zone.key).filter((key) => !visit.order.includes(key));
  return [
    h("ol.zone-list", {}, visit.order.map(row)),
    rest.length > 0 && h("h2", {}, "Left alone today"),
    rest.length > 0 &&
      h(
        "ul.zone-list",
        {},
        rest.map((key) => row(key, -1)),
      ),
  ];
}
