// A visit as it stands on this tablet, and what each tap makes of it: the new state and the events that tell the desk.
//
// visit = { key, dog, day, plan, groomer, order, at, zones: { key: {...} }, carded, care, readings, clock, state, log }
// zones[key] = { share, done, tool, ease, reaction, skin, grams, at, ms }

import { newId } from "./ids.js";
import { keep, read, recall, write } from "./store.js";
import { moment, settle } from "./times.js";

export { tableMs, zoneMs } from "./times.js";

const UNDOABLE = 30;
/** A zone's time is told only where it can have been worked in it: not where all is tapped in at the end. */
const LEAST_MS = 30_000;
const LEAST_PART = 0.25;

export const keyOf = (dog, day) => `${dog}|${day}`;

/** This tablet: a name of its own, made at the first start. */
export async function device() {
  const known = await recall("device");
  if (known) return known;
  const made = `tablet ${newId().slice(0, 4)}`;
  await keep("device", made);
  return made;
}

export const visitsOf = (day) =>
  read("visits", async ({ visits }) => (await visits.all()).filter((visit) => visit.day === day));

/** Forget the visits of other days once nothing of them waits. */
export const forgetOld = (day) =>
  write(["visits", "waiting", "photos"], async ({ visits, waiting, photos }) => {
    if ((await waiting.count()) || (await photos.count())) return;
    for (const visit of await visits.all()) if (visit.day < day) await visits.drop(visit.key);
  });

const orderKey = (groomer, dog) => `order|${groomer}|${dog}`;

/** The order in which the zones are proposed: the one this groomer used last for this dog, else the plan's. */
export async function orderFor(plan, groomer) {
  const learnt = (await recall(orderKey(groomer, plan.id))) ?? [];
  const wanted = plan.order;
  const known = learnt.filter((key) => wanted.includes(key));
  const found = [...known];
  wanted.forEach((key, place) => {
    if (found.includes(key)) return;
    const before = wanted.slice(0, place).findLast((each) => found.includes(each));
    found.splice(before ? found.indexOf(before) + 1 : 0, 0, key);
  });
  return found;
}

/** A visit that begins: at the first zone that nobody logged yet, as far as the desk's list knows. */
function fresh(plan, day, ordinal, groomer, order) {
  const visit = {
    key: keyOf(plan.id, day),
    dog: plan.id,
    day,
    ordinal,
    plan,
    groomer,
    order,
    at: "",
    zones: {},
    elsewhere: plan.logged?.takes ?? {},
    carded: {},
    care: {},
    readings: {},
    clock: { on: false, since: 0, ms: 0, restedSince: 0 },
    state: "open",
    log: [],
  };
  return { ...visit, at: following(visit) };
}

/**
 * Change one visit and put the events of it on the waiting list, in one transaction.
 * `change(visit, say, now, name)` changes the visit; `say(kind, data)` adds an event; `now` is later than all that was
 * said of the visit before, `name` this tablet's. Its return value is the label of the undo bar, or nothing where there
 * is nothing to take back. `proposed(visit)`, where given, is the order of zones to propose to this groomer the next
 * time.
 */
export async function tap(key, change, proposed = null) {
  const name = await device();
  return write(["visits", "waiting", "kept"], async ({ visits, waiting, kept }) => {
    const visit = await visits.get(key);
    if (!visit) throw new Error("This visit is no longer on this tablet.");
    const before = remembered(visit);
    const made = [];
    const now = moment(visit);
    const say = (kind, data) => {
      const event = {
        id: newId(),
        stream: `dog:${visit.dog}`,
        kind,
        at: new Date(moment(visit)).toISOString(),
        by: visit.groomer,
        version: 1,
        data,
      };
      made.push(event);
      return event;
    };
    settle(visit, Date.now());
    const label = change(visit, say, now, name);
    if (label) {
      visit.log.push({ label, at: Date.now(), events: made.map((event) => event.id), before });
      visit.log.splice(0, visit.log.length - UNDOABLE);
    }
    await visits.put(visit);
    if (proposed) await kept.put({ key: orderKey(visit.groomer, visit.dog), value: proposed(visit) });
    for (const event of made) await waiting.put({ id: event.id, n: Date.parse(event.at), event, why: "" });
    return { visit, made: made.map((event) => event.id) };
  });
}

const CHANGING = ["zones", "carded", "care", "readings", "told", "at", "state", "why", "tool", "photos"];
const remembered = (visit) => structuredClone(Object.fromEntries(CHANGING.map((name) => [name, visit[name]])));

