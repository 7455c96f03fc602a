// Mounts the picture wherever a page asks for it by `data-coat`, the address of a parcel.

import { mountCoat } from "./coat.js";

async function mount(element) {
  // While it is on its way, `coat` is null: nobody mounts it twice.
  element.coat = null;
  const { coat, ...options } = element.dataset;
  try {
    const answer = await fetch(coat);
    if (!answer.ok) throw new Error(`${coat} answers ${answer.status}`);
    mountCoat(element, await answer.json(), options);
  } catch (error) {
    console.warn("The coat picture stays as it is.", error);
    plain(element);
  }
}

/** What the page shows without script does as well when the picture cannot be drawn. */
function plain(element) {
  for (const quiet of element.querySelectorAll("noscript")) quiet.outerHTML = quiet.textContent;
  element.querySelector(".living-wait")?.remove();
}

function start() {
  for (const element of document.querySelectorAll("[data-coat]")) {
    if (element.coat === undefined) mount(element);
  }
}

// At once where the place is there already: a long page is still being read below it.
start();
document.addEventListener("DOMContentLoaded", start);
document.addEventListener("htmx:load", start);
