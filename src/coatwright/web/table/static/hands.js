// How tired the hands are by now: what a groomer has pulled today, against what hands stand (common practice).

import { app } from "./app.js";
import { h, minutes } from "./dom.js";
import { pullingMs, tableMs } from "./times.js";

/** Minutes that a groomer has pulled today: by this tablet where it has the dog's visit, else by the desk's records. */
function handsMinutes(bundle, visits, groomer, now) {
  const here = new Set(visits.map((visit) => visit.dog));
  const own = visits.filter((visit) => visit.groomer === groomer);
  const ms = own.reduce((sum, visit) => sum + Math.min(tableMs(visit, now), pullingMs(visit, now)), 0);
  const desk = bundle.hands.pulled.filter(([dog, who]) => who === groomer && !here.has(dog));
  return ms / 60_000 + desk.reduce((sum, [, , minutes]) => sum + minutes, 0);
}

/** What is pulled by now; with `always` also while it is little. */
export function handsLine(always = false) {
  const { hands } = app.bundle;
  const spent = handsMinutes(app.bundle, app.visits, app.groomer, Date.now());
  const level = spent >= hands.stop ? "stop" : spent >= hands.tire ? "caution" : "";
  if (spent < 1 || !(always || level)) return null;
  const text = {
    stop: "beyond what hands stand in a day: stop",
    caution: "hands tire from here on: breaks, another grip",
  }[level];
  return h(
    `p.hands${level ? `.${level}` : ""}`,
    {},
    h("span.caps", {}, app.groomer ? `Hands of ${app.groomer}` : "Hands"),
    ` ${minutes(spent * 60_000)} pulled, ${text ?? `of ${Math.round(hands.tire / 60)} h before hands tire`}.`,
  );
}
