// What every view needs: the bundle, the visits of this tablet, the settings; and how they are kept in step.

import { keep, onChange, recall } from "./store.js";
import * as outbox from "./outbox.js";
import { adopt, device, forgetOld, heard, keyOf, visitsOf } from "./visit.js";

const FORM = 1;

export const app = {
  bundle: null,
  visits: [],
  groomer: "",
  people: null,
  /** Photos that lie on the tablet, as addresses that hold their bytes, by their names. */
  album: {},
  prefs: { hand: "right", sun: false },
  device: "",
  /** The name under which the tablet was paired, as the desk told it last. */
  named: "",
  trouble: "",
  standing: outbox.standing,
  /** Shares that are dialled but not logged: by dog and zone. */
  dialled: {},
};

const PLANNING_MS = 3_000;
const AWAY_MS = 30_000;

const listeners = new Set();
export const onRender = (listener) => listeners.add(listener);
export const render = () => listeners.forEach((listener) => listener());

export const visitOf = (dog) => app.visits.find((visit) => visit.dog === dog && visit.day === app.bundle?.day);

/** A dog with the plan that its visit began with; a dog not begun as the bundle has it. */
export const dogOf = (id) => visitOf(id)?.plan ?? app.bundle?.dogs.find((dog) => dog.id === id);

/** Everything from what the tablet keeps; no network is needed. */
export async function load() {
  const kept = ["bundle", "prefs", "groomer", "named"].map(recall);
  const [bundle, prefs, groomer, named] = await Promise.all(kept);
  app.named = named ?? "";
  app.device = await device();
  Object.assign(app.prefs, prefs);
  app.groomer = groomer ?? "";
  if (bundle) take(bundle.value);
  await reread();
}

function take(bundle) {
  if (bundle.form !== FORM) {
    app.trouble = "The desk speaks another form of the day's list: load this page again.";
    return false;
  }
  app.bundle = bundle;
  return true;
}

/** The visits as they stand; what waits is counted with them, so that no tap shows before it is counted. */
export async function reread() {
  const [visits] = await Promise.all([app.bundle ? visitsOf(app.bundle.day) : [], outbox.count()]);
  app.visits = visits;
}

const followers = new Set();
/** Called when a new list of the day has come. */
export const onDay = (follower) => followers.add(follower);

let asking = null;
let timer = 0;

/** Fetch the day's list; true when a new one came. While plans are being made it is asked for again, by one timer. */
export function refresh() {
  clearTimeout(timer);
  asking ??= fetched()
    .catch((error) => {
      console.warn(error);
      return "away";
    })
    .then((came) => {
      asking = null;
      clearTimeout(timer);
      if (app.bundle?.waiting.length) timer = setTimeout(refresh, came === "away" ? AWAY_MS : PLANNING_MS);
      return came === "new";
    });
  return asking;
}

/** Dogs of the same day whose plans are being made anew: what the tablet has of them stays until they are. */
function carriedOver(before, bundle) {
  if (before?.form !== bundle.form || before.day !== bundle.day) return bundle;
  const here = new Set(bundle.dogs.map((dog) => dog.id));
  const made = new Set(bundle.waiting_ids);
  const kept = before.dogs.filter((dog) => made.has(dog.id) && !here.has(dog.id));
  return kept.length ? { ...bundle, dogs: [...bundle.dogs, ...kept] } : bundle;
}

/** "new", "same" or "away": what came of asking for the day's list. */
async function fetched() {
  const before = await recall("bundle");
  let answer;
  try {
    answer = await fetch("/table/today.json", {
      headers: before?.tag ? { "if-none-match": before.tag } : {},
      cache: "no-store",
      signal: AbortSignal.timeout(20_000),
    });
  } catch {
    return "away";
  }
  const found = answer.status === 304 ? null : await answer.json().catch(() => null);
  if (outbox.doorTold(answer.status, found)) render();
  if (answer.status === 304) return "same";
  if (!answer.ok || !found) return "away";
  const bundle = carriedOver(before?.value, found);
  if (!take(bundle)) {
    render();
    return "away";
  }
  await keep("bundle", { tag: answer.headers.get("etag"), value: bundle, at: Date.now() });
  if (before && before.value.day < bundle.day) await forgetOld(bundle.day);
  await heard(bundle);
  await reread();
  render();
  followers.forEach((follower) => follower());
  return "new";
}

let acting = 0;

/** Whether the page may be loaded anew: no tap is being kept, nothing is dialled on a dog that is not finished. */
export function atRest() {
  const open = app.visits.filter((visit) => visit.state === "open").map((visit) => `${visit.key}|`);
  return !acting && !Object.keys(app.dialled).some((place) => open.some((key) => place.startsWith(key)));
}

/** Do what a tap asks for: keep it, show it, send it. What could not be kept is said at once. */
export async function act(work) {
  acting += 1;
  try {
    const made = await work();
    app.trouble = "";
    if (made?.made?.length) document.dispatchEvent(new CustomEvent("kept", { detail: made.made }));
  } catch (error) {
    app.trouble = `This tap was not kept: ${error?.message ?? error} Tap it again.`;
  }
  await reread().finally(() => (acting -= 1));
  render();
  outbox.send();
}

export async function prefer(change) {
  Object.assign(app.prefs, change);
  await keep("prefs", app.prefs);
  render();
}

export async function chooseGroomer(name) {
  app.groomer = name;
  await keep("groomer", name);
  if (app.bundle) {
    await adopt(app.bundle.day, name);
    await reread();
  }
  render();
}

/** What waits for a visit's dog, for whoever asks. */
export const keyFor = (dog) => keyOf(dog, app.bundle.day);

onChange(async () => {
  const groomer = await recall("groomer");
  if (groomer) app.groomer = groomer;
  Object.assign(app.prefs, await recall("prefs"));
  await reread();
  render();
});
