// The elements of a living picture: stage, words, slider, buttons. What they say and do is set in coat.js.

const SHADINGS = [
  ["", "the coat"],
  ["take", "take of the next visit"],
  ["cover", "cover of the skin"],
  ["outline", "outline against the aim"],
  ["age", "time since the pull"],
];
/** Buttons in their order; their words come with the day. */
export const BUTTONS = ["play", "earlier", "later", "today", "beside"];

const INSIDE = `
<div class="living-top">
  <label>Show <select>
    ${SHADINGS.map(([by, words]) => `<option value="${by}">${words}</option>`).join("")}
  </select></label>
  <p class="living-legend" hidden></p>
</div>
<div class="living-stage">
  <div role="listbox" tabindex="0" aria-label="Zones of the coat"></div>
</div>
<p class="living-said" role="status"><span class="hidden"></span><span></span></p>
<p class="living-more"><a href="#zone">Its layers through time</a></p>
<p class="living-unread light" hidden></p>
<label class="living-days"><span class="hidden">Day</span> <input type="range"></label>
<div class="living-strip"></div>
<div class="buttons">
  ${BUTTONS.map((name) => `<button type="button" data-act="${name}"></button>`).join("")}
</div>
<div class="living-unseen">
  <p class="caps">Not seen from the side</p>
  <div class="buttons"></div>
</div>
<input type="hidden" name="day">
<input type="hidden" name="by">
<input type="hidden" name="zone">`;

let made = 0;

/** The elements by name; `places` gives each zone its option in the list, or its button when it is not seen. */
export function panelOf(dog) {
  const root = document.createElement("div");
  root.className = "living";
  root.setAttribute("role", "group");
  root.setAttribute("aria-label", dog.title);
  root.innerHTML = INSIDE;
  const part = (selector) => root.querySelector(selector);
  const list = part("[role=listbox]");
  const unseen = part(".living-unseen");
  const places = new Map();
  made++;
  for (const zone of dog.working.map((index) => dog.zones[index])) {
    const place = document.createElement(zone.ring ? "div" : "button");
    if (zone.ring) place.setAttribute("role", "option");
    else place.type = "button";
    place.id = `living-${made}-${zone.key}`;
    place.dataset.zone = zone.key;
    (zone.ring ? list : unseen.querySelector(".buttons")).append(place);
    places.set(zone, place);
  }
  unseen.hidden = [...places.keys()].every((zone) => zone.ring);
  part(".living-strip").innerHTML = dog.strip;
  const slider = part("input[type=range]");
  slider.min = dog.first - dog.today;
  slider.max = dog.last - dog.today;
  const button = (name) => part(`[data-act=${name}]`);
  return {
    root,
    list,
    places,
    slider,
    stage: part(".living-stage"),
    said: part(".living-said").children,
    more: part(".living-more"),
    unread: part(".living-unread"),
    legend: part(".living-legend"),
    select: part("select"),
    buttons: Object.fromEntries(BUTTONS.map((name) => [name, button(name)])),
    fields: {
      day: part("[name=day]"),
      by: part("[name=by]"),
      zone: part("[name=zone]"),
    },
  };
}

/** Put words into an element, unless it says them already: a screen reader would say them again. */
export function write(element, words) {
  if (element.textContent !== words) element.textContent = words;
}
