// A finger that touches twice means one thing: what its first touch brought into sight rests for a moment, and so does
// everything while a tap is being kept.

const BOUNCE_MS = 300;
/** By control: what it stands for, and the timer while it rests. */
const sights = new Map();
let busy = false;

/** What a visit is at: its zone, the last thing that was done. */
export function sightOf(visit) {
  const last = visit.log.at(-1);
  return [visit.key, visit.state, visit.at, visit.log.length, last?.at].join(" ");
}

/** The attributes of a control that stands for `what`: it rests where that is new, or was not in sight. */
export function rested(name, what) {
  const known = sights.get(name);
  if (known?.what !== what || !document.querySelector(placeOf(name))) {
    clearTimeout(known?.timer);
    sights.set(name, { what, timer: setTimeout(() => wake(name), BOUNCE_MS) });
  }
  return { "data-once": name, "aria-disabled": sights.get(name).timer ? "true" : null };
}

const placeOf = (name) => `[data-once="${name}"]`;

function wake(name) {
  sights.get(name).timer = 0;
  for (const each of document.querySelectorAll(placeOf(name))) each.removeAttribute("aria-disabled");
}

/** What a tap on a control does, unless it rests or another tap is being kept. */
export const once = (name, work) => async () => {
  if (busy || sights.get(name)?.timer) return;
  busy = true;
  try {
    await work();
  } finally {
    busy = false;
  }
};