/** Take the last thing back: its events no longer count, the visit is as it was; time that has passed stays. */
export const undo = (key) =>
  tap(key, (visit, say) => {
    const step = visit.log.pop();
    if (!step) return "";
    const ended = visit.state !== "open" && step.before.state === "open";
    if (ended) Object.assign(visit.clock, { on: true, since: Date.now() });
    for (const id of step.events.toReversed()) say("undone", { event: id });
    const spent = Object.fromEntries(Object.entries(visit.zones).map(([zone, one]) => [zone, one.ms]));
    Object.assign(visit, step.before);
    for (const [zone, ms] of Object.entries(spent)) if (ms) (visit.zones[zone] ??= {}).ms = ms;
    return "";
  });

/** Put the dog on the table: its visit begins, or goes on; every other dog rests. */
export async function begin(plan, bundle, groomer) {
  const key = keyOf(plan.id, bundle.day);
  const order = await orderFor(plan, groomer);
  await write("visits", async ({ visits }) => {
    const now = Date.now();
    for (const other of await visits.all()) {
      if (other.key === key || !other.clock.on) continue;
      settle(other, now);
      Object.assign(other.clock, { on: false, restedSince: now });
      await visits.put(other);
    }
    const visit = (await visits.get(key)) ?? fresh(plan, bundle.day, bundle.ordinal, groomer, order);
    if (visit.state === "open" && !visit.clock.on) Object.assign(visit.clock, { on: true, since: now });
    if (groomer && visit.state === "open") visit.groomer = groomer;
    await visits.put(visit);
  });
  return key;
}

/** Whoever is chosen only now works the visits that were begun by nobody. */
export const adopt = (day, groomer) =>
  write("visits", async ({ visits }) => {
    for (const visit of await visits.all()) {
      if (visit.day === day && visit.state === "open" && !visit.groomer) await visits.put({ ...visit, groomer });
    }
  });

export const rest = (key) =>
  tap(key, (visit) => {
    Object.assign(visit.clock, { on: false, restedSince: Date.now() });
    return "";
  });

// ---- zones -----------------------------------------------------------------------------------------------------

export const planOf = (visit, zone) => visit.plan.zones.find((each) => each.key === zone);

/** The event of a zone as it now stands, with all that was said of it; before its take it is a remark so far. */
export function sayTake(visit, say, zone, name) {
  const { share = 0, tool, ease, reaction, skin, grams, ms = 0, done } = visit.zones[zone];
  const { planned, whole, broken } = planOf(visit, zone);
  if (done) visit.own = { ...visit.own, [zone]: true };
  const take = { share, planned };
  if (share > 0 && tool) take.tool = tool;
  if (share > 0 && broken) take.broken = broken;
  if (ms >= LEAST_MS && ms >= LEAST_PART * whole * share * 60_000 && done) take.minutes = Math.round(ms / 6000) / 10;
  if (ease) take.ease = ease;
  if (reaction) take.reaction = reaction;
  if (skin) take.skin = skin;
  if (grams) take.grams = grams;
  say("take.logged", {
    visit: visit.plan.visit,
    day: visit.day,
    zone,
    take,
    groomer: visit.groomer,
    device: name,
    ...(!done && { so_far: true }),
  });
}

/** Whether the desk has a take of a zone that was not tapped on this tablet. */
export const isElsewhere = (visit, key) =>
  visit.elsewhere?.[key] !== undefined && !visit.zones[key]?.done && !visit.own?.[key];

/** What the desk has of the day's visits by now, from whatever tablet. */
export const heard = (bundle) =>
  write("visits", async ({ visits }) => {
    for (const { id, logged } of bundle.dogs) {
      const visit = await visits.get(keyOf(id, bundle.day));
      if (visit) await visits.put({ ...visit, elsewhere: logged?.takes ?? {} });
    }
  });

/** The zone that comes next: in the order, but head and tender zones wait while the dog is not calm. */
export function following(visit, from = visit.at) {
  const open = visit.order.filter((key) => !visit.zones[key]?.done && !isElsewhere(visit, key));
  const start = visit.order.indexOf(from);
  const ahead = open.filter((key) => visit.order.indexOf(key) > start);
  const line = [...ahead, ...open.filter((key) => !ahead.includes(key))];
  if (!isCalm(visit)) {
    const easy = line.find((key) => !planOf(visit, key)?.tender && !planOf(visit, key)?.head);
    if (easy) return easy;
  }
  return line[0] ?? "";
}

/** Whether the dog was calm when that was last said. */
export function isCalm(visit) {
  const said = Object.values(visit.zones).filter((zone) => zone.reaction);
  const latest = said.sort((a, b) => (a.reactionAt ?? 0) - (b.reactionAt ?? 0)).at(-1);
  return !latest || latest.reaction === "calm";
}

