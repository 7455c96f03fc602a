// The end of a zone that is left, and of a visit: stopped, finished, opened again.

import { following, isElsewhere, planOf, sayTake, tap } from "./visit.js";

/**
 * A zone is left: `share` of it was pulled by what was said here (null where nothing was), and `words` say what was seen.
 * Where another tablet logged it, that share stays and the words are added.
 */
function leave(visit, say, now, name, { zone, share, words }) {
  const was = visit.zones[zone] ?? {};
  const told = { ...words, ...(words.reaction && { reactionAt: now }) };
  const other = share === null && isElsewhere(visit, zone);
  const ended = !other && { share: share ?? 0, done: true, left: true, at: now };
  visit.zones[zone] = { tool: visit.tool, ...was, ...told, ...ended };
  sayTake(visit, say, zone, name);
}

/** Leave a zone for a reason: what was pulled so far, and what was seen of the dog, the skin, the hair. */
export const leaveFor = (key, zone, share, words) =>
  tap(key, (visit, say, now, name) => {
    leave(visit, say, now, name, { zone, share, words });
    visit.at = following(visit, zone);
    return `${planOf(visit, zone).name}: left`;
  });

/** Stop altogether: the zone in hand is left, the dog unfit; nothing is planned until somebody says otherwise. */
export const stop = (key, reason, left) =>
  tap(key, (visit, say, now, name) => {
    if (left) leave(visit, say, now, name, left);
    visit.state = "stopped";
    visit.why = reason;
    Object.assign(visit.clock, { on: false, restedSince: Date.now() });
    say("dog.unfit", { reason });
    sayVisit(visit, say, name);
    return `Stopped: ${reason}`;
  });

export const finish = (key) =>
  tap(
    key,
    (visit, say, _, name) => {
      visit.state = "done";
      visit.clock.on = false;
      sayVisit(visit, say, name);
      return `Visit of ${visit.plan.name} finished`;
    },
    workedFirst,
  );

/** The zones of a visit, those that were done in the order of their doing. */
function workedFirst(visit) {
  const worked = visit.order.filter((zone) => visit.zones[zone]?.done);
  worked.sort((a, b) => visit.zones[a].at - visit.zones[b].at);
  return [...worked, ...visit.order.filter((zone) => !worked.includes(zone))];
}

function sayVisit(visit, say, name) {
  const data = { visit: visit.plan.visit, day: visit.day, groomer: visit.groomer, device: name };
  const minutes = Math.round(visit.clock.ms / 60_000);
  if (minutes >= 1) data.minutes = minutes;
  say("visit.told", data);
}

export const reopen = (key) =>
  tap(key, (visit) => {
    visit.state = "open";
    Object.assign(visit.clock, { on: true, since: Date.now() });
    visit.at ||= following(visit, "");
    return "";
  });
