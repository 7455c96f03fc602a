// The living coat picture: `mountCoat(element, parcel, options)`.

import { panelOf, write } from "./panel.js";
import { unpack } from "./parcel.js";
import { quantitiesOf, spoken } from "./shade.js";
import { Shot } from "./shot.js";
import { dayOf, isoOf, wordsFor } from "./words.js";

/** A day rests when it has not moved for so long; then it is painted in full and told to the page. */
const REST_MS = 170;
/** While it moves, its date is written this often. */
const NAME_MS = 110;
const DAYS_A_SECOND = 9;
const WEEK = 7;

const STILL = matchMedia("(prefers-reduced-motion: reduce)");
const LOOKS = ["(prefers-color-scheme: dark)", "(prefers-contrast: more)"].map((query) => matchMedia(query));
for (const look of [...LOOKS, STILL]) {
  look.addEventListener("change", () => {
    for (const root of document.querySelectorAll(".living")) root.parentElement.coat.themed();
  });
}

/**
 * Put the picture into `element`, in place of what is there but for the class `living-paper` (for print), and as
 * `element.coat`. Options: `day`, `beside` (day numbers or 2026-12-03), `zone`, `by`, `unit` (mm or in), `order` of
 * dates (dmy, mdy or ymd).
 *
 * Events, with `detail` { day, date, away, zone, by }: `daychange`, `dayrest` when the day no longer moves,
 * `zonechange`, `bychange`. Hidden fields `day`, `zone` and `by` tell the same to a form around it; those at rest
 * (today, nothing shaded) are left out.
 */
export function mountCoat(element, parcel, options = {}) {
  return new LivingCoat(element, unpack(parcel), options);
}

class LivingCoat {
  constructor(element, dog, { day, zone, by = "", beside = null, unit = "mm", order = "dmy" }) {
    this.element = element;
    this.dog = dog;
    this.words = wordsFor(order, unit);
    this.quantities = quantitiesOf(dog, this.words);
    this.papers = [...element.querySelectorAll(".living-paper")];
    this.panel = panelOf(dog);
    const pick = (key) => this.setZone(key);
    this.before = new Shot(dog, unit, pick);
    this.now = new Shot(dog, unit, pick);
    this.panel.stage.prepend(this.before.figure, this.now.figure);
    element.replaceChildren(this.panel.root, ...this.papers);
    element.coat = this;
    /** The day as it is painted: between two whole days while time passes by itself. */
    this.exact = this.within(day ?? dog.today);
    this.beside = this.within(beside);
    this.zone = this.zoneOf(zone);
    this.by = by;
    this.running = 0;
    this.listen();
    this.refresh(true);
  }

  // --- what can be set ------------------------------------------------------------------------------------

  get day() {
    return Math.floor(this.exact);
  }

  setDay(day) {
    this.exact = this.within(day);
    this.asked ??= requestAnimationFrame(() => {
      this.asked = null;
      this.frame();
    });
  }

  setZone(key) {
    this.zone = this.zoneOf(key);
    this.say();
    this.tell("zonechange");
  }

  setBy(by) {
    this.by = by;
    this.refresh();
    this.tell("bychange");
  }

  /** Keep a day beside the moving one; null for none. */
  setBeside(day) {
    this.beside = this.within(day);
    this.refresh(true);
  }

  /** Let time pass from the day shown on, or from the first one when it is the last. */
  play() {
    if (this.day >= this.dog.last) this.exact = this.dog.first;
    let last = performance.now();
    const step = (now) => {
      const passed = Math.min(Math.max(now - last, 0), 100) / 1000;
      last = now;
      this.exact = Math.min(this.exact + passed * DAYS_A_SECOND, this.dog.last);
      this.running = this.exact < this.dog.last ? requestAnimationFrame(step) : 0;
      this.frame();
    };
    this.running = requestAnimationFrame(step);
    this.name();
  }

