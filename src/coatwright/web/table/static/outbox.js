// From the tablet to the desk: what waits is sent in batches, and leaves only with its answer.

import { read, write } from "./store.js";

const BATCH = 200;
const PATIENCE_MS = 15_000;
const FIRST_MS = 1_000;
const LAST_MS = 30_000;

/** Bytes of a photo that a slow line still carries in a millisecond: as long is waited for its answer. */
const SLOW = 30;
/** Bytes of photos that a saved list takes, the oldest first. */
const MOST_SAVED = 40_000_000;

/**
 * How it stands; `state` is idle, sending, away or shut. `door` says why the desk does not let this tablet in, until it
 * does: `{ unpaired, text }`. `notes` are the words of other tablets' taps, the last one last.
 */
export const standing = { waiting: 0, refused: 0, photos: 0, state: "idle", door: null, notes: [] };
const listeners = new Set();
let timer = 0;
let delay = FIRST_MS;
let running = null;
let again = false;
let skew = 0;

export const onStanding = (listener) => listeners.add(listener);

/** Milliseconds by which the desk's clock is ahead of this one, by the last answer. */
export const clockSkew = () => skew;

/** How many wait and how many were refused, read anew and told to whoever listens. */
export async function count() {
  await read(["waiting", "photos", "kept"], async ({ waiting, photos, kept }) => {
    const [rows, pictures, notes] = await Promise.all([waiting.all(), photos.keys(), kept.get("notes")]);
    standing.notes = notes?.value ?? [];
    standing.refused = rows.filter((row) => row.why).length;
    standing.waiting = rows.length - standing.refused;
    standing.photos = pictures.length;
  });
  listeners.forEach((listener) => listener(standing));
}

const isShut = (status) => status === 401 || status === 403;

/** What an answer says of the door, whoever asked; true when it is another than before. */
export function doorTold(status, said) {
  const before = standing.door;
  const text = [said?.what, said?.remedy].filter(Boolean).join(" ");
  standing.door = isShut(status) ? { unpaired: status === 401, text } : null;
  return before?.text !== standing.door?.text || before?.unpaired !== standing.door?.unpaired;
}

function told(state) {
  standing.state = state;
  return count();
}

/** Send now; called after every tap. Two tabs take turns where the browser knows locks; ids make it safe anyway. */
export function send() {
  clearTimeout(timer);
  if (running) {
    again = true;
    return running;
  }
  running = alone(rounds)
    .catch((error) => {
      console.warn(error);
      return "away";
    })
    .then(async (state) => {
      running = null;
      await told(state).catch(console.warn);
      if (again && state === "idle") {
        again = false;
        return send();
      }
      again = false;
      if (state !== "idle") later();
      return state;
    });
  return running;
}

function later() {
  clearTimeout(timer);
  timer = setTimeout(send, delay * (0.75 + 0.5 * Math.random()));
  delay = Math.min(2 * delay, LAST_MS);
}

/** Try at once again, whatever the last try said. */
export function hurry() {
  delay = FIRST_MS;
  return send();
}

const alone = (work) => (navigator.locks ? navigator.locks.request("coatwright-outbox", work) : work());

/** Batches until nothing is left to send; how it ended. */
async function rounds() {
  for (;;) {
    const rows = await read("waiting", ({ waiting }) => waiting.all());
    const ready = rows.filter((row) => !row.why).sort((a, b) => a.n - b.n);
    if (!ready.length) return pictures();
    await told("sending");
    const state = await batch(ready.slice(0, BATCH));
    if (state !== "idle") return state;
    delay = FIRST_MS;
  }
}

/** Send some rows. When the desk cannot read the whole, the halves are sent, down to the one that it cannot read. */
async function batch(rows) {
  let answer;
  try {
    answer = await ask("/api/events", {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ events: rows.map((row) => row.event) }),
    });
  } catch {
    return "away";
  }
  const { status, said } = answer;
  if (isShut(status)) return "shut";
  if (answer.ok) {
    if (!said?.answers) return "away";
    const answered = await settle(rows, said.answers);
    return answered ? "idle" : "away";
  }
  if (![400, 413, 422].includes(status)) return "away";
  if (rows.length > 1) {
    const half = Math.ceil(rows.length / 2);
    const first = await batch(rows.slice(0, half));
    return first === "idle" ? batch(rows.slice(half)) : first;
  }
  const why = [said?.what, said?.remedy].filter(Boolean).join(" ") || `The desk answered ${status}.`;
  await settle(rows, [{ id: rows[0].id, outcome: "refused", why }]);
  return "idle";
}

function parsed(text) {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}

