// What zones can be shaded by, and a zone in words.

import { lastPull, standing } from "./law.js";

/** The scale of time since a pull ends here: three months. */
const OLD_DAYS = 84;
/** Outlines are told to the millimetre: less than half of one beyond its aim is within it. */
const NEAR_MM = 0.5;

/** An outline below, within or above its aim: -1, 0, 1. */
const side = (outline, [low, high]) => (outline > high + NEAR_MM) - (outline < low - NEAR_MM);
const percent = (share) => `${Math.round(100 * share)} %`;
const within = (value) => Math.min(Math.max(value, 0), 1);

/**
 * Per quantity: what the scale is `of`, its two `ends`, a `note` of a day where there is one, and `value(zone, day)`,
 * [place on the scale 0..1, text], or nothing where a zone has none.
 */
export function quantitiesOf(dog, words) {
  const takes = dog.zones.flatMap((zone) => zone.takes);
  const most = Math.max(50, ...takes.map((take) => take.percent));
  const next = (day) => Math.min(...takes.map((take) => take.day).filter((visit) => visit >= day));
  return {
    take: {
      of: "Take, share of the zone's hairs",
      note: (day) => (next(day) < Infinity ? `on ${words.date(next(day))}` : "no visit after this day"),
      ends: ["0 %", `${Math.round(most)} %`],
      value(zone, day) {
        const take = zone.takes.find((one) => one.day === next(day));
        return take && [take.percent / most, `${Math.round(take.percent)} %`];
      },
    },
    cover: {
      of: "Cover, share of the hairs above the skin",
      ends: ["0 %", "100 %"],
      value(zone, day) {
        if (!zone.read) return null;
        const { cover } = standing(zone, day);
        return [cover, percent(cover)];
      },
    },
    outline: {
      of: `Outline against its aim, ${words.unit} (the middle third is in aim)`,
      ends: ["shorter", "longer"],
      value(zone, day) {
        if (!zone.read || !zone.aim) return null;
        const { outline } = standing(zone, day);
        const [low, high] = zone.aim;
        const text = [`−${words.bare(low - outline)}`, "in aim", `+${words.bare(outline - high)}`];
        // The aim takes the middle third of the scale.
        return [within(((outline - low) / (high - low) + 1) / 3), text[1 + side(outline, zone.aim)]];
      },
    },
    age: {
      of: "Time since the last pull",
      ends: ["0", `${OLD_DAYS / 7} weeks or more`],
      value(zone, day) {
        const pull = lastPull(zone, day, dog.today);
        if (!pull) return null;
        const days = day - pull.day;
        return [within(days / OLD_DAYS), days < 14 ? `${days} d` : `${Math.round(days / 7)} wk`];
      },
    },
  };
}

/** A zone on a day in words. */
export function spoken(zone, day, dog, words) {
  const { name, aim } = zone;
  if (!zone.growth) return `${name}: not known`;
  if (!zone.read) return `${name}: not read yet, drawn as it should be`;
  const { outline, cover } = standing(zone, day);
  const parts = [];
  if (cover) parts.push(`outline ${words.length(outline)}`, `cover ${words.share(cover)}`);
  else parts.push("bare");
  if (aim) {
    const where = ["below", "within", "above"][1 + side(outline, aim)];
    parts.push(`${where} the aim of ${words.bare(aim[0])}–${words.length(aim[1])}`);
  }
  const pull = lastPull(zone, day, dog.today);
  if (pull) {
    const days = day - pull.day;
    const when = days ? `${days} ${days === 1 ? "day" : "days"} before` : "on this day";
    parts.push(`pulled ${pull.percent ? `${words.share(pull.percent / 100)} ` : ""}${when}`);
  }
  return `${name}: ${parts.join(", ")}`;
}
