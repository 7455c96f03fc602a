// The grid of a plan worked by keys: + and - change a take by 5 %, Delete lets the plan choose it again.
// Each sends the form that stands hidden under the grid, as the buttons below it would, and one after the other:
// what is pressed before the answer waits for it, so that the last key has the last word.

const STEP = 5;

let busy = false;
let waiting = null;
let held = ""; // id of the cell last changed, to be gone on with when the plan took long and the page was another meanwhile

function send(change) {
	const form = document.getElementById("by-hand");
	if (!form) return;
	for (const [name, value] of Object.entries(change)) form.elements[name].value = value;
	busy = true;
	form.requestSubmit();
}

function press(link, share) {
	const [, zone, day] = link.id.match(/^c-(.+)-(\d{4}-\d\d-\d\d)$/);
	held = link.id;
	const change = { zone, day, share: share ?? "", act: share === null ? "free" : "fix" };
	if (share !== null) link.dataset.take = share; // pressing twice before the answer counts twice
	if (busy) waiting = change;
	else send(change);
}

function answered() {
	if (!busy) return;
	busy = false;
	const next = waiting;
	waiting = null;
	if (next) send(next);
}

document.addEventListener("keydown", (event) => {
	if (event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return;
	const link = event.target instanceof Element ? event.target.closest(".grid a[data-take]") : null;
	if (!link) return;
	const take = Number(link.dataset.take);
	const most = Math.max(Number(link.dataset.most), take);
	if (event.key === "+" || event.key === "=") press(link, Math.min(take - (take % STEP) + STEP, most));
	else if (event.key === "-") press(link, Math.max(Math.ceil(take / STEP) * STEP - STEP, 0));
	else if ((event.key === "Delete" || event.key === "Backspace") && "fixed" in link.dataset) press(link, null);
	else return;
	event.preventDefault();
});

document.addEventListener("htmx:afterSettle", () => {
	if (document.activeElement !== document.body) return;
	document.getElementById(held)?.focus({ preventScroll: true });
});

document.addEventListener("focusin", (event) => {
	if (event.target.id !== held) held = "";
});

for (const end of ["htmx:afterSettle", "htmx:sendError", "htmx:sendAbort", "htmx:responseError"]) {
	document.addEventListener(end, answered);
}
