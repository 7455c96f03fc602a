// What every view needs: the bundle, the visits of this tablet, the settings; and how they are kept in step.

import { keep, onChange, recall } from "./store.js";
import * as outbox from "./outbox.js";
import { device, forgetOld, heard, keyOf, visitsOf } from "./visit.js";

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
  where: null,
  trouble: "",
  standing: outbox.standing,
  /** Shares that are dialled but not logged: by dog and zone. */
  dialled: {},
};

const listeners = new Set();
export const onRender = (listener) => listeners.add(listener);
export const render = () => listeners.forEach((listener) => listener());

export const visitOf = (dog) => app.visits.find((visit) => visit.dog === dog && visit.day === app.bundle?.day);

/** A dog with the plan that its visit began with; a dog not begun as the bundle has it. */
export const dogOf = (id) => visitOf(id)?.plan ?? app.bundle?.dogs.find((dog) => dog.id === id);

/** Everything from what the tablet keeps; no network is needed. */
export async function load() {
  const [bundle, prefs, groomer] = await Promise.all([recall("bundle"), recall("prefs"), recall("groomer")]);
  app.device = await device();
  Object.assign(app.prefs, prefs);
  app.groomer = groomer ?? "";
  if (bundle) take(bundle.value);
  await reread();
}

function take(bundle) {
  if (bundle.form !== FORM) {
    app.trouble = "The desk speaks another form of the day's list: load this page again.";
    return;
  }
  app.bundle = bundle;
}

export async function reread() {
  app.visits = app.bundle ? await visitsOf(app.bundle.day) : [];
}

/** Fetch the day's list; true when a new one came. While plans are being made it is asked for again. */
export async function refresh() {
  const before = await recall("bundle");
  let answer;
  try {
    answer = await fetch("/table/today.json", {
      headers: before?.tag ? { "if-none-match": before.tag } : {},
      cache: "no-store",
      signal: AbortSignal.timeout(20_000),
    });
  } catch {
    return false;
  }
  if (answer.status === 401) {
    app.standing.state = "unpaired";
    render();
    return false;
  }
  if (!answer.ok) return false;
  const bundle = await answer.json().catch(() => null);
  if (!bundle) return false;
  take(bundle);
  await keep("bundle", { tag: answer.headers.get("etag"), value: bundle, at: Date.now() });
  if (before && before.value.day < bundle.day) await forgetOld(bundle.day);
  await heard(bundle);
  await reread();
  render();
  if (bundle.waiting.length) setTimeout(refresh, 3_000);
  return true;
}

/** Do what a tap asks for: keep it, show it, send it. What could not be kept is said at once. */
export async function act(work) {
  try {
    const made = await work();
    app.trouble = "";
    if (made?.made?.length) document.dispatchEvent(new CustomEvent("kept", { detail: made.made }));
  } catch (error) {
    app.trouble = `This tap was not kept: ${error?.message ?? error} Tap it again.`;
  }
  await Promise.all([reread(), outbox.count()]);
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
