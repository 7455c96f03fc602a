// Where hairs grow, from their numbers alone: the sequence and the mixing of numbers of drawing/roots.py.

/** A fixed number 0..1 without order for each whole number and salt. */
function hashed(number, salt) {
  let value = (Math.imul(number, 2654435761) + salt * 40503 + 12345) >>> 0;
  value = Math.imul(value ^ (value >>> 16), 0x7feb352d) >>> 0;
  value = Math.imul(value ^ (value >>> 15), 0x846ca68b) >>> 0;
  return ((value ^ (value >>> 16)) >>> 0) / 2 ** 32;
}

const SALTS = { x: 1, y: 2, vary: 7 };
const fraction = (value) => value - Math.floor(value);

/**
 * The roots of one part: `x` and `y` in mm, `rank` (which stretch of the layers a hair belongs to) and `vary` (how
 * long it is within its layer), both 0..1. `gaps` lead from number to number.
 */
export function placesOf({ box: [left, bottom, wide, high], shake, salt }, gaps, steps) {
  const [across, up, rank] = steps;
  const found = { x: [], y: [], rank: [], vary: [] };
  let place = 0;
  for (const gap of gaps) {
    place += gap;
    const number = place + salt;
    const shaken = (step, which) =>
      fraction(fraction(0.5 + place * step) + shake * (hashed(number, which) - 0.5));
    found.x.push(left + wide * shaken(across, SALTS.x));
    found.y.push(bottom + high * shaken(up, SALTS.y));
    found.rank.push(fraction(0.5 + place * rank));
    found.vary.push(hashed(number, SALTS.vary));
  }
  return found;
}

/** The places of values in a list, from the least value to the greatest. */
export const ranked = (values) => values.map((_, k) => k).sort((a, b) => values[a] - values[b] || a - b);
