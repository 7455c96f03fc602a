// What a take does to a zone, by the formulas of coat/layers.py, coat/growth.py and coat/measures.py.
//
// A zone has `growth` [lag, rate, end, spread, ripe, loss, hold] and `layers` [born, share, removed], oldest first;
// days are whole numbers, lengths mm, shares 0 to 1.

const TINY = 1e-12;
const STUB_MM = 3;
export const STEP = 0.05;
/** A take counts as too much from half a step above the plan. */
const OVER = 0.025;

const emerged = (age, [lag]) => age >= lag - 1e-9;

/** Length of a hair that nothing was taken off, mm. */
const grown = (age, [lag, rate, end]) => Math.min(Math.max(rate * (age - lag), 0), end);

/** Equal layers merged, empty ones dropped, oldest first, shares adding up to 1. */
export function tidied(layers) {
  const merged = new Map();
  for (const [born, share, removed] of layers) {
    const off = Math.round(removed * 1e6) / 1e6;
    const key = `${born} ${off}`;
    const known = merged.get(key);
    if (known) known[1] += share;
    else merged.set(key, [born, share, off]);
  }
  const kept = [...merged.values()].filter(([, share]) => share > TINY);
  const total = kept.reduce((sum, [, share]) => sum + share, 0);
  return kept
    .sort((a, b) => a[0] - b[0] || a[2] - b[2])
    .map(([born, share, removed]) => [born, share / total, removed]);
}

/** Share of hairs above the skin on a day, of at least `visible` mm. */
export function cover(layers, day, growth, visible = 0) {
  let seen = 0;
  for (const [born, share, removed] of layers) {
    const age = day - born;
    if (!emerged(age, growth)) continue;
    const mean = Math.max(grown(age, growth) - removed, 0);
    seen += visible > 0 ? share * longer(visible, mean, growth[3]) : share;
  }
  return Math.min(Math.max(seen, 0), 1);
}

const longer = (threshold, mean, spread) =>
  mean > 0 ? normal((mean - threshold) / Math.max(spread * mean, 1e-12)) : 0;

/** Blown hair that falls out between two days grows again as a layer of the second day. */
export function shed(layers, since, day, growth) {
  const [lag, rate, end, , , loss, hold] = growth;
  if (loss === 0 || day <= since) return layers;
  const blown = lag + end / rate + hold;
  const kept = layers.map(([born, share, removed]) => {
    const days = Math.max(day - born - Math.max(since - born, blown), 0);
    return [born, share * (1 - loss) ** days, removed];
  });
  const lost = 1 - kept.reduce((sum, [, share]) => sum + share, 0);
  return lost <= TINY ? layers : tidied([...kept, [day, lost, 0]]);
}

/** The layers after `share` was pulled on `day`, oldest first; never more than stands. */
export function pull(layers, day, share, growth, { selectivity = 1, broken = 0 } = {}) {
  const standing = layers.map(([born, part]) => (emerged(day - born, growth) ? part : 0));
  const all = standing.reduce((sum, part) => sum + part, 0);
  const most = Math.min(share, all);
  let before = 0;
  const byAge = standing.map((part) => {
    const taken = Math.min(Math.max(selectivity * most - before, 0), part);
    before += part;
    return taken;
  });
  const left = standing.map((part, k) => part - byAge[k]);
  const rest = left.reduce((sum, part) => sum + part, 0);
  const blind = Math.min((1 - selectivity) * most, rest);
  const found = [];
  let renewed = 0;
  layers.forEach(([born, part, removed], k) => {
    const taken = byAge[k] + (blind > TINY ? (left[k] * blind) / rest : 0);
    found.push([born, part - taken, removed]);
    if (taken > TINY) {
      if (broken > 0) {
        const stub = Math.max(grown(day - born, growth) - STUB_MM, removed, 0);
        found.push([born, taken * broken, stub]);
      }
      renewed += taken * (1 - broken);
    }
  });
  return tidied([...found, [day, renewed, 0]]);
}

/** What can be taken of a zone: the whole steps of what stands. */
export function most(zone, day) {
  return Math.floor(cover(zone.layers, day, zone.growth) / STEP + 0.2) * STEP;
}

/** Cover before and after a take of `share` on `day`, by the tool's own breakage. */
export function afterTake(zone, day, share) {
  const { growth, visible = 0 } = zone;
  const layers = share > 0 ? pull(zone.layers, day, share, growth, { broken: zone.broken }) : zone.layers;
  return {
    before: cover(zone.layers, day, growth, visible),
    after: cover(layers, day, growth, visible),
    layers,
  };
}

/**
 * The coming visits that will spare a zone of which more is taken than planned: hair that goes now has not to go
 * then, and none goes that would bring the cover under its floor. [{ day, planned, left }], soonest first.
 */
export function spared(zone, day, share) {
  let extra = share - zone.planned;
  if (extra < OVER - 1e-9) return [];
  let { layers } = afterTake(zone, day, share);
  let since = day;
  const found = [];
  for (const [visit, planned] of zone.next) {
    layers = shed(layers, since, visit, zone.growth);
    const room = cover(layers, visit, zone.growth, zone.visible) - Math.max(zone.look, zone.welfare);
    const fits = Math.max(Math.floor(room / STEP + 1e-6) * STEP, 0);
    const left = Math.max(Math.min(planned - extra, fits), 0);
    if (left < planned - OVER) found.push({ day: visit, planned, left });
    extra = Math.max(extra - (planned - left), 0);
    if (left > 0) layers = pull(layers, visit, left, zone.growth, { broken: zone.broken });
    since = visit;
  }
  return found;
}

/** Standard normal distribution (Abramowitz & Stegun 26.2.17, error below 7.5e-8). */
function normal(x) {
  const t = 1 / (1 + 0.2316419 * Math.abs(x));
  const sum = [1.330274429, -1.821255978, 1.781477937, -0.356563782, 0.31938153].reduce(
    (total, factor) => total * t + factor,
    0,
  );
  const tail = Math.exp((-x * x) / 2) * 0.3989422804014327 * sum * t;
  return x > 0 ? 1 - tail : tail;
}
