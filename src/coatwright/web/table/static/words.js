// What a take does, in sentences.

import { afterTake, spared } from "./model.js";
import { listed, percent } from "./dom.js";

const GRAVE = ["", "note", "caution", "stop"];
/** A shortfall of 2 % cannot be seen; where the plan itself asks for it, it is not told. */
const SLIGHT = 0.02;

/** { level, text } or null: what to know of a take before it is logged. */
export function warningOf(zone, visit, share, bundle) {
  const { before, after } = afterTake(zone, visit.ordinal, share);
  const said = [];
  let level = "";
  const worse = (to) => (level = GRAVE.indexOf(to) > GRAVE.indexOf(level) ? to : level);
  if (zone.cap < 1 && share > zone.cap + 1e-9) {
    worse("caution");
    said.push(`Tender: never more than ${percent(zone.cap)} at a visit.`);
  }
  if (after < zone.welfare - 1e-9 && share > 0) {
    worse("stop");
    said.push(
      `Only ${percent(after)} cover would be left: without an undercoat never below ${percent(zone.welfare)}.`,
    );
  } else if (share > 0 && after < zone.look - (share > zone.planned + 0.025 ? 1e-9 : SLIGHT + 1e-9)) {
    worse("caution");
    said.push(`${percent(after)} cover is less than the ${percent(zone.look)} that this coat is held to.`);
  }
  if (after < bundle.bare - 1e-9 && before >= bundle.bare - 1e-9) {
    worse("caution");
    said.push("Skin will show: it burns and chills.");
  }
  const spare = sparedText(zone, visit, share);
  if (spare) {
    worse("note");
    said.push(spare);
  }
  return said.length ? { level, text: said.join(" ") } : null;
}

/** Which coming visits leave more of the zone alone because of what is taken now. */
export function sparedText(zone, visit, share) {
  const found = spared(zone, visit.ordinal, share);
  if (!found.length) {
    const extra = share - zone.planned;
    return extra >= 0.025 ? `${percent(extra)} more than planned; no coming visit takes this zone.` : "";
  }
  const day = (number) => visit.plan.coming.find(([each]) => each === number)?.[1] ?? "later";
  const parts = found
    .slice(0, 3)
    .map(({ day: on, left }) => (left > 0.025 ? `${day(on)} takes only ${percent(left)}` : `${day(on)} spares it`));
  return `More than planned: ${listed(parts)}. The desk plans it anew.`;
}

/** The dog's and the hands' limits: [text, level] each. */
export function limitOf(ms, limitMinutes) {
  const part = ms / 60_000 / limitMinutes;
  return part >= 1 ? "stop" : part >= 0.9 ? "caution" : "";
}
