// The page at the table: shows what the address names, keeps time, keeps awake, takes a new version when nothing waits.

import { act, app, atRest, load, onDay, onRender, refresh, render } from "./app.js";
import { bringPhotos } from "./album.js";
import { once, rested, sightOf } from "./bounce.js";
import { clock, h, show } from "./dom.js";
import { listView } from "./list.js";
import * as outbox from "./outbox.js";
import { abilities, prepare, tabletView } from "./tablet.js";
import { hearPeople, pinView } from "./who.js";
import { tableMs, undo, zoneMs } from "./visit.js";
import { dogView, logButton, warningLine } from "./zone.js";

const main = document.getElementById("main");
const bar = document.getElementById("bar");
const top_ = document.getElementById("banner");
const UNDO_MS = 10 * 60_000;
const NOTE_MS = 2 * 60_000;
const CLOCK_MS = 10 * 60_000;
const REST_MS = 1_000;

/** Whether the list that is shown is of another day. */
function stale() {
  const now = new Date();
  const today = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part) => String(part).padStart(2, "0"));
  return app.bundle && app.bundle.day !== today.join("-");
}

function views() {
  const [, place, id, part] = location.hash.match(/^#(\w+)(?:\/([^/]+))?(?:\/(\w+))?/) ?? [];
  if (place === "dog") return dogView(decodeURIComponent(id ?? ""), part ?? "");
  if (place === "tablet") return tabletView();
  if (place === "who") return pinView(decodeURIComponent(id ?? ""));
  return listView();
}

/** A finger that is down finds what it came down on: until it is up nothing is drawn anew. */
let pressed = false;
let owed = false;
const RELEASE_MS = 60;
/** What stands at the head of the page: where that changes, one begins to read at the top. */
let headed = "";

function hold() {
  pressed = true;
}

function release(event) {
  // a click ends what the finger did; without one, as after scrolling, a moment later
  const wait = event.type === "click" ? 0 : RELEASE_MS;
  setTimeout(() => {
    pressed = false;
    if (owed) draw();
  }, wait);
}

function draw() {
  owed = pressed;
  if (pressed) return;
  document.documentElement.dataset.hand = app.prefs.hand;
  if (app.prefs.sun) document.documentElement.dataset.sun = "on";
  else delete document.documentElement.dataset.sun;
  show(main, views());
  const head = main.querySelector("h1")?.textContent ?? "";
  if (head !== headed) scrollTo(0, 0);
  headed = head;
  drawEdges();
}

function drawEdges() {
  if (pressed) owed = true;
  else {
    show(top_, banners());
    show(bar, undoBar());
  }
}

/** A lasting line with the way on beside it. */
const line = (level, label, text, way) =>
  h(`p.way.${level}`, {}, h("span", {}, h("span.caps", {}, label), ` ${text}`), way);

function banners() {
  const working = location.hash.startsWith("#dog");
  return [
    app.trouble && h("p.stop", { role: "alert" }, h("span.caps", {}, "Not kept"), ` ${app.trouble}`),
    !isSecureContext &&
      h(
        "p.caution",
        {},
        h("span.caps", {}, "Plain http"),
        " Taps are kept, but the page does not start without a network and the screen may go dark. Pair the tablet " +
          "at the desk for the rest.",
      ),
    abilities.bare &&
      line(
        "caution",
        "No restart",
        "The browser will not start this page without a network: keep it open." +
          (working ? "" : " Most often the tablet does not trust the salon's certificate yet."),
        !working && h("a.big#to-trust", { href: "/pair/trust" }, "How to trust it"),
      ),
    stale() &&
      h(
        "p.caution",
        {},
        h("span.caps", {}, "Not today's list"),
        ` This is the list of ${app.bundle.date}; today's has not come yet.`,
      ),
    Math.abs(outbox.clockSkew()) > CLOCK_MS &&
      h(
        "p.caution",
        {},
        h("span.caps", {}, "Clock"),
        ` This tablet's clock is ${Math.round(Math.abs(outbox.clockSkew()) / 60_000)} min off. Set it: taps carry its time.`,
      ),
    doorLine(),
    app.standing.refused > 0 &&
      line("stop", "Refused", app.standing.refused, h("a.big#to-refused", { href: "#tablet" }, "See why")),
  ];
}

/** Why the desk does not let this tablet in, and the way on. */
function doorLine() {
  const { door } = app.standing;
  if (!door) return null;
  if (door.unpaired)
    return line(
      "stop",
      "Pair again",
      "The salon's computer no longer knows this tablet. What waits is kept here, and goes then.",
      h("a.big#to-pair", { href: "/pair?gone" }, "Pair this tablet"),
    );
  return line(
    "stop",
    "Not let in",
    `${door.text || "The salon's computer refuses what this page sends."} What waits is kept here.`,
    h("a.big#to-save", { href: "#tablet" }, "This tablet"),
  );
}

const SENT = "all sent";

/** What is not at the desk yet, photos and refused entries too. */
function waitsLine({ waiting, photos, refused }) {
  const parts = [
    waiting > 0 && `${waiting} ${waiting === 1 ? "waits" : "wait"}`,
    photos > 0 && `${photos} ${photos === 1 ? "photo" : "photos"}${waiting ? "" : photos === 1 ? " waits" : " wait"}`,
    !waiting && !photos && refused > 0 && `${refused} refused`,
  ];
  return parts.filter(Boolean).join(", ") || SENT;
}

/** The last thing that was done, to be taken back; and how many entries wait. */
function undoBar() {
  const [, place, id, part] = location.hash.match(/^#(\w+)\/([^/]+)(?:\/(\w+))?/) ?? [];
  const visit = place === "dog" ? app.visits.find((each) => each.dog === decodeURIComponent(id)) : null;
  const last = visit?.log.at(-1);
  const fresh = last && Date.now() - last.at < UNDO_MS;
  const { state } = app.standing;
  const waits = waitsLine(app.standing);
  const note = app.standing.notes.at(-1);
  const warning = visit && !part ? warningLine(visit) : null;
  return [
    warning ??
      (note &&
        Date.now() - note.at < NOTE_MS &&
        h("p.note", { role: "status" }, h("span.caps", {}, "Two tablets"), ` ${note.text}`)),
    visit && !part && logButton(visit),
    h("p.last", { role: "status" }, fresh ? [h("b", {}, last.label), " kept"] : ""),
    h(
      "a.waits#waits",
      { href: "#tablet" },
      h("span", {}, waits),
      state === "away" && waits !== SENT && h("span.light", {}, "no network"),
    ),
    fresh && h("button.undo#undo", { onclick: undoing(visit), ...rested("undo", sightOf(visit)) }, "Undo"),
  ];
}

const undoing = (visit) => once("undo", () => takeBack(visit));

const takeBack = (visit) =>
  act(async () => {
    const made = await undo(visit.key);
    location.hash = `#dog/${visit.dog}`; // where what was taken back can be said anew
    return made;
  });

function tick() {
  const now = Date.now();
  for (const each of document.querySelectorAll("time[data-visit]")) {
    const visit = app.visits.find((one) => one.key === each.dataset.visit);
    if (!visit) continue;
    const of = each.dataset.of;
    const ms =
      of === "dog" ? tableMs(visit, now) : of === "zone" ? zoneMs(visit, now) : now - visit.clock.restedSince;
    const text = clock(ms);
    if (each.textContent !== text) each.textContent = text;
  }
}

async function stayAwake() {
  if (!("wakeLock" in navigator) || document.visibilityState !== "visible") return;
  try {
    const lock = await navigator.wakeLock.request("screen");
    abilities.awake = true;
    lock.addEventListener("release", () => (abilities.awake = false));
  } catch {
    abilities.awake = false; // a tablet that saves its battery says no
  }
}

/** The worker starts the page without a network; a new version waits until nothing else does. */
async function shell() {
  if (!("serviceWorker" in navigator)) throw new Error("This browser keeps no pages.");
  const worker = navigator.serviceWorker;
  const again = () => (atRest() ? location.reload() : setTimeout(again, REST_MS));
  worker.addEventListener("message", ({ data }) => {
    if (data?.taken && data.taken !== document.documentElement.dataset.version) again();
  });
  const made = await worker.register("/table/worker.js", { scope: "/table", updateViaCache: "none" });
  const failed = new Promise((_, reject) => {
    const first = made.active ? null : made.installing; // where none is active, none takes its place
    first?.addEventListener("statechange", () => first.state === "redundant" && reject(new Error("No room for it.")));
  });
  const ready = await Promise.race([worker.ready, failed]);
  abilities.shell = true;
  const ask = () => atRest() && (worker.controller ?? ready.active)?.postMessage("take");
  outbox.onStanding(({ waiting, refused, photos }) => {
    if (!(waiting + refused + photos)) ask();
  });
  ask();
  setInterval(() => ready.update().then(ask, () => {}), 15 * 60_000);
}

/** What comes with the day's list: who there is, and small photos. One after the other, never twice at once. */
let following = null;
function follow() {
  following ??= hearPeople()
    .then(bringPhotos)
    .catch(console.warn)
    .then(() => (following = null));
  return following;
}

const renew = async () => (await refresh()) || follow();

async function start() {
  onRender(draw);
  addEventListener("pointerdown", hold, true);
  for (const kind of ["click", "pointerup", "pointercancel"]) addEventListener(kind, release, true);
  addEventListener("hashchange", async () => {
    if (location.hash === "#tablet") await prepare();
    draw();
  });
  outbox.onStanding(async () => {
    if (location.hash === "#tablet") await prepare();
    if (location.hash === "#tablet") draw();
    else drawEdges();
  });
  await load();
  if (location.hash === "#tablet") await prepare();
  draw();
  document.documentElement.dataset.ready = "yes";
  performance.mark("usable"); // everything that is shown can be tapped from here on
  setInterval(tick, 1000);
  document.addEventListener("visibilitychange", stayAwake);
  document.addEventListener("click", stayAwake, { once: true });
  outbox.send();
  onDay(follow);
  await renew();
  setInterval(renew, 5 * 60_000);
  addEventListener("online", renew);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && renew());
  abilities.persisted = (await navigator.storage?.persisted?.()) || (await navigator.storage?.persist?.()) || false;
  await shell().catch((error) => {
    console.warn(error);
    abilities.bare = isSecureContext; // on plain http another line says what is missing
  });
  render();
}

start().catch((error) => {
  app.trouble = `This page could not start: ${error?.message ?? error}. Load it again.`;
  show(top_, banners());
});
