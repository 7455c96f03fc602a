// Times of a visit: the moment of what is said, and how long dog and zone were worked.

import { clockSkew } from "./outbox.js";

/** A gap longer than this is no work: the tablet lay switched off. */
const GAP_MS = 3 * 3600_000;
/** What is further ahead of the desk's time than this, the desk refuses. */
const AHEAD_MS = 3600_000;
/** A clock that is set right jumps by more than this. */
const JUMP_MS = 60_000;

/**
 * The moment of the next thing that is said of a visit, in ms: later than all that was said of it before, also after a
 * restart and after the clock was set back, since of two that speak of one zone the later counts. Only where that
 * would be refused as from the future, as all before it was, the clock alone is right.
 */
export function moment(visit) {
  const now = Date.now();
  const before = visit.said ?? 0;
  // A skew below 0 may be of before the clock was set; one above 0 only lets more stand in its order.
  const refused = before > now + JUMP_MS && before > now + Math.max(clockSkew(), 0) + AHEAD_MS;
  visit.said = refused ? now : Math.max(now, before + 1);
  return visit.said;
}

const since = (clock, now) => Math.max(now - clock.since, 0);

/** Count the time up to now, for the dog and for the zone in hand. */
export function settle(visit, now) {
  const { clock } = visit;
  if (!clock.on) return;
  const gap = since(clock, now);
  clock.since = now;
  if (gap > GAP_MS) return;
  clock.ms += gap;
  if (visit.at) {
    const zone = (visit.zones[visit.at] ??= {});
    if (!zone.done) zone.ms = (zone.ms ?? 0) + gap;
  }
}

/** What runs beyond the time that was counted last, ms. */
const running = (visit, now) => (visit.clock.on ? Math.min(since(visit.clock, now), GAP_MS) : 0);

export const tableMs = (visit, now) => visit.clock.ms + running(visit, now);

export function zoneMs(visit, now) {
  const zone = visit.zones[visit.at] ?? {};
  return (zone.ms ?? 0) + (zone.done ? 0 : running(visit, now));
}

/** What was counted for all zones, the one in hand up to now. */
export function pullingMs(visit, now) {
  const counted = Object.values(visit.zones).reduce((sum, zone) => sum + (zone.ms ?? 0), 0);
  return counted + (visit.at && !visit.zones[visit.at]?.done ? running(visit, now) : 0);
}