  stop() {
    if (!this.running) return;
    cancelAnimationFrame(this.running);
    this.running = 0;
    this.name();
    this.setDay(this.day);
  }

  /** Per zone the roots, the strokes on them and their mean length (mm) in the picture as it is painted. */
  measure() {
    return this.now.painter.hairs.measure();
  }

  /** The page has other colours now, or other wishes about motion. */
  themed() {
    if (STILL.matches) this.stop();
    for (const shot of [this.now, this.before]) shot.painter?.themed();
    this.refresh();
  }

  // --- hands ----------------------------------------------------------------------------------------------

  listen() {
    const { dog, panel } = this;
    const { visits } = dog;
    const go = (day) => {
      this.stop();
      this.setDay(day);
    };
    const acts = {
      play: () => {
        if (STILL.matches) go(this.day + WEEK);
        else if (this.running) this.stop();
        else this.play();
      },
      earlier: () => go(visits.findLast((day) => day < this.day)),
      later: () => go(visits.find((day) => day > this.day)),
      today: () => go(dog.today),
      beside: () => this.setBeside(this.beside === null ? this.day : null),
    };
    panel.root.addEventListener("click", ({ target }) => {
      if (target.dataset.zone) this.setZone(target.dataset.zone);
      acts[target.dataset.act]?.();
    });
    panel.slider.addEventListener("input", () => go(Number(panel.slider.value) + dog.today));
    panel.select.addEventListener("change", () => this.setBy(panel.select.value));
    panel.root.addEventListener("keydown", (event) => {
      if (event.key === "Escape") this.stop();
      const weeks = { PageUp: 1, PageDown: -1 }[event.key];
      if (event.target === panel.slider && weeks) go(this.day + weeks * WEEK);
      else if (event.target !== panel.list || !this.step(event.key)) return;
      event.preventDefault();
    });
    new ResizeObserver(() => this.refresh()).observe(panel.stage);
  }

  /** Choose the zone that a key leads to, in the list of those that are seen; false for other keys. */
  step(key) {
    const zones = [...this.panel.places.keys()].filter((zone) => zone.ring);
    const at = zones.indexOf(this.zone);
    const to = {
      ArrowDown: at + 1,
      ArrowRight: at + 1,
      ArrowUp: Math.max(at, 0) - 1,
      ArrowLeft: Math.max(at, 0) - 1,
      Home: 0,
      End: -1,
    }[key];
    if (to === undefined) return false;
    this.setZone(zones.at(to % zones.length).key);
    return true;
  }

  tell(type) {
    const { day, zone, by } = this;
    const away = day - this.dog.today;
    const detail = { day, date: isoOf(day), away, zone: zone?.key ?? null, by };
    this.element.dispatchEvent(new CustomEvent(type, { bubbles: true, detail }));
  }

  within(day) {
    if (day === null) return null;
    const { first, last } = this.dog;
    return Math.min(Math.max(Math.round(dayOf(day)), first), last);
  }

  zoneOf(key) {
    return this.dog.zones.find((zone) => zone.key === key) ?? null;
  }

  // --- painting -------------------------------------------------------------------------------------------

  /** The day has moved: paint it quickly, and in full when it rests. */
  frame() {
    this.took = this.now.paint(this.exact, true, this.quantities[this.by]);
    if (this.day !== this.shown) this.tell("daychange");
    this.shown = this.day;
    if (performance.now() - this.named > NAME_MS) this.name();
    clearTimeout(this.rest);
    this.rest = setTimeout(() => {
      if (this.running) return;
      this.refresh();
      this.tell("dayrest");
    }, REST_MS);
  }