/** Log a take and go on to the next zone. */
export const logTake = (key, zone, share) =>
  tap(key, (visit, say, now, name) => {
    const { name: called } = planOf(visit, zone);
    const was = visit.zones[zone] ?? {};
    visit.zones[zone] = { tool: visit.tool, ...was, share, done: true, at: now };
    sayTake(visit, say, zone, name);
    visit.at = following(visit, zone);
    return `${called} ${Math.round(100 * share)} %`;
  });

/** Say one more thing of a zone: tool, ease, reaction, skin, grams. The same again takes it back. */
export const remark = (key, zone, what, value) =>
  tap(key, (visit, say, now, name) => {
    const state = (visit.zones[zone] ??= {});
    state[what] = state[what] === value && what !== "grams" ? "" : value;
    if (what === "reaction") state.reactionAt = now;
    if (what === "tool") visit.tool = state.tool;
    // A remark goes to the desk at once; what was pulled of the zone by then is nothing until it is tapped.
    const waits = !state.done && (what === "tool" || what === "grams" || what === "ease");
    if (!waits) sayTake(visit, say, zone, name);
    const { name: called } = planOf(visit, zone);
    return `${called}: ${state[what] ? (what === "grams" ? `${value} g` : value) : `${what} taken back`}`;
  });

export const goTo = (key, zone) =>
  tap(key, (visit) => {
    visit.at = zone;
    if (zone && !visit.order.includes(zone)) visit.order.push(zone);
    return "";
  });

/** Move a zone up or down in the order; the order is remembered for this dog and groomer. */
export const move = (key, zone, by) =>
  tap(
    key,
    ({ order }) => {
      const place = order.indexOf(zone);
      const to = place + by;
      if (to < 0 || to >= order.length) return "";
      order.splice(place, 1);
      order.splice(to, 0, zone);
      return "";
    },
    ({ order }) => order,
  );

export const card = (key, zone) =>
  tap(key, (visit, say, _, name) => {
    const carded = !visit.carded[zone];
    visit.carded[zone] = carded;
    say("zone.carded", { visit: visit.plan.visit, day: visit.day, zone, carded, device: name });
    return `${planOf(visit, zone).name}: ${carded ? "carded" : "not carded"}`;
  });

export const careFor = (key, item) =>
  tap(key, (visit, say, _, name) => {
    const did = !visit.care[item.key];
    visit.care[item.key] = did;
    say("care.done", { visit: visit.plan.visit, day: visit.day, what: item.key, done: did, device: name });
    return `${item.name}: ${did ? "done" : "not done"}`;
  });

/** One thing read of a zone; this tablet's reading of that zone, before or after, is told anew with it. */
export const readZone = (key, zone, what, value) =>
  tap(key, (visit, say, _, name) => {
    const when = visit.zones[zone]?.done ? "after" : "before";
    const place = `${zone}|${when}`;
    const reading = (visit.readings[place] ??= {});
    const id = [visit.plan.visit, visit.dog, zone, when, name.replaceAll(" ", "-")].join("-");
    const again = reading[what] === value;
    if (again) delete reading[what];
    else reading[what] = value;
    const { name: called } = planOf(visit, zone);
    if (!Object.keys(reading).length) {
      for (const event of (visit.told?.[place] ?? []).toReversed()) say("undone", { event });
      visit.told = { ...visit.told, [place]: [] };
    } else {
      const data = { id, day: visit.day, zone, ...reading, groomer: visit.groomer, at_visit: when };
      const event = say("reading.taken", data);
      visit.told = { ...visit.told, [place]: [...(visit.told?.[place] ?? []), event.id] };
    }
    const words = { longest_mm: "longest", shortest_mm: "shortest", look: "cover" }[what];
    return `${called}: ${words} ${again ? "taken back" : typeof value === "number" ? `${value} mm` : value}`;
  });

/** A photo: its bytes wait beside the events. */
export async function photograph(key, zone, { sha, bytes, type, width, height }) {
  await write("photos", ({ photos }) => photos.put({ sha, bytes, type, at: Date.now(), why: "" }));
  return tap(key, (visit, say, _, name) => {
    say("photo.taken", {
      visit: visit.plan.visit,
      day: visit.day,
      zone,
      photo: sha,
      ...(width && { width, height }),
      device: name,
    });
    visit.photos = (visit.photos ?? 0) + 1;
    return `${zone ? planOf(visit, zone).name : visit.plan.name}: photo`;
  });
}
