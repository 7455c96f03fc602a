// Photos of the last visits, small, kept on the tablet: what a zone looked like before.

import { app, render } from "./app.js";
import { h } from "./dom.js";
import { keep, read, recall, write } from "./store.js";

const PREFIX = "photo|";

/** Bring the photos that the day's list names, one after the other, and let go of those that it no longer names. */
export async function bringPhotos() {
  const wanted = new Set(app.bundle?.dogs.flatMap((dog) => dog.photos.map(({ photo }) => photo)) ?? []);
  await recallPhotos(wanted);
  for (const photo of wanted) {
    if (app.album[photo]) continue;
    try {
      const answer = await fetch(`/photos/${photo}?small`, { signal: AbortSignal.timeout(20_000) });
      if (!answer.ok) continue;
      app.album[photo] = await asText(await answer.blob());
      await keep(PREFIX + photo, app.album[photo]);
      render();
    } catch {
      return; // without a network: the next time
    }
  }
}

async function recallPhotos(wanted) {
  const names = await read("kept", ({ kept }) => kept.keys());
  for (const name of names.filter((each) => each.startsWith(PREFIX))) {
    const photo = name.slice(PREFIX.length);
    if (wanted.has(photo)) app.album[photo] ??= await recall(name);
    else await write("kept", ({ kept }) => kept.drop(name));
  }
}

/** As the page's policy lets a picture in: its bytes within its address. */
const asText = (blob) =>
  new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => resolve(reader.result);
    reader.onerror = () => reject(reader.error);
    reader.readAsDataURL(blob);
  });

/** The photos of a zone, and those of the whole dog. */
export function album(plan, zone) {
  const shown = plan.photos.filter((each) => app.album[each.photo] && (each.zone === zone.key || !each.zone));
  return shown.map(({ photo, zone: of, on }) =>
    h(
      "figure.photo",
      {},
      h("img", { src: app.album[photo], alt: `${of ? zone.name : plan.name} on ${on}` }),
      h("figcaption", {}, `${of ? zone.name : "Whole dog"}, ${on}`),
    ),
  );
}