  /** Paint all there is; `soon` quickly first, and in full once that is seen. */
  refresh(soon = false) {
    const { panel } = this;
    if (!panel.root.isConnected) return;
    const quantity = this.quantities[this.by];
    const quick = soon || this.running > 0;
    const pair = this.beside !== null;
    this.before.figure.hidden = !pair;
    panel.stage.classList.toggle("living-pair", pair);
    this.took = this.now.paint(this.exact, quick, quantity);
    if (pair) this.before.paint(this.beside, quick, quantity);
    this.shown = this.day;
    this.name();
    this.say();
    if (soon) setTimeout(() => this.refresh());
  }

  // --- words ----------------------------------------------------------------------------------------------

  /** The day: below the picture, on the slider, and what the buttons make of it. */
  name() {
    const { day, beside, words } = this;
    const { today, visits } = this.dog;
    const { slider, buttons, fields } = this.panel;
    this.named = performance.now();
    this.caption(this.now, day);
    if (beside !== null) this.caption(this.before, beside);
    slider.value = day - today;
    slider.setAttribute("aria-valuetext", `${words.date(day)}, ${words.away(day, today)}`);
    fields.day.value = isoOf(day);
    fields.day.disabled = day === today;
    write(buttons.play, STILL.matches ? "A week on" : this.running ? "Stop" : "Let time pass");
    write(buttons.earlier, "Visit before");
    write(buttons.later, "Next visit");
    write(buttons.today, "Today");
    write(buttons.beside, beside === null ? "Keep this day beside" : "Only one day");
    buttons.earlier.disabled = !(visits[0] < day);
    buttons.later.disabled = !(visits.at(-1) > day);
    buttons.today.disabled = day === today;
  }

  caption(shot, day) {
    const { today } = this.dog;
    const kind = day < today ? "As it was" : day > today ? "Forecast" : "Today";
    const away = day === today ? "" : this.words.away(day, today);
    shot.caption.innerHTML = `<span class="caps">${kind}</span> ${this.words.date(day)} <span class="light">${away}</span>`;
  }

  /** The day and the chosen zone, for eyes and for a screen reader; the list of zones; the scale. */
  say() {
    const { dog, words, day, zone, by } = this;
    const { said, places, list, fields, select, legend, more, unread } = this.panel;
    const quantity = this.quantities[by];
    write(said[0], `${words.date(day)}. `);
    write(said[1], this.zoneWords());
    more.hidden = !zone?.read;
    for (const [one, place] of places) {
      if (one.ring) {
        write(place, spoken(one, day, dog, words));
        place.setAttribute("aria-selected", String(one === zone));
      } else {
        const value = quantity?.value(one, day);
        write(place, quantity ? `${one.name} ${value ? value[1] : "–"}` : one.name);
        place.setAttribute("aria-pressed", String(one === zone));
      }
    }
    this.now.select(zone);
    this.before.select(zone);
    const active = zone?.ring ? places.get(zone).id : "";
    list.setAttribute("aria-activedescendant", active);
    fields.zone.value = zone?.key ?? "";
    fields.zone.disabled = !zone;
    fields.by.value = by;
    fields.by.disabled = !by;
    select.value = by;
    legend.hidden = !quantity;
    if (quantity) {
      const note = quantity.note ? `, ${quantity.note(day)}` : "";
      const [low, high] = quantity.ends;
      legend.innerHTML = `<span>${quantity.of}${note}</span> ${low} ${dog.scale} ${high}`;
    }
    const guessed = dog.zones.filter((one) => one.ring && !one.read).map((one) => one.name);
    unread.hidden = !guessed.length;
    write(unread, `Not read yet, drawn as they should be: ${guessed.join(", ").toLowerCase()}.`);
    for (const paper of this.papers) {
      paper.src = paper.dataset.src.replace("{day}", isoOf(day)).replace("{by}", by);
    }
  }

  zoneWords() {
    const { dog, words, day, zone, beside } = this;
    if (!zone) return "Pick a zone on the picture.";
    const here = `${spoken(zone, day, dog, words)}.`;
    if (beside === null) return here;
    return `${here} On ${words.date(beside)}: ${spoken(zone, beside, dog, words)}.`;
  }
}
