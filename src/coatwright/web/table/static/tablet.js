// This tablet: what waits, what was refused and why, how it is held, what it is missing.

import { act, app, prefer, refresh, render } from "./app.js";
import { h } from "./dom.js";
import * as outbox from "./outbox.js";

let list = [];
let told = [];
/** What is to be said of the list that was saved last. */
let saved = "";

/** Read what was refused, for the next look at the page. */
export async function prepare() {
  list = await outbox.refused();
}

export function tabletView() {
  const { waiting, refused, photos, state, door } = app.standing;
  const facts = factsOf();
  return [
    h("header.mast", {}, h("a.back#back", { href: "#" }, "Day"), h("p.who", {}, h("span.light", {}, app.named || app.device))),
    h("h1", {}, "This tablet"),
    h("h2", {}, "Waiting to be sent"),
    h(
      "p.lead#waiting-told",
      { role: "status" },
      waiting ? `${waiting} ${waiting === 1 ? "entry waits" : "entries wait"}` : "Nothing waits",
      photos ? ` and ${photos} ${photos === 1 ? "photo" : "photos"}` : "",
      ". ",
      door
        ? door.unpaired
          ? "The salon's computer no longer knows this tablet: pair it again. Nothing is lost."
          : `The salon's computer lets it in no more. ${door.text} Nothing is lost.`
        : ({ sending: "Sending.", away: "The salon's computer does not answer; it is tried again by itself." }[state] ??
            ""),
    ),
    h(
      "p.ways",
      {},
      h("button.big#send", { onclick: () => act(async () => void (await outbox.hurry())) }, "Send now"),
      h("button.big#save", { onclick: save, disabled: waiting + refused + photos === 0 }, "Save as a file"),
      h("button.big#fetch", { onclick: () => act(async () => void (await refresh())) }, "Fetch the day again"),
    ),
    saved && h("p.caution", { role: "status" }, saved),
    list.length > 0 && refusedList(),
    notesList(),
    h("h2", {}, "How it is held"),
    h(
      "div.choices",
      {},
      choice("hand-right", "Right hand", app.prefs.hand !== "left", () => prefer({ hand: "right" })),
      choice("hand-left", "Left hand", app.prefs.hand === "left", () => prefer({ hand: "left" })),
      choice("sun", "Sun", app.prefs.sun, () => prefer({ sun: !app.prefs.sun }), "black on white, for bright light"),
    ),
    h("h2", {}, "What it can do"),
    h(
      "ul.facts",
      {},
      facts.map(([good, text]) => h("li", {}, h("b", {}, good ? "Yes" : "No"), ` ${text}`)),
    ),
    app.bundle &&
      h(
        "section",
        {},
        h("h2", {}, "Cautions"),
        app.bundle.cautions.map(({ level, title, text }) =>
          h(`p.${level}`, {}, h("span.caps", {}, title), ` ${text}`),
        ),
      ),
  ];
}

/** What other tablets tapped of the same zones, the newest first. */
function notesList() {
  const { notes } = app.standing;
  if (!notes.length) return null;
  const rows = notes.toReversed().map(({ at, text }) => {
    const when = new Date(at).toLocaleString([], { weekday: "short", hour: "2-digit", minute: "2-digit" });
    return h("li", {}, h("span.light", {}, when), ` ${text}`);
  });
  return h("section", {}, h("h2", {}, "Two tablets on one dog"), h("ul.facts#notes", {}, rows));
}

const choice = (id, text, on, onclick, note) =>
  h(
    `button.choice#${id}`,
    { "aria-pressed": String(Boolean(on)), onclick },
    h("b", {}, text),
    note && h("span.light", {}, note),
  );

/** What the browser lets this page do; `bare` says that it was asked to start without a network, and refused. */
export const abilities = { persisted: false, awake: false, shell: false, bare: false };

function factsOf() {
  const installed = matchMedia("(display-mode: standalone)").matches || navigator.standalone === true;
  return [
    [
      installed,
      installed
        ? "installed on the home screen"
        : "not installed: add it to the home screen, so that the browser never clears it away",
    ],
    [
      abilities.shell,
      abilities.shell ? "starts without a network" : "does not start without a network: keep the page open",
    ],
    [
      abilities.persisted,
      abilities.persisted
        ? "the browser has promised to keep what waits"
        : "the browser has not promised to keep what waits beyond some days",
    ],
    [
      abilities.awake,
      abilities.awake
        ? "the screen is kept awake"
        : "the screen goes dark by itself: set a longer time in the tablet's settings",
    ],
  ];
}

function refusedList() {
  return h(
    "section.refused",
    { "aria-label": "Refused" },
    h("h2.stop-word", {}, `${list.length} refused`),
    h("p", {}, "The desk could not take these. Each stays here until you say what is to be done."),
    h(
      "ul",
      {},
      list.map((row, k) =>
        h(
          "li",
          {},
          h(
            "p",
            {},
            h("b", {}, nameOf(row)),
            " ",
            h("span.light", {}, row.event ? new Date(row.event.at).toLocaleTimeString() : ""),
          ),
          h("p.stop", {}, row.why),
          h(
            "p.ways",
            {},
            h(
              `button.big#again-${k}`,
              {
                onclick: () =>
                  act(async () => {
                    await outbox.retry(row);
                    await prepare();
                  }),
              },
              "Send again",
            ),
            told[k] === row.id
              ? h(
                  `button.big#sure-${k}`,
                  {
                    onclick: () =>
                      act(async () => {
                        await outbox.giveUp(row);
                        told = [];
                        await prepare();
                      }),
                  },
                  "Yes, give it up",
                )
              : h(
                  `button.big#give-${k}`,
                  {
                    onclick: () =>
                      act(async () => {
                        told[k] = row.id;
                      }),
                  },
                  "Give it up",
                ),
          ),
        ),
      ),
    ),
  );
}

const KINDS = {
  "take.logged": "take",
  "zone.carded": "carding",
  "care.done": "feet and hygiene",
  "visit.told": "end of the visit",
  "photo.taken": "photo",
  "reading.taken": "reading",
  "dog.unfit": "stop",
  undone: "taking back",
};

function nameOf(row) {
  if (row.photo) return "Photo";
  const { kind, stream, data } = row.event;
  const dog = app.bundle?.dogs.find((each) => `dog:${each.id}` === stream);
  const zone = dog?.zones.find((each) => each.key === data.zone)?.name ?? data.zone ?? data.what ?? "";
  return [dog?.name ?? stream, KINDS[kind] ?? kind, zone && `: ${zone}`].filter(Boolean).join(" ").replace(" :", ":");
}

async function save() {
  const { file, left } = await outbox.waitingFile(app.named ? `${app.named} (${app.device})` : app.device);
  saved = left ? `${left} photos had no room in the file: they stay here until the salon's computer answers.` : "";
  render();
  const url = URL.createObjectURL(new Blob([JSON.stringify(file, null, 1)], { type: "application/json" }));
  const stamp = new Date().toISOString().slice(0, 19).replaceAll(":", "-");
  h("a", {
    href: url,
    download: `coatwright-waiting-${app.device.replaceAll(/[^a-z0-9]+/gi, "-")}-${stamp}.json`,
  }).click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}
