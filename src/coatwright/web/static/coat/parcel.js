// Unpacks what drawing/motion.py packs, into mm, day numbers and typed arrays. Rings are [x0, y0, x1, ...], y up.

import { placesOf, ranked } from "./scatter.js";

/** The form of parcel that these scripts know. */
const FORM = 2;
/** Shares are packed as ten-thousandths, directions as 256ths of a turn, bends as 512ths. */
const PARTS = 1e4;
const TURN = 256;
const BEND = 512;

const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));

export function unpack(parcel) {
  if (parcel.form !== FORM) {
    throw new Error("This page is older or newer than its picture: load it again.");
  }
  const { roots, shade, zones } = parcel;
  return {
    ...parcel,
    zones: zones.map((zone, index) => ({
      ...zone,
      index,
      epochs: zone.growth && epochsOf(zone, parcel),
    })),
    roots: rootsOf(roots, parcel.brows),
    shade: { ...shade, values: bytes(shade.values) },
  };
}

/** Per epoch the layers, oldest first; the parcel tells only what changed since the epoch before. */
function epochsOf({ layers, epochs }, { first, step }) {
  const shares = new Map();
  return epochs.map(([start, turn, undercoat, ...changes]) => {
    for (let i = 0; i < changes.length; i += 2) shares.set(changes[i], changes[i + 1]);
    const order = [...shares.keys()].filter((key) => shares.get(key)).sort((a, b) => a - b);
    const whole = order.reduce((sum, key) => sum + shares.get(key), 0);
    return {
      start: start + first,
      turn: turn / PARTS,
      undercoat,
      born: order.map((key) => layers[2 * key] + first),
      removed: order.map((key) => layers[2 * key + 1] * step),
      share: order.map((key) => shares.get(key) / whole),
    };
  });
}

/** What each hair keeps for life, in the order in which hairs are drawn. */
function rootsOf({ parts, steps, passes, overEye, ...raw }, brows) {
  const gaps = bytes(raw.gaps);
  const angle = bytes(raw.angle);
  const bend = new Int8Array(bytes(raw.bend).buffer);
  const colour = bytes(raw.colour);
  const count = gaps.length;
  const roots = {
    parts,
    overEye: overEye.length,
    x: new Float32Array(count),
    y: new Float32Array(count),
    dx: new Float32Array(count),
    dy: new Float32Array(count),
    bend: new Float32Array(count),
    chord: new Float32Array(count),
    colour: new Uint8Array(count),
    rank: new Uint16Array(count),
    sorted: new Uint16Array(count),
  };
  parts.forEach((part) => {
    const { zone, from, to, row } = part;
    const late = new Set(zone === brows ? overEye : []);
    const places = placesOf(part, gaps.subarray(from, to), steps);
    // By layer, dark before light, those over the eye last: as drawing/pelt.py draws them.
    const pass = (k) => ((row + k) * 7) % passes;
    const order = Array.from({ length: to - from }, (_, k) => k).sort(
      (a, b) =>
        late.has(a) - late.has(b) || pass(a) - pass(b) || colour[from + a] - colour[from + b] || a - b,
    );
    const drawnAs = new Uint16Array(order.length);
    order.forEach((k, place) => {
      const i = from + place;
      const turn = (angle[from + k] * 2 * Math.PI) / TURN;
      drawnAs[k] = place;
      roots.x[i] = places.x[k];
      roots.y[i] = places.y[k];
      roots.dx[i] = Math.cos(turn);
      roots.dy[i] = Math.sin(turn);
      roots.bend[i] = bend[from + k] / BEND;
      roots.chord[i] = 1 / arcOverChord(roots.bend[i]);
      roots.colour[i] = colour[from + k];
    });
    ranked(places.rank).forEach((k, place) => (roots.rank[from + drawnAs[k]] = place));
    ranked(places.vary).forEach((k, place) => (roots.sorted[from + place] = drawnAs[k]));
  });
  return roots;
}

/** Length of a parabola over its chord, as in drawing/strokes.py. */
function arcOverChord(bend) {
  const steep = Math.max(4 * Math.abs(bend), 1e-9);
  return 0.5 * Math.sqrt(1 + steep * steep) + (0.5 * Math.asinh(steep)) / steep;
}
