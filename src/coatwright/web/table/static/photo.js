// A photo from the tablet's camera: made small enough to keep, named by its checksum.

import { act, app } from "./app.js";
import { h } from "./dom.js";
import { sha256 } from "./ids.js";
import { photograph } from "./visit.js";

const LONGEST = 2400;
const QUALITY = 0.85;

export function photoInput(visit, zone) {
  const input = h("input.hidden", {
    type: "file",
    accept: "image/*",
    capture: "environment",
    id: "photo",
    onchange: () => {
      const [file] = input.files;
      if (file) act(async () => photograph(visit.key, zone, await prepared(file)));
      input.value = "";
    },
  });
  return h(
    "label.extra.photo",
    { for: "photo" },
    input,
    h("b", {}, "Photo"),
    h("span", {}, visit.photos ? `${visit.photos} taken` : ""),
  );
}

/** At most 2400 px a side, upright, as JPEG; a picture that this browser cannot open goes as it is. */
async function prepared(file) {
  try {
    const picture = await createImageBitmap(file);
    const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(picture.width * scale);
    canvas.height = Math.round(picture.height * scale);
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
    return named(new Uint8Array(await blob.arrayBuffer()), "image/jpeg", canvas.width, canvas.height);
  } catch {
    return named(new Uint8Array(await file.arrayBuffer()), file.type || "application/octet-stream", 0, 0);
  }
}

const named = (bytes, type, width, height) => ({ sha: sha256(bytes), bytes, type, width, height });
