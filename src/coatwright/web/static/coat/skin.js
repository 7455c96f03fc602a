// What lies below the hair: the zone of each pixel, the light on it, and the face.

import { blend } from "./raster.js";

const SHADES = 32;
const SADDLE = 128;

/** Places in pixels, x across and y down, for one width of the picture. */
export class Frame {
  constructor([left, top, wide, high], width) {
    this.scale = width / wide;
    this.width = width;
    this.height = Math.round(high * this.scale);
    this.x = (mm) => (mm - left) * this.scale;
    this.y = (mm) => (top - mm) * this.scale;
  }

  path(ring) {
    let data = "M";
    for (let i = 0; i < ring.length; i += 2) {
      data += `${this.x(ring[i]).toFixed(1)} ${this.y(ring[i + 1]).toFixed(1)} `;
    }
    return `${data}Z`;
  }

  /** The pixels of a drawing inside a box in mm (left, bottom, right, top), and where they lie. */
  draw([left, bottom, right, top], paint) {
    const context = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
    const x = Math.floor(this.x(left)) - 2;
    const y = Math.floor(this.y(top)) - 2;
    const width = Math.ceil(this.x(right)) + 2 - x;
    const height = Math.ceil(this.y(bottom)) + 2 - y;
    Object.assign(context.canvas, { width, height });
    context.translate(-x, -y);
    paint(context);
    return { x, y, width, data: context.getImageData(0, 0, width, height).data };
  }
}

/** The pixels of some zones with the number of their colour: `plain`, and in `key` with light and soft borders. */
function mapOf(dog, frame, name, parts) {
  const { scale } = frame;
  const body = name === "body";
  const drawn = (list) =>
    frame.draw(dog.boxes[name], (context) => {
      for (const { ring, index } of list) {
        for (const way of ["fill", "stroke"]) {
          // the number is written twice into the colour: where two colours run together, they differ
          context.fillStyle = context.strokeStyle = `rgb(${index + 1} ${((index + 1) * 97) & 255} 0)`;
          context[way](new Path2D(frame.path(ring)));
        }
      }
    });
  const { data, width, ...corner } = drawn(parts);
  const saddle = drawn([{ ring: dog.saddle, index: 0 }]).data;
  const size = data.length / 4;
  const ids = Uint8Array.from({ length: size }, (_, i) =>
    data[4 * i + 3] < 255 || data[4 * i + 1] !== ((data[4 * i] * 97) & 255)
      ? 0
      : data[4 * i] | (body && saddle[4 * i + 3] > 127 ? SADDLE : 0),
  );
  const around = [1, -1, width, -width, width + 1, width - 1, 1 - width, -1 - width];
  const run = (2 * dog.unit * scale) / 255;
  const at = new Uint32Array(size);
  const key = new Uint16Array(size);
  const plain = new Uint16Array(size);
  const cover = new Uint8Array(size);
  let count = 0;
  for (let i = 0; i < size; i++) {
    if (!data[4 * i + 3]) continue;
    const x = corner.x + (i % width);
    const y = corner.y + Math.floor(i / width);
    const p = y * frame.width + x;
    const slot = ids[i] || ids[i + around.find((step) => ids[i + step])] || parts[0].index + 1;
    at[count] = p;
    cover[count] = data[4 * i + 3];
    plain[count] = key[count] = (slot - 1) * SHADES;
    if (body) {
      // a number without order for each pixel
      let v = Math.imul(p ^ (p >>> 15), 0x2c1b3c6d);
      v = Math.imul(v ^ (v >>> 12), 0x297a2d39) ^ (v >>> 15);
      const dx = ((v & 255) + ((v >>> 8) & 255) - 255) * run;
      const dy = (((v >>> 16) & 255) + (v >>> 24) - 255) * run;
      const moved = ids[i + Math.round(dx) + Math.round(dy) * width] || slot;
      key[count] =
        (moved - 1) * SHADES +
        Math.floor(shadow(dog, x / scale, y / scale) * (SHADES - 1.01) + (v & 255) / 256);
    }
    count++;
  }
  return { at, key, plain, cover, count };
}

/** Shadow on the body, 0..1, at a place in mm from the corner. */
function shadow({ view, shade: { origin, cell, across, values } }, x, y) {
  const u = Math.min(Math.max((view[0] + x - origin[0]) / cell, 0), across - 1.001);
  const v = Math.min(Math.max((view[1] - y - origin[1]) / cell, 0), values.length / across - 1.001);
  const i = u | 0;
  const j = v | 0;
  const p = u - i;
  const q = v - j;
  const k = j * across + i;
  const m = k + across;
  return (
    ((values[k] * (1 - p) + values[k + 1] * p) * (1 - q) + (values[m] * (1 - p) + values[m + 1] * p) * q) /
    255
  );
}

export function mapsOf(dog, frame) {
  const { zones, ears, tail, far } = dog;
  const groups = {
    far: far.map(({ ring }, k) => ({ ring, index: zones.length + k })),
    body: zones.filter(({ ring, index }) => ring && index !== ears && index !== tail),
    ears: [zones[ears]],
    tail: [zones[tail]],
  };
  return Object.fromEntries(
    Object.entries(groups).map(([name, parts]) => [name, mapOf(dog, frame, name, parts)]),
  );
}

/** Colours by number: `skinOf(zone, slot)` gives that of skin and of skin in a saddle. */
export function coloursOf(dog, skinOf) {
  const out = new Int32Array(2 * SADDLE * SHADES);
  [...dog.zones, ...dog.far.map(({ zone }) => dog.zones[zone])].forEach((zone, slot) => {
    if (!zone.ring) return;
    skinOf(zone, slot).forEach((skin, saddle) => {
      for (let k = 0; k < SHADES; k++) {
        out[(slot + saddle * SADDLE) * SHADES + k] = blend(
          skin,
          dog.shadow,
          (256 * dog.shade.deep * k) / (SHADES - 1),
        );
      }
    });
  });
  return out;
}

/** Ground, mouth, face and the shade of the ear as maps with colours of their own. */
export function stampsOf(dog, frame, theme) {
  return Object.fromEntries(
    Object.entries(dog.stamps).map(([name, [box, marks]]) => {
      const { x, y, width, data } = frame.draw(box, (context) => {
        context.transform(frame.scale, 0, 0, -frame.scale, frame.x(0), frame.y(0));
        context.lineCap = "round";
        for (const [path, fill, stroke, lineWidth, globalAlpha] of marks) {
          Object.assign(context, {
            globalAlpha,
            lineWidth,
            fillStyle: theme[fill] || fill,
            strokeStyle: theme[stroke] || stroke,
          });
          context[fill ? "fill" : "stroke"](new Path2D(path));
        }
      });
      const map = { at: [], key: [], cover: [], colours: [] };
      for (let i = 0; i < data.length; i += 4) {
        if (!data[i + 3]) continue;
        map.at.push((y + Math.floor(i / 4 / width)) * frame.width + x + ((i / 4) % width));
        map.key.push(map.colours.push(data[i] | (data[i + 1] << 8) | (data[i + 2] << 16)) - 1);
        map.cover.push(data[i + 3]);
      }
      return [name, map];
    }),
  );
}
