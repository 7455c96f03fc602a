// Elements made from words: h("button.big", { onclick }, "Text").

const SVG = "http://www.w3.org/2000/svg";
const SVG_TAGS = new Set(["svg", "path", "g", "circle", "line", "text", "title", "rect", "tspan"]);

/** An element: `spec` is a tag with classes and an id, such as "p.caution#told"; null and false children are left out. */
export function h(spec, attributes = {}, ...children) {
  const [, tag, rest] = spec.match(/^([a-z0-9]+)(.*)$/);
  const made = SVG_TAGS.has(tag) ? document.createElementNS(SVG, tag) : document.createElement(tag);
  for (const [, mark, name] of rest.matchAll(/([.#])([^.#]+)/g)) {
    if (mark === "#") made.id = name;
    else made.classList.add(name);
  }
  for (const [name, value] of Object.entries(attributes)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else made.setAttribute(name, value === true ? "" : value);
  }
  made.append(...children.flat(3).filter((child) => child !== null && child !== undefined && child !== false));
  return made;
}

/** Put `made` in place of what `place` holds; what had the focus has it again, by its id. */
export function show(place, ...made) {
  const focused = place.contains(document.activeElement) ? document.activeElement.id : "";
  place.replaceChildren(...made.flat(3).filter(Boolean));
  if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
}

export const percent = (share) => `${Math.floor(100 * share + 0.5 + 1e-9)}\u00a0%`;

/** A number with its unit set lighter. */
export const unit = (number, of) => [`${number}\u00a0`, h("span.unit", {}, of)];

/** "as told" with the per cent sign set lighter. */
export const share = (value) => unit(Math.floor(100 * value + 0.5 + 1e-9), "%");

/** Milliseconds as 0:07, 12:40 or 1:02:40. */
export function clock(ms) {
  const seconds = Math.max(0, Math.floor(ms / 1000));
  const two = (value) => String(value).padStart(2, "0");
  const hours = Math.floor(seconds / 3600);
  const minutes = Math.floor(seconds / 60) % 60;
  return hours ? `${hours}:${two(minutes)}:${two(seconds % 60)}` : `${minutes}:${two(seconds % 60)}`;
}

export const minutes = (ms) => `${Math.round(ms / 60000)}\u00a0min`;

/** Words as a list: "ears, throat and cheeks". */
export const listed = (words) =>
  words.length < 2 ? words.join("") : `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`;
