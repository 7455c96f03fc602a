// Who is working: chosen by name, with a PIN where the desk asks for one. A PIN is checked by the desk, so it needs the
// network that once; a name without one can be chosen at any time.

import { app, chooseGroomer, render } from "./app.js";
import { h } from "./dom.js";
import { keep, recall } from "./store.js";

const DIGITS = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "", "0", "⌫"];
const MOST = 8;
const entry = { person: "", pin: "", told: "", asking: false };

/** The people that the desk last told of, or the names in the day's list. */
export const people = () =>
  app.people?.length ? app.people : (app.bundle?.groomers ?? []).map((name) => ({ id: "", name, pin: false }));

/** Ask the desk who there is; without a network the last answer counts. */
export async function hearPeople() {
  app.people ??= await recall("people");
  try {
    const answer = await fetch("/table/who", { cache: "no-store", signal: AbortSignal.timeout(10_000) });
    if (!answer.ok) return;
    const { people: found, who, tablet } = await answer.json();
    Object.assign(app, { people: found, named: tablet });
    await keep("people", found);
    await keep("named", tablet);
    const only = found.length === 1 && !found[0].pin ? found[0].name : "";
    const name = found.find(({ id }) => id === who)?.name ?? only;
    if (name && !app.groomer) await chooseGroomer(name);
    render();
  } catch {
    // without a network nothing new is known
  }
}

export function groomerLine() {
  const known = people();
  if (!known.length) return null;
  return h(
    "fieldset.groomers",
    {},
    h("legend", {}, "Who is working"),
    known.map((person, k) =>
      h(
        `button#groomer-${k}`,
        { "aria-pressed": String(person.name === app.groomer), onclick: () => choose(person) },
        person.name,
      ),
    ),
  );
}

function choose(person) {
  if (person.name === app.groomer) return;
  if (!person.pin) {
    if (person.id) tell(person, ""); // who is under no people is known by the name alone
    chooseGroomer(person.name);
    return;
  }
  Object.assign(entry, { person: person.id, pin: "", told: "" });
  location.hash = `#who/${encodeURIComponent(person.id)}`;
}

/** Let the desk know; it says whether the PIN is right. */
async function tell(person, pin) {
  try {
    const answer = await fetch("/table/who", {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ person: person.id, pin }),
      signal: AbortSignal.timeout(10_000),
    });
    if (answer.ok) return "";
    const problem = await answer.json().catch(() => ({}));
    return [problem.what, problem.remedy].filter(Boolean).join(" ") || `The desk answered ${answer.status}.`;
  } catch {
    return "The salon's computer does not answer. A PIN needs it once; work on under the last name until then.";
  }
}

/** The keypad of one person. */
export function pinView(id) {
  const person = people().find((each) => each.id === id);
  if (!person) return [h("p.ways", {}, h("a.big#to-day", { href: "#" }, "The day's dogs"))];
  if (entry.person !== id) Object.assign(entry, { person: id, pin: "", told: "" });
  return [
    h("header.mast", {}, h("a.back#back", { href: "#" }, "Day"), h("p.who", {}, h("span.light", {}, "PIN"))),
    h("h1", {}, person.name),
    h("p.pin", { role: "status", "aria-label": `${entry.pin.length} digits` }, "●".repeat(entry.pin.length) || "PIN"),
    entry.told && h("p.stop", { role: "alert" }, entry.told),
    h(
      "div.keypad",
      {},
      DIGITS.map((digit) =>
        digit
          ? h(
              `button.step#digit-${digit === "⌫" ? "back" : digit}`,
              { "aria-label": digit === "⌫" ? "Take the last digit back" : digit, onclick: () => press(digit) },
              digit,
            )
          : h("span"),
      ),
    ),
    h(
      "button.log#pin-done",
      { disabled: entry.pin.length < 4 || entry.asking, onclick: () => done(person) },
      h("b", {}, "Work"),
    ),
  ];
}

function press(digit) {
  entry.pin = digit === "⌫" ? entry.pin.slice(0, -1) : (entry.pin + digit).slice(0, MOST);
  entry.told = "";
  render();
}

async function done(person) {
  entry.asking = true;
  render();
  const told = await tell(person, entry.pin);
  Object.assign(entry, { asking: false, pin: "", told });
  if (told) return render();
  await chooseGroomer(person.name);
  location.hash = "";
  return undefined;
}
