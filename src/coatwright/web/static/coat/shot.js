// One picture: the canvas, lines and words over it, and the zone under a pointer or finger.

import { Painter } from "./painter.js";
import { Frame } from "./skin.js";

/** Narrower pictures have larger words beside their zones, px. */
const NARROW = 600;
/** How far beside a zone a finger or a mouse may be, px. */
const FINGER = 22;
const MOUSE = 8;
/** Lines over the picture: borders of shaded zones, the zone pointed at, the chosen one, leads to words. */
const LINES = ["lines", "hover", "chosen", "leads"];
/** Words on a dark and on a light zone. */
const PALE = "#ffffff";
const DARK = "#050403";

const INSIDE = `
<div class="living-frame">
  <canvas aria-hidden="true"></canvas>
  <svg class="living-over" aria-hidden="true">
    ${LINES.map((name) => `<path class="living-${name}"/>`).join("")}
    <g></g>
  </svg>
</div>
<figcaption></figcaption>`;

export class Shot {
  /** `unit` is that of the bar to measure by; `pick` is told the key of a zone that is pressed. */
  constructor(dog, unit, pick) {
    this.dog = dog;
    this.bar = dog.bars[unit];
    this.pick = pick;
    this.zone = null;
    this.width = 0;
    this.figure = document.createElement("figure");
    this.figure.className = "living-shot";
    this.figure.innerHTML = INSIDE;
    const part = (selector) => this.figure.querySelector(selector);
    this.box = part(".living-frame");
    this.canvas = part("canvas");
    this.over = part("svg");
    this.texts = part("g");
    this.caption = part("figcaption");
    this.lines = Object.fromEntries(LINES.map((name) => [name, part(`.living-${name}`)]));
    this.listen();
  }

  listen() {
    const point = (zone) => {
      this.outline("hover", zone);
      this.over.classList.toggle("living-hit", Boolean(zone));
    };
    this.over.addEventListener("pointermove", (event) =>
      point(event.pointerType === "mouse" ? this.zoneAt(event) : null),
    );
    this.over.addEventListener("pointerleave", () => point(null));
    this.over.addEventListener("click", (event) => {
      const zone = this.zoneAt(event);
      if (zone) this.pick(zone.key);
    });
  }

  /** Draw a line of `LINES` around some zones. */
  outline(name, ...zones) {
    const rings = zones.filter((zone) => zone?.ring && this.frame);
    this.lines[name].setAttribute("d", rings.map(({ ring }) => this.frame.path(ring)).join(""));
  }

  select(zone) {
    this.zone = zone;
    this.outline("chosen", zone);
  }

  /** Paint a day; `moving` asks for speed before detail. Returns the ms that it took. */
  paint(day, moving, quantity) {
    const { dog } = this;
    const width = this.box.clientWidth;
    if (!width) return 0;
    this.painter ??= new Painter(dog, this.canvas);
    if (width !== this.width) this.resize(width);
    const values = quantity && dog.zones.map((zone) => quantity.value(zone, Math.floor(day)));
    const step = ({ index }) => values[index] && Math.round(values[index][0] * (dog.ramp.length - 1));
    const shading = values && ((zone) => dog.ramp[step(zone)] ?? this.painter.theme.empty);
    const took = this.painter.paint(day, width, moving, shading);
    if (values || this.values) this.write(values, step);
    this.values = values;
    return took;
  }

  resize(width) {
    this.width = width;
    this.frame = new Frame(this.dog.view, width);
    this.over.setAttribute("viewBox", `0 0 ${width} ${this.frame.height}`);
    this.select(this.zone);
    this.write();
  }

  /** Words on the zones or, with a thin line, beside them; and a bar to measure by. */
  write(values, step) {
    const { labels, zones, dark } = this.dog;
    const { scale, x, y, height } = this.frame;
    const leads = [];
    const words = [];
    for (const { zone, size, places } of labels[this.width < NARROW ? 1 : 0]) {
      if (!values?.[zone]) continue;
      const text = values[zone][1];
      const px = Math.max(11, Math.min(20, size * scale));
      const [left, top] = [x(places[0]), y(places[1])];
      const beside = places.length > 2;
      const ink = beside ? "currentColor" : step(zones[zone]) >= dark ? PALE : DARK;
      words.push(textAt(left, top + 0.35 * px, px, ink, text));
      if (beside) leads.push(lead(left, top, x(places[2]), y(places[3]), px, text.length));
    }
    const [long, length] = this.bar;
    const start = 0.03 * this.width;
    leads.push(`M${start} ${height - 11}v5h${long * scale}v-5`);
    words.push(textAt(start + (long * scale) / 2, height - 13, 12, "currentColor", length));
    this.outline("lines", ...(values ? zones : []));
    this.lines.leads.setAttribute("d", leads.join(""));
    this.texts.innerHTML = words.join("");
  }

  /** The zone at a pointer: the foremost there, else the nearest in reach. */
  zoneAt({ clientX, clientY, pointerType }) {
    const { view, zones, roots, far } = this.dog;
    const { scale } = this.frame;
    const { left, top } = this.over.getBoundingClientRect();
    const x = (clientX - left) / scale + view[0];
    const y = view[1] - (clientY - top) / scale;
    const near = roots.parts.filter((part) => !part.far).reverse();
    let best = null;
    let least = (pointerType === "mouse" ? MOUSE : FINGER) / scale;
    for (const { zone, ring = zones[zone].ring } of [...near, ...far]) {
      const gap = distance(ring, x, y);
      if (gap < least) [best, least] = [zones[zone], gap];
    }
    return best;
  }
}

const textAt = (x, y, size, fill, words) =>
  `<text x="${x}" y="${y}" font-size="${size}" fill="${fill}">${words}</text>`;

/** A line from a place to the edge of the words that stand beside it. */
function lead(left, top, x, y, px, letters) {
  const dx = x - left;
  const dy = y - top;
  const edge = Math.min(1, (0.3 * px * letters) / Math.abs(dx), (0.6 * px) / Math.abs(dy));
  return `M${x} ${y}L${left + dx * edge} ${top + dy * edge}`;
}

/** From a place to a ring, mm: 0 inside. */
function distance(ring, x, y) {
  let least = Infinity;
  let inside = false;
  for (let i = 0, j = ring.length - 2; i < ring.length; j = i, i += 2) {
    const ax = ring[j] - x;
    const ay = ring[j + 1] - y;
    const dx = ring[i] - ring[j];
    const dy = ring[i + 1] - ring[j + 1];
    // A line to the right crosses this side: in and out take turns.
    if (ay > 0 !== ay + dy > 0 && ax - (ay / dy) * dx > 0) inside = !inside;
    const along = Math.min(Math.max(-(ax * dx + ay * dy) / (dx * dx + dy * dy || 1), 0), 1);
    least = Math.min(least, Math.hypot(ax + along * dx, ay + along * dy));
  }
  return inside ? 0 : least;
}
