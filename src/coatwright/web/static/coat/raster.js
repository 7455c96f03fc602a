// Skin and hair as pixels, in loops over a typed array: the canvas's own paths took twelve times as long.

const OPAQUE = 0xff000000;

/** #rrggbb as 0xbbggrr. */
export const packed = (text) => parseInt(text.slice(5) + text.slice(3, 5) + text.slice(1, 3), 16);

/** `share` (0..256) of the way from one colour to another. */
export function blend(under, over, share) {
  const rb = under & 0xff00ff;
  const g = under & 0xff00;
  return (
    OPAQUE |
    ((rb + (Math.imul((over & 0xff00ff) - rb, share) >> 8)) & 0xff00ff) |
    ((g + (Math.imul((over & 0xff00) - g, share) >> 8)) & 0xff00)
  );
}

export class Sheet {
  constructor(width, height) {
    this.width = width;
    this.height = height;
    this.image = new ImageData(width, height);
    this.pixels = new Uint32Array(this.image.data.buffer);
  }

  /** Pixels `at` take the entries `key` of `colours`, as much as `cover` (0..255) says. */
  lay({ at, cover, count = at.length }, key, colours) {
    const { pixels } = this;
    for (let i = 0; i < count; i++) {
      const colour = colours[key[i]];
      pixels[at[i]] = cover[i] > 250 ? OPAQUE | colour : blend(pixels[at[i]], colour, cover[i]);
    }
  }

  /**
   * One hair from (x0, y0) to (x1, y1), a quadratic curve with the handle (cx, cy) in `n` straight pieces: thin at
   * the root, `w` wide soon after, `tip` of that at its end; the root is darker on a hair of many pieces. A piece takes
   * each row of pixels across its steeper way once, with both edges softened.
   */
  hair(x0, y0, cx, cy, x1, y1, w, tip, tone, n, strength) {
    const { pixels, width, height } = this;
    const root = n > 3 ? blend(tone, 0x10161f, 36) : tone;
    let px = x0;
    let py = y0;
    let wide = 0.6 * w;
    for (let k = 1; k <= n; k++) {
      const t = k / n;
      const u = 1 - t;
      const next = w * (1.15 + (t - 0.25) * (tip - 1.15) * 1.3333);
      const colour = 3 * k <= n + 1 ? root : tone;
      const qx = u * u * x0 + 2 * u * t * cx + t * t * x1;
      const qy = u * u * y0 + 2 * u * t * cy + t * t * y1;
      const flat = Math.abs(qx - px) >= Math.abs(qy - py);
      const long = flat ? width : height;
      const across = flat ? height : width;
      const step = flat ? 1 : width;
      const over = flat ? width : 1;
      // The piece runs from a to b along its steeper way, from c to d across it, h wide at a and e wide at b.
      let a = flat ? px : py;
      let b = flat ? qx : qy;
      let c = flat ? py : px;
      let d = flat ? qy : qx;
      let h = wide;
      let e = next;
      let swap = a;
      px = qx;
      py = qy;
      wide = next;
      if (a > b) {
        a = b;
        b = swap;
        swap = c;
        c = d;
        d = swap;
        swap = h;
        h = e;
        e = swap;
      }
      // Centre and half width in the middle of the first row; how both change from row to row.
      const from = Math.max(Math.round(a), 0);
      const to = Math.min(Math.round(b), long);
      if (from >= to) continue;
      const slope = (d - c) / (b - a);
      const slant = 0.5 * Math.sqrt(1 + slope * slope);
      const grow = (slant * (e - h)) / (b - a);
      const off = from + 0.5 - a;
      c += off * slope;
      h = h * slant + off * grow;
      const end = c + (to - from) * slope;
      const room = Math.max(h, e * slant) + 3;
      if (Math.min(c, end) < room || Math.max(c, end) > across - room) continue;
      // Edges in 256ths of a pixel, so that a shift gives the pixel and the rest how much of it is covered.
      let low = (c - h) * 256;
      let high = (c + h) * 256;
      for (let i = from; i < to; i++) {
        const l = low | 0;
        const r = high | 0;
        const last = r >> 8;
        let j = l >> 8;
        let p = i * step + j * over;
        pixels[p] = blend(pixels[p], colour, ((j === last ? r - l : 256 - (l & 255)) * strength) >> 8);
        if (j < last) {
          while (++j < last) {
            p += over;
            pixels[p] = blend(pixels[p], colour, strength);
          }
          p += over;
          pixels[p] = blend(pixels[p], colour, ((r & 255) * strength) >> 8);
        }
        low += (slope - grow) * 256;
        high += (slope + grow) * 256;
      }
    }
  }
}