/** Ask the desk and read all that it says, within `patienceMs`. */
async function ask(address, options, patienceMs = PATIENCE_MS) {
  const stop = new AbortController();
  const patience = setTimeout(() => stop.abort(), patienceMs);
  try {
    const answer = await fetch(address, { ...options, signal: stop.signal, cache: "no-store" });
    const date = Date.parse(answer.headers.get("date") ?? "");
    if (date) skew = date - Date.now();
    const said = parsed(await answer.text());
    doorTold(answer.status, said);
    return { status: answer.status, ok: answer.ok, said };
  } finally {
    clearTimeout(patience);
  }
}

/** What is kept leaves the list, what is refused stays with its reason; how many were answered. */
async function settle(rows, answers) {
  const asked = new Set(rows.map((row) => row.id));
  const known = answers.filter((answer) => asked.has(answer.id));
  await write(["waiting", "kept"], async ({ waiting, kept }) => {
    const notes = (await kept.get("notes")) ?? { key: "notes", value: [] };
    const before = notes.value.length;
    for (const answer of known) {
      if (answer.outcome === "kept" || answer.outcome === "already") {
        await waiting.drop(answer.id);
        if (answer.note) notes.value.push({ at: Date.now(), text: answer.note });
      } else if (answer.outcome === "refused") {
        const row = await waiting.get(answer.id);
        if (row) await waiting.put({ ...row, why: answer.why || "The desk gave no reason." });
      }
    }
    notes.value = notes.value.slice(-20);
    if (notes.value.length !== before) await kept.put(notes);
  });
  return known.length;
}

/** Photos follow their events; the bytes leave the tablet once the desk has them. */
async function pictures() {
  const names = await read("photos", ({ photos }) => photos.keys());
  for (const name of names) {
    const photo = await read("photos", ({ photos }) => photos.get(name));
    if (!photo || photo.why) continue;
    let answer;
    try {
      const options = {
        method: "PUT",
        headers: { "content-type": photo.type || "image/jpeg" },
        body: photo.bytes,
      };
      answer = await ask(`/api/photos/${name}`, options, PATIENCE_MS + photo.bytes.length / SLOW);
    } catch {
      return "away";
    }
    if (isShut(answer.status)) return "shut";
    if (answer.ok) await write("photos", ({ photos }) => photos.drop(name));
    else if ([400, 413, 415, 422].includes(answer.status)) {
      const why = [answer.said?.what, answer.said?.remedy].filter(Boolean).join(" ");
      await write("photos", ({ photos }) => photos.put({ ...photo, why: why || "The desk cannot read it." }));
    } else return "away";
  }
  return "idle";
}

/** Refused entries, with what was tapped and why. */
export const refused = () =>
  read(["waiting", "photos"], async ({ waiting, photos }) => {
    const [rows, pictured] = await Promise.all([waiting.all(), photos.all()]);
    return [...rows, ...pictured.map((photo) => ({ ...photo, photo: true }))].filter((row) => row.why);
  });

/** Send a refused entry again; one from the future, by the desk's clock, gets the present time. */
export async function retry(row) {
  await write(row.photo ? "photos" : "waiting", async (stores) => {
    const store = row.photo ? stores.photos : stores.waiting;
    const now = await store.get(row.photo ? row.sha : row.id);
    if (!now) return;
    const next = { ...now, why: "" };
    const present = Date.now() + skew;
    if (next.event && Date.parse(next.event.at) > present) {
      next.event = { ...next.event, at: new Date(present).toISOString() };
    }
    await store.put(next);
  });
  return hurry();
}

/** Give up a refused entry, by the groomer's own word; it is in no list afterwards. */
export async function giveUp(row) {
  await write(row.photo ? "photos" : "waiting", (stores) =>
    row.photo ? stores.photos.drop(row.sha) : stores.waiting.drop(row.id),
  );
  return count();
}

/** All that waits, refused ones too, as a file that the desk can take in; `left` photos had no room in it. */
export async function waitingFile(device) {
  const [rows, pictured] = await read(["waiting", "photos"], ({ waiting, photos }) =>
    Promise.all([waiting.all(), photos.all()]),
  );
  const events = rows.sort((a, b) => a.n - b.n).map((row) => row.event);
  const photos = [];
  let room = MOST_SAVED;
  for (const { sha, bytes } of pictured.sort((a, b) => a.at - b.at)) {
    room -= bytes.length;
    if (room >= 0) photos.push({ photo: sha, bytes: base64(bytes) });
  }
  return { file: { coatwright: "waiting", version: 1, device, events, photos }, left: pictured.length - photos.length };
}

/** Bytes in letters (RFC 4648, 4). */
function base64(bytes) {
  let text = "";
  for (let at = 0; at < bytes.length; at += 0x8000) text += String.fromCharCode(...bytes.subarray(at, at + 0x8000));
  return btoa(text);
}

addEventListener("online", hurry);
document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && hurry());
