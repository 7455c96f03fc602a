// Taps on the scales, sent one after the other: what is tapped before the answer waits for it, and none is lost.
// A tap that the desk does not answer is said to be late and sent again; sent twice it counts once.
// Without this script the scales are plain forms.

const AGAIN_MS = 2500;
const waiting = [];
let busy = false;

function late(count) {
	const place = document.getElementById("readings");
	let line = document.getElementById("late");
	if (!count) return line?.remove();
	if (!line && place) {
		line = document.createElement("p");
		line.id = "late";
		line.className = "caution late";
		line.setAttribute("role", "alert");
		place.prepend(line);
	}
	if (line) line.textContent = `Not kept yet: the desk does not answer. ${count === 1 ? "The tap is" : `${count} taps are`} sent again.`;
	return undefined;
}

/** Send one tap; whether the desk answered it. */
async function send({ action, values }) {
	try {
		const answer = await fetch(action, { method: "POST", headers: { "HX-Request": "true" }, body: new URLSearchParams(values) });
		if (answer.status >= 500) return false;
		show(await answer.text(), answer);
		return true;
	} catch {
		return false;
	}
}

/** Put the answer in the place of what is there; the button that has the focus keeps it. */
function show(text, answer) {
	const fresh = new DOMParser().parseFromString(text, "text/html").getElementById("readings");
	const old = document.getElementById("readings");
	if (!fresh || !old) return location.reload();
	const kept = document.activeElement?.id;
	const details = [...old.querySelectorAll("details")].map((each) => each.open);
	old.replaceWith(fresh);
	fresh.querySelectorAll("details").forEach((each, k) => (each.open = details[k] ?? false));
	window.htmx?.process(fresh);
	if (kept) document.getElementById(kept)?.focus({ preventScroll: true });
	if (!answer.ok) fresh.querySelector("#error")?.scrollIntoView({ block: "center" });
	return undefined;
}

async function work() {
	if (busy) return;
	busy = true;
	while (waiting.length) {
		if (await send(waiting[0])) waiting.shift();
		else {
			late(waiting.length);
			await new Promise((resolve) => setTimeout(resolve, AGAIN_MS));
		}
	}
	late(0);
	busy = false;
}

document.addEventListener("submit", (event) => {
	const form = event.target;
	if (!(form instanceof HTMLFormElement) || !form.matches(".taps")) return;
	event.preventDefault();
	const button = event.submitter;
	waiting.push({ action: form.action, values: [...new FormData(form, button)] });
	if (button?.hasAttribute("aria-pressed")) button.setAttribute("aria-pressed", String(button.getAttribute("aria-pressed") !== "true"));
	work();
});

window.addEventListener("beforeunload", (event) => {
	if (waiting.length) event.preventDefault();
});
