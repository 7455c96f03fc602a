// One picture of the dog on one canvas, on any day, as it stands or shaded by a quantity.

import { Hairs, standing } from "./law.js";
import { blend, packed, Sheet } from "./raster.js";
import { coloursOf, Frame, mapsOf, stampsOf } from "./skin.js";

/** A picture never has more pixels than this, however fine the screen. */
const MOST_PIXELS = 5e6;
/** From full to coarse: pixels per css pixel at most, and one hair in so many. */
const DETAIL = [
  [3, 1],
  [1, 1],
  [1, 2],
  [1, 3],
];
/** While days pass, detail falls when a picture takes longer, and rises when it takes less. */
const SLOW_MS = 16;
const QUICK_MS = 7;
/** A shaded picture has one hair in four, faintly: it still is a dog. */
const FAINT = 44;
const TEXTURE = 4;

export class Painter {
  constructor(dog, canvas) {
    Object.assign(this, { dog, canvas, hairs: new Hairs(dog), detail: 1 });
    this.themed();
  }

  /** Read the page's colours, --chalk and --ink as #rrggbb. */
  themed() {
    const style = getComputedStyle(this.canvas);
    const [chalk, ink] = ["--chalk", "--ink"].map((name) => style.getPropertyValue(name).trim());
    const name = parseInt(chalk.slice(3, 5), 16) < 100 ? "dark" : "light";
    this.theme = { ...this.dog.themes[name], name, ink, ground: packed(chalk) };
    this.kept = {};
  }

  /** What stays while days pass, for the last widths. */
  prepared(width) {
    const { dog, theme } = this;
    if (!this.kept[width]) {
      const frame = new Frame(dog.view, width);
      const made = { frame, maps: mapsOf(dog, frame), stamps: stampsOf(dog, frame, theme) };
      this.kept = { ...(Object.keys(this.kept).length < 3 && this.kept), [width]: made };
    }
    return this.kept[width];
  }

  /** `moving` asks for speed before detail, `shading` gives zones colours. Returns the ms it took. */
  paint(day, width, moving, shading) {
    const began = performance.now();
    const { dog, canvas } = this;
    const flat = Boolean(shading);
    const [finest, skip] = DETAIL[moving ? this.detail : 0];
    const ratio = Math.min(finest, Math.max(1, devicePixelRatio), Math.sqrt(MOST_PIXELS) / width);
    const { frame, maps, stamps } = this.prepared(Math.round(width * ratio));
    if (this.sheet?.width !== frame.width) {
      this.sheet = new Sheet(frame.width, frame.height);
      Object.assign(canvas, { width: frame.width, height: frame.height });
    }
    this.hairs.at(day);
    const skin = coloursOf(dog, (zone, slot) => this.skin(zone, slot, day, shading));
    this.compose(frame, maps, stamps, skin, flat ? TEXTURE : skip, flat);
    canvas.getContext("2d", { alpha: false }).putImageData(this.sheet.image, 0, 0);
    const took = performance.now() - began;
    if (moving) {
      this.detail = Math.min(
        Math.max(this.detail + (took > SLOW_MS) - (took < QUICK_MS), 1),
        DETAIL.length - 1,
      );
    }
    return took;
  }

  /** Colours of a zone below its hair, in and out of a saddle; `slot` counts the far legs after the zones. */
  skin(zone, slot, day, shading) {
    const { skin, far, saddle, under, ground } = this.theme;
    const behind = far[slot - this.dog.zones.length];
    if (shading) return Array(2).fill(behind ? blend(shading(zone), ground, 115) : shading(zone));
    const { veil, undercoat } = standing(zone, day);
    const shown = (list) => blend(list[undercoat], list[3], 256 * veil);
    const own = shown(behind || skin[slot]);
    return [own, saddle ? blend(own, shown(saddle), 218 * Math.max(veil, under[undercoat])) : own];
  }

  /** From the hindmost to the foremost. */
  compose(frame, maps, stamps, skin, skip, flat) {
    const { sheet, dog } = this;
    const put = (stamp) => sheet.lay(stamp, stamp.key, stamp.colours);
    const lay = (map) => sheet.lay(map, flat ? map.plain : map.key, skin);
    sheet.pixels.fill(this.theme.ground | 0xff000000);
    put(stamps.ground);
    lay(maps.far);
    for (const part of dog.roots.parts) {
      const { zone, far, from, to } = part;
      const hair = (first, end) => this.strands(frame, part, first, end, skip, flat);
      if (far) {
        if (!flat) hair(from, to);
        continue;
      }
      if (zone === dog.tail) lay(maps.tail);
      if (zone === dog.beard) put(stamps.mouth);
      if (zone === dog.ears) {
        if (!flat) put(stamps.ear);
        lay(maps.ears);
      }
      const over = zone === dog.brows ? to - dog.roots.overEye : to;
      hair(from, over);
      if (zone === dog.brows) put(stamps.face);
      hair(over, to);
      if (zone === dog.tail) lay(maps.body);
    }
  }

  /** Whole hair tapers to its tip, cut hair is blunt, short hair is fine; none grows into the ground. */
  strands(frame, part, from, to, skip, flat) {
    const {
      sheet,
      dog: { roots, unit },
      theme: { tones, name },
      hairs: { length, cut },
    } = this;
    const s = frame.scale;
    const quarter = tones.length / 4;
    const width = part.width * s * (skip > 1 && !flat ? 0.92 * Math.sqrt(skip) : 1);
    const short = 3 * part.width;
    const ink = name === "dark" ? 0xffffff : 0;
    const strength = flat ? FAINT : 256;
    for (let i = from; i < to; i += skip) {
      if (!length[i]) continue;
      const chord = length[i] * roots.chord[i] * s;
      const bend = 2 * roots.bend[i];
      const blunt = cut[i];
      const grown = Math.min(length[i] / short, 1);
      const x = frame.x(roots.x[i]);
      const y = frame.y(roots.y[i]);
      const dx = roots.dx[i] * chord;
      const fall = -roots.dy[i] * chord;
      const floor = Math.max(frame.y(0) + (0.9 + (i % 5) * 0.22) * unit * s, y);
      const dy = Math.min(fall, floor - y);
      const thick = width * (0.55 + 0.45 * grown);
      const sag = (Math.abs(bend) * chord) / 2;
      const more = (0.35 * thick) / Math.max(chord, 0.35 * thick);
      const n = Math.max(thick > 1.6 && chord > 5 ? 3 : 1, Math.min(9, Math.ceil(1.7 * Math.sqrt(sag))));
      const end = blunt ? 1 : 1 + more;
      const tone = (part.far ? 2 : 0) * quarter + (blunt ? quarter : 0) + roots.colour[i];
      sheet.hair(
        x - more * dx,
        y - more * dy,
        x + 0.5 * dx + bend * fall,
        Math.min(y + 0.5 * fall - bend * dx, floor),
        x + end * dx,
        y + end * dy,
        thick,
        blunt ? 1.1 : 0.3,
        flat ? ink : tones[tone],
        n,
        strength * (0.4 + 0.6 * grown),
      );
    }
  }
}
