// The law of growth by the formulas of coat/growth.py, coat/measures.py, drawing/looks.py and drawing/strokes.py.

/** A shorter hair has not broken through for the eye. */
const SHORTEST_MM = 0.2;
/** The outline is where this share of the cover is longer. */
const OUTLINE_TAIL = 0.05;

const epochAt = (zone, day) => zone.epochs.findLast(({ start }) => start <= day) || zone.epochs[0];

/** Mean length per layer, 0 while it is under the skin. */
function lengths({ growth: [lag, speed, end] }, epoch, day) {
  return epoch.born.map((born, k) => {
    const age = day - born - lag;
    return age < -1e-9 ? 0 : Math.max(Math.min(speed * age, end) - epoch.removed[k], 0);
  });
}

/** What is planned for today is not done yet; on any other day the evening is meant. */
const isDone = (take, day, today) => take.day < day || (take.day === day && (!take.planned || day > today));

/** The last pull of a zone { day, percent }, if any is known. */
export const lastPull = (zone, day, today) =>
  zone.takes.findLast((take) => isDone(take, day, today)) || (zone.pulled && { day: zone.pulled });

/** A zone on a day: cover 0..1, outline mm, veil 0..1. */
export function standing(zone, day) {
  if (!zone.growth) return { cover: 0, outline: 0, veil: 0, undercoat: 0 };
  const epoch = epochAt(zone, day);
  const mean = lengths(zone, epoch, day);
  const [lag, , , spread] = zone.growth;
  let cover = 0;
  let hair = 0;
  let seen = 0;
  epoch.share.forEach((share, k) => {
    hair += share * mean[k];
    if (mean[k]) seen += share;
    if (day - epoch.born[k] >= lag - 1e-9) cover += share;
  });
  return {
    cover,
    undercoat: epoch.undercoat,
    veil: (1 - Math.exp(-0.2 * hair)) * Math.min(1, seen / 0.4),
    get outline() {
      return outline(epoch.share, mean, spread, cover);
    },
  };
}

/** The length that a twentieth of the hairs above the skin exceed, by halving the interval it lies in, mm. */
function outline(share, mean, spread, cover) {
  let low = 0;
  let high = cover && Math.max(...mean) * (1 + 6 * spread);
  while (high - low > 1e-3) {
    const middle = (low + high) / 2;
    const part = (long) => long && normal((long - middle) / (spread * long || 1e-12));
    if (mean.reduce((sum, long, k) => sum + share[k] * part(long), 0) > OUTLINE_TAIL * cover) {
      low = middle;
    } else high = middle;
  }
  return (low + high) / 2;
}

/** The hairs of a dog: `at(day)` puts the length of each root's hair into `length`, and 1 into `cut` where it is blunt. */
export class Hairs {
  constructor(dog) {
    const n = dog.roots.x.length;
    this.dog = dog;
    this.length = new Float32Array(n);
    this.cut = new Uint8Array(n);
    this.layer = new Int16Array(n);
    this.deviate = new Float32Array(n);
    this.epochs = [];
  }

  at(day) {
    this.dog.roots.parts.forEach((part, number) => {
      const zone = this.dog.zones[part.zone];
      if (!zone.growth) return;
      const epoch = epochAt(zone, day);
      const mean = lengths(zone, epoch, day);
      const spread = zone.growth[3];
      if (this.epochs[number] !== epoch) this.assign(part, epoch);
      this.epochs[number] = epoch;
      for (let i = part.from; i < part.to; i++) {
        const long = mean[this.layer[i]] * (1 + spread * this.deviate[i]);
        this.length[i] = long < SHORTEST_MM ? 0 : long;
      }
    });
  }

  /** Layers lie on a ring that starts at the turn, lengths within a layer at evenly spaced quantiles. */
  assign({ from, to }, { share, turn, removed }) {
    let sum = 0;
    const { rank, sorted } = this.dog.roots;
    const ends = share.map((part) => (sum += part));
    const count = share.map(() => 0);
    const met = share.map(() => 0.5);
    for (let i = from; i < to; i++) {
      const place = ((rank[i] + 0.5) / (to - from) - turn + 1) % 1;
      let k = 0;
      while (k < ends.length - 1 && ends[k] <= place) k++;
      this.layer[i] = k;
      this.cut[i] = removed[k] > 0;
      count[k]++;
    }
    for (let j = from; j < to; j++) {
      const i = from + sorted[j];
      const k = this.layer[i];
      this.deviate[i] = quantile(met[k]++ / count[k]);
    }
  }

  /** Per zone the `roots`, the `strokes` on them and their `mean` length, mm. */
  measure() {
    const found = {};
    for (const { zone, from, to } of this.dog.roots.parts) {
      const one = (found[this.dog.zones[zone].key] ??= { roots: 0, strokes: 0, mean: 0 });
      one.roots += to - from;
      for (const long of this.length.subarray(from, to)) {
        if (long) one.mean += (long - one.mean) / ++one.strokes;
      }
    }
    return found;
  }
}

const polynomial = (x, ...factors) => factors.reduce((sum, factor) => sum * x + factor);

/** Standard normal distribution (Abramowitz & Stegun 26.2.17, error below 7.5e-8). */
function normal(x) {
  const t = 1 / (1 + 0.2316419 * Math.abs(x));
  const tail =
    Math.exp((-x * x) / 2) *
    0.3989422804014327 *
    polynomial(t, 1.330274429, -1.821255978, 1.781477937, -0.356563782, 0.31938153, 0);
  return x > 0 ? 1 - tail : tail;
}

/** Its inverse (Wichura 1988, AS 241, PPND7: seven digits; its branch for p < 1e-11 left out). */
function quantile(p) {
  const q = p - 0.5;
  const r = 0.180625 - q * q;
  if (r >= 0) {
    return (
      (q * polynomial(r, 59.10937472, 159.29113202, 50.434271938, 3.3871327179)) /
      polynomial(r, 67.1875636, 78.757757664, 17.895169469, 1)
    );
  }
  const s = Math.sqrt(-Math.log(Math.min(p, 1 - p))) - 1.6;
  return (
    (Math.sign(q) * polynomial(s, 0.17023821103, 1.3067284816, 2.75681539, 1.4234372777)) /
    polynomial(s, 0.12021132975, 0.7370016425, 1)
  );
}
