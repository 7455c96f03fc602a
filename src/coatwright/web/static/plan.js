// The grid of a plan worked by keys: + and - change a take by 5 %, Delete lets the plan choose it again.
// Each sends the form that stands hidden under the grid, as the buttons below it would.

const STEP = 5;

function send(link, share) {
	const form = document.getElementById("by-hand");
	const [, zone, day] = link.id.match(/^c-(.+)-(\d{4}-\d\d-\d\d)$/);
	form.elements.zone.value = zone;
	form.elements.day.value = day;
	form.elements.share.value = share ?? "";
	form.elements.act.value = share === null ? "free" : "fix";
	if (share !== null) link.dataset.take = share; // so that pressing twice before the answer counts twice
	form.requestSubmit();
}

document.addEventListener("keydown", (event) => {
	if (event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return;
	const link = event.target instanceof Element ? event.target.closest(".grid a[data-take]") : null;
	if (!link) return;
	const take = Number(link.dataset.take);
	const most = Math.max(Number(link.dataset.most), take);
	if (event.key === "+" || event.key === "=") send(link, Math.min(take - (take % STEP) + STEP, most));
	else if (event.key === "-") send(link, Math.max(Math.ceil(take / STEP) * STEP - STEP, 0));
	else if ((event.key === "Delete" || event.key === "Backspace") && "fixed" in link.dataset) send(link, null);
	else return;
	event.preventDefault();
});
