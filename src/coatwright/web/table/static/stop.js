// The stop list: always one tap away; a sign, then what is done about it, with what is recorded of the zone.

import { act, app } from "./app.js";
import { once } from "./bounce.js";
import { h, percent } from "./dom.js";
import { leaveFor, stop } from "./ending.js";
import { isElsewhere } from "./visit.js";
import { dialledOf, forgetDialled } from "./zone.js";

/** The sign that was tapped, by visit; it is nothing until it is said what is done. */
const signs = {};

/** What a sign says of the dog, of the skin and of the hair. */
const SAYS = [{ skin: "red" }, { reaction: "flinched" }, { ease: "hard" }];

/** A sign in words of the zone; where something graver was said already, that stays. */
function saysOf(visit, zone, sign) {
  const { reactions, skins, eases } = app.bundle;
  const graver = { reaction: reactions, skin: skins.map(([word]) => word), ease: eases.map(([word]) => word) };
  const said = visit.zones[zone.key] ?? {};
  const words = Object.entries(SAYS[sign] ?? {}).map(([what, word]) => {
    const line = graver[what];
    return [what, line.indexOf(said[what]) > line.indexOf(word) ? said[what] : word];
  });
  return Object.fromEntries(words);
}

/** The zone that was logged last, for when none is in hand. */
function lastDone(visit) {
  const done = visit.order.filter((key) => visit.zones[key]?.done);
  const key = done.sort((a, b) => visit.zones[a].at - visit.zones[b].at).at(-1);
  return visit.plan.zones.find((zone) => zone.key === key);
}

/** What was pulled of a zone by what was said here: dialled, else logged; null where neither was. */
function soFarOf(visit, zone) {
  const logged = visit.zones[zone.key];
  return dialledOf(visit, zone) ?? (logged?.done ? logged.share : null);
}

/** The share that is recorded if the zone is left now, and why that. */
function recorded(visit, zone) {
  const share = soFarOf(visit, zone);
  if (dialledOf(visit, zone) !== undefined) return [percent(share), ", as dialled"];
  if (share !== null) return [percent(share), ", as logged"];
  if (isElsewhere(visit, zone.key)) return [percent(visit.elsewhere[zone.key]), ", as logged elsewhere"];
  return [percent(0), ": nothing was dialled. Some pulled already? Dial it first"];
}

export function stopPanel(visit, inHand) {
  const zone = inHand ?? lastDone(visit);
  const { stops, after_stop: after } = app.bundle;
  const chosen = signs[visit.key];
  const choose = (k) => {
    signs[visit.key] = chosen === k ? undefined : k;
    act(async () => {});
  };
  const [share, why] = zone ? recorded(visit, zone) : [];
  const name = zone?.name.toLowerCase();
  return [
    h(
      "div.choices",
      {},
      stops.map((sign, k) =>
        h(
          `button.choice#sign-${k}`,
          { "aria-pressed": String(chosen === k), onclick: () => choose(k) },
          h("b", {}, sign),
        ),
      ),
    ),
    h("p.lead", {}, after),
    zone && h("p.note#recorded", {}, h("span.caps", {}, `Recorded of the ${name}`), " ", h("b", {}, share), `${why}.`),
    chosen !== undefined &&
      h(
        "div.choices.two",
        {},
        zone &&
          h(
            "button.choice#leave-zone",
            { onclick: once("stop", () => leave(visit, zone, chosen)) },
            h("b", {}, `Leave the ${name}`),
            h("span.light", {}, `at ${share}, and go on`),
          ),
        h(
          "button.choice.grave#stop-dog",
          { onclick: once("stop", () => stopAll(visit, zone, chosen)) },
          h("b", {}, "Stop for today"),
          h("span.light", {}, zone ? `at ${share}; marks the dog unfit: a vet first` : "marks the dog unfit: a vet first"),
        ),
      ),
  ];
}

const leave = (visit, zone, sign) =>
  act(async () => {
    const made = await leaveFor(visit.key, zone.key, soFarOf(visit, zone), saysOf(visit, zone, sign));
    settled(visit, zone, "");
    return made;
  });

const stopAll = (visit, zone, sign) =>
  act(async () => {
    const place = zone ? `${zone.name.toLowerCase()}, at the table` : "at the table";
    const left = zone && { zone: zone.key, share: soFarOf(visit, zone), words: saysOf(visit, zone, sign) };
    const made = await stop(visit.key, `${app.bundle.stops[sign]} (${place})`, left);
    settled(visit, zone, "/finish");
    return made;
  });

function settled(visit, zone, part) {
  signs[visit.key] = undefined;
  if (zone) forgetDialled(visit, zone);
  location.hash = `#dog/${visit.dog}${part}`;
}
