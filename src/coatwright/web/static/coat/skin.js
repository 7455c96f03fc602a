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

/** Which zone (from 1 on) each pixel inside a box belongs to, 0 on borders; how far it is covered, 0..255. */
function numbered(frame, box, parts) {
  const { data, ...place } = frame.draw(box, (context) => {
    for (const { ring, index } of parts) {
      // The number is written twice into the colour: where two colours run together, they differ.
      context.fillStyle = context.strokeStyle = `rgb(${index + 1} ${((index + 1) * 97) & 255} 0)`;
      const path = new Path2D(frame.path(ring));
      context.fill(path);
      context.stroke(path);
    }
  });
  const words = new Uint32Array(data.buffer);
  const cover = new Uint8Array(words.length);
  const zone = new Uint8Array(words.length);
  for (let i = 0; i < words.length; i++) {
    const word = words[i];
    if (!word) continue;
    cover[i] = word >>> 24;
    const red = word & 255;
    if (cover[i] === 255 && ((word >>> 8) & 255) === ((red * 97) & 255)) zone[i] = red;
  }
  return { zone, cover, ...place };
}

/** A number without order for each pixel: borders of zones and steps of light are strewn by it. */
function strewn(pixel) {
  let v = Math.imul(pixel ^ (pixel >>> 15), 0x2c1b3c6d);
  v = Math.imul(v ^ (v >>> 12), 0x297a2d39);
  return v ^ (v >>> 15);
}

/** The pixels of some zones with the number of their colour: `plain`, and in `key` with light and soft borders. */
function mapOf(dog, frame, name, parts) {
  const body = name === "body";
  const { zone, cover, x: left, y: top, width } = numbered(frame, dog.boxes[name], parts);
  if (body) {
    const saddle = numbered(frame, dog.boxes[name], [{ ring: dog.saddle, index: 0 }]).cover;
    for (let i = 0; i < zone.length; i++) if (zone[i] && saddle[i] > 127) zone[i] |= SADDLE;
  }
  const around = [1, -1, width, -width, width + 1, width - 1, 1 - width, -1 - width];
  const slotOf = (i) => zone[i] || zone[i + around.find((step) => zone[i + step])] || parts[0].index + 1;
  const shadow = body && shadowOf(dog, frame, left, width);
  const reach = (2 * dog.unit * frame.scale) / 255;
  const count = cover.reduce((sum, value) => sum + (value > 0), 0);
  const map = {
    count,
    at: new Uint32Array(count),
    cover: new Uint8Array(count),
    plain: new Uint16Array(count),
    key: new Uint16Array(count),
  };
  let n = 0;
  for (let row = 0, i = 0; i < cover.length; row++) {
    const light = body && shadow(top + row);
    for (let column = 0; column < width; column++, i++) {
      if (!cover[i]) continue;
      const slot = slotOf(i);
      const pixel = (top + row) * frame.width + left + column;
      map.at[n] = pixel;
      map.cover[n] = cover[i];
      map.plain[n] = map.key[n] = (slot - 1) * SHADES;
      if (body) {
        const v = strewn(pixel);
        const dx = Math.round(((v & 255) + ((v >>> 8) & 255) - 255) * reach);
        const dy = Math.round((((v >>> 16) & 255) + (v >>> 24) - 255) * reach);
        const moved = zone[i + dx + dy * width] || slot;
        map.key[n] = (moved - 1) * SHADES + Math.floor(light(column) * (SHADES - 1.01) + (v & 255) / 256);
      }
      n++;
    }
  }
  return map;
}

/** Shadow on the body as a function of row, then of column (pixels), 0..1: between the values of the parcel. */
function shadowOf({ view, shade: { origin, cell, across, values } }, { scale }, left, width) {
  const within = (value, most) => Math.min(Math.max(value, 0), most - 1.001);
  const place = (column) => within((view[0] + (left + column) / scale - origin[0]) / cell, across);
  const places = Float32Array.from({ length: width }, (_, column) => place(column));
  return (row) => {
    const up = within((view[1] - row / scale - origin[1]) / cell, values.length / across);
    const below = Math.floor(up) * across;
    const q = up - Math.floor(up);
    return (column) => {
      const i = places[column] | 0;
      const p = places[column] - i;
      const k = below + i;
      const m = k + across;
      const low = values[k] * (1 - p) + values[k + 1] * p;
      const high = values[m] * (1 - p) + values[m + 1] * p;
      return (low * (1 - q) + high * q) / 255;
    };
  };
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
