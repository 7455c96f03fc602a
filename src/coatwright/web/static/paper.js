// The paper test: photos dropped or chosen, the photo enlarged and moved, hairs picked and put right without
// leaving the place. Without this script all of it are plain links and forms.

const MOST_BYTES = 39e6;
const MOST_AT_ONCE = 24; // photos in one request
const REACH_PX = 26; // a tap this far from a line still picks it
const STEP = 1.5;
const MOST = 16;
const NEAR = 3.5; // from this enlargement on, lines let the hair under them be seen

// photos on their way in --------------------------------------------------------------------------------------

/** All photos of a form: chosen, dropped and taken. */
function files(form) {
	return [...form.querySelectorAll("input[type=file]")].flatMap((input) => [...input.files]);
}

function names(form) {
	const list = form.querySelector(".chosen-files");
	const all = files(form);
	const large = all.filter((file) => file.size > MOST_BYTES);
	list.replaceChildren(
		...(all.length > 1 || large.length ? all : []).map((file) => {
			const line = document.createElement("li");
			line.textContent = `${file.name}, ${(file.size / 1e6).toFixed(1)} MB`;
			if (file.size > MOST_BYTES) line.textContent += ": too large, 39 MB are the most. Set the camera to 12 megapixels.";
			return line;
		}),
	);
	form.querySelector("input[type=file]").setCustomValidity(large.length ? "A photo is larger than 39 MB." : "");
}

for (const zone of document.querySelectorAll("[data-drop]")) {
	const form = zone.closest("form");
	const input = zone.querySelector("input[type=file]");
	let inside = 0;
	const over = (by) => {
		inside = Math.max(0, inside + by);
		zone.classList.toggle("over", inside > 0);
	};
	zone.addEventListener("dragenter", (event) => (event.preventDefault(), over(1)));
	zone.addEventListener("dragleave", () => over(-1));
	zone.addEventListener("dragover", (event) => event.preventDefault());
	zone.addEventListener("drop", (event) => {
		event.preventDefault();
		over(-inside);
		const all = new DataTransfer();
		const fresh = [...event.dataTransfer.files].filter((file) => file.size);
		for (const file of input.multiple ? [...input.files, ...fresh] : fresh.slice(0, 1)) all.items.add(file);
		input.files = all.files;
		names(form);
	});
	zone.addEventListener("change", () => names(form));
}

/** Take a photo out of the form. */
function takeOut(form, file) {
	for (const input of form.querySelectorAll("input[type=file]")) {
		const all = [...input.files];
		if (!all.includes(file)) continue;
		const left = new DataTransfer();
		for (const each of all) if (each !== file) left.items.add(each);
		input.files = left.files;
	}
	names(form);
}

/** Several photos that are too much for one request go one after the other, and are read as one batch. */
for (const form of document.querySelectorAll("form[data-send]")) {
	form.addEventListener("submit", async (event) => {
		const said = form.querySelector(".sending");
		const all = files(form);
		if (form.dataset.sending) return event.preventDefault();
		said.textContent = all.length > 1 ? "The photos are being sent." : "The photo is being sent.";
		const few = all.length <= MOST_AT_ONCE && all.reduce((sum, file) => sum + file.size, 0) < MOST_BYTES;
		if (few && !form.dataset.batch) return undefined; // else what was sent before goes with it
		event.preventDefault();
		form.dataset.sending = "yes";
		form.dataset.batch ??= crypto.randomUUID?.() ?? `b${Date.now()}-${Math.random().toString(36).slice(2, 10)}`;
		let place = "";
		for (const [k, file] of all.entries()) {
			said.textContent = `Photo ${k + 1} of ${all.length} is being sent.`;
			const values = new FormData(form);
			values.delete("photo");
			values.append("photo", file, file.name);
			values.append("batch", form.dataset.batch);
			try {
				const answer = await fetch(form.action, { method: "POST", body: values });
				if (!answer.ok) throw new Error(String(answer.status));
				const reading = answer.url.match(/\/paper\/reading\/([^/?#]+)/);
				if (reading) form.dataset.batch = decodeURIComponent(reading[1]);
				place = reading || !place ? answer.url : place;
			} catch {
				const before = { 0: "", 1: " The one before it was, and is no longer in the form." };
				const taken = before[k] ?? ` The ${k} before it were, and are no longer in the form.`;
				said.textContent = `${file.name} was not taken.${taken} Send it again${k + 1 < all.length ? ", with the rest" : ""}.`;
				delete form.dataset.sending;
				return undefined;
			}
			takeOut(form, file);
		}
		delete form.dataset.sending;
		delete form.dataset.batch;
		location.assign(place);
		return undefined;
	});
}

// the photo, larger and smaller -------------------------------------------------------------------------------

class Zoom {
	constructor(root) {
		this.root = root;
		this.pane = root.querySelector(".pane");
		this.ground = root.querySelector(".ground");
		this.scale = 1;
		root.querySelector(".tools").hidden = false;
		root.querySelector(".tools").addEventListener("click", (event) => this.press(event.target.closest("button")?.dataset.do));
		this.pane.addEventListener("keydown", (event) => this.key(event));
		this.pane.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
		this.pane.addEventListener("touchstart", (event) => this.pinchStart(event), { passive: true });
		this.pane.addEventListener("touchmove", (event) => this.pinch(event), { passive: false });
		window.addEventListener("resize", () => this.to(this.scale));
	}

	press(what) {
		if (what === "in") this.to(this.scale * STEP);
		else if (what === "out") this.to(this.scale / STEP);
		else if (what === "fit") this.to(1);
		else if (what === "lines") {
			const bare = this.root.classList.toggle("bare");
			this.root.querySelector("[data-do=lines]").setAttribute("aria-pressed", String(!bare));
		}
	}

	key(event) {
		if (event.ctrlKey || event.metaKey || event.altKey) return;
		const what = { "+": "in", "=": "in", "-": "out", "0": "fit" }[event.key];
		if (!what) return;
		event.preventDefault();
		event.stopPropagation();
		this.press(what);
	}

	wheel(event) {
		if (!event.ctrlKey && !event.metaKey) return;
		event.preventDefault();
		const box = this.pane.getBoundingClientRect();
		this.to(this.scale * Math.exp(-event.deltaY / 300), event.clientX - box.left, event.clientY - box.top);
	}

	pinchStart(event) {
		if (event.touches.length !== 2) return;
		this.pinched = { apart: apart(event.touches), scale: this.scale };
	}

	pinch(event) {
		if (event.touches.length !== 2 || !this.pinched) return;
		event.preventDefault();
		const box = this.pane.getBoundingClientRect();
		const [a, b] = event.touches;
		const by = apart(event.touches) / this.pinched.apart;
		this.to(this.pinched.scale * by, (a.clientX + b.clientX) / 2 - box.left, (a.clientY + b.clientY) / 2 - box.top);
	}

	/** Enlarge to a scale (1 fits), the point x, y of the pane staying where it is. */
	to(scale, x = this.pane.clientWidth / 2, y = this.pane.clientHeight / 2) {
		const before = this.ground.clientWidth;
		const left = (this.pane.scrollLeft + x) / before;
		const top = (this.pane.scrollTop + y) / before;
		this.scale = Math.min(Math.max(scale, 1), MOST);
		this.ground.style.width = this.scale === 1 ? "" : `${100 * this.scale}%`;
		const after = this.ground.clientWidth;
		this.pane.scrollLeft = left * after - x;
		this.pane.scrollTop = top * after - y;
		this.root.classList.toggle("near", this.scale >= NEAR);
	}

	/** Bring a part of the photo (its box in pixels of the photo) into view, enlarged where it is small. */
	show(box) {
		const wide = this.ground.querySelector("svg").viewBox.baseVal.width;
		const part = Math.max(box.width, (box.height * this.pane.clientWidth) / this.pane.clientHeight, wide / 60);
		const wanted = Math.min((0.6 * wide) / part, 6);
		if (this.scale < 1.01 || this.scale * part > 0.98 * wide) this.to(Math.max(wanted, 1));
		const unit = this.ground.clientWidth / wide;
		const left = (box.x + box.width / 2) * unit - this.pane.clientWidth / 2;
		const top = (box.y + box.height / 2) * unit - this.pane.clientHeight / 2;
		const inView =
			box.x * unit > this.pane.scrollLeft && (box.x + box.width) * unit < this.pane.scrollLeft + this.pane.clientWidth &&
			box.y * unit > this.pane.scrollTop && (box.y + box.height) * unit < this.pane.scrollTop + this.pane.clientHeight;
		if (!inView) this.pane.scrollTo({ left, top });
	}
}

function apart([a, b]) {
	return Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);
}

// the line nearest to a tap -----------------------------------------------------------------------------------

/** Points of a path of one start and relative straight steps, as the desk draws it. */
function points(d) {
	const numbers = d.match(/-?\d+/g).map(Number);
	const found = [[numbers[0], numbers[1]]];
	for (let k = 2; k + 1 < numbers.length; k += 2) {
		const [x, y] = found[found.length - 1];
		found.push([x + numbers[k], y + numbers[k + 1]]);
	}
	return found;
}

function distance(x, y, line) {
	let best = Infinity;
	for (let k = 1; k < line.length; k += 1) {
		const [ax, ay] = line[k - 1];
		const [bx, by] = line[k];
		const long = (bx - ax) ** 2 + (by - ay) ** 2;
		const part = long ? Math.min(Math.max(((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / long, 0), 1) : 0;
		best = Math.min(best, Math.hypot(x - ax - part * (bx - ax), y - ay - part * (by - ay)));
	}
	return best;
}

function nearest(event, svg) {
	const box = svg.getBoundingClientRect();
	const unit = svg.viewBox.baseVal.width / box.width;
	const x = (event.clientX - box.left) * unit;
	const y = (event.clientY - box.top) * unit;
	let found = null;
	let best = REACH_PX * unit;
	for (const link of svg.querySelectorAll("a[data-hair]")) {
		const off = distance(x, y, points(link.querySelector(".over").getAttribute("d")));
		if (off < best) [best, found] = [off, link];
	}
	return found;
}

// picking and putting right, in place -------------------------------------------------------------------------

const root = document.querySelector("[data-zoom]");
const zoom = root ? new Zoom(root) : null;
let line = Promise.resolve();

function shown(text) {
	const fresh = new DOMParser().parseFromString(text, "text/html");
	const kept = document.activeElement?.id;
	for (const old of document.querySelectorAll("[data-part]")) {
		const next = fresh.getElementById(old.id);
		if (!next) continue;
		const scroller = old.querySelector(".joins");
		const at = scroller?.scrollTop ?? 0;
		const open = [...old.querySelectorAll("details")].map((each) => each.open);
		old.hidden = next.hidden;
		if (old.innerHTML !== next.innerHTML) old.replaceChildren(...next.childNodes);
		old.querySelectorAll("details").forEach((each, k) => (each.open = open[k] ?? false));
		if (scroller) (old.querySelector(".joins") ?? {}).scrollTop = at;
	}
	tapping();
	if (kept && document.activeElement?.id !== kept) document.getElementById(kept)?.focus({ preventScroll: true });
}

async function ask(address, options) {
	try {
		const answer = await fetch(address, options);
		if (answer.status >= 500 || answer.status === 404) return location.assign(location.pathname);
		shown(await answer.text());
		if (answer.ok) history.replaceState(null, "", answer.url);
		document.querySelector("#trouble .stop")?.scrollIntoView({ block: "center" });
	} catch {
		const place = document.getElementById("trouble");
		place.innerHTML = '<div class="stop" role="alert"><p><strong class="caps">Not kept</strong> The desk does not answer. Try again.</p></div>';
	}
	return undefined;
}

function look() {
	const chosen = document.querySelector("#lines .chosen[data-hair] .over, #lines .doubt.chosen .ring");
	if (chosen && zoom) zoom.show(chosen.getBBox());
}

/** Cutting and joining by a tap: what the next tap on the photo does. */
let mending = "";

function mend(kind) {
	mending = kind;
	for (const button of document.querySelectorAll("[data-mend]")) button.setAttribute("aria-pressed", String(button.dataset.mend === kind));
	const said = document.querySelector(".tapping [role=status]");
	if (said) said.textContent = { split: "Tap the hair where it is to be cut.", join: "Tap the hair that it goes on in." }[kind] ?? "";
}

function mended(event, svg) {
	const form = document.querySelector(`.mending form:has([value=${mending}])`);
	const body = new URLSearchParams({ hair: form.elements.hair.value, kind: mending });
	if (mending === "split") {
		const box = svg.getBoundingClientRect();
		const unit = svg.viewBox.baseVal.width / box.width;
		body.set("x", ((event.clientX - box.left) * unit).toFixed(1));
		body.set("y", ((event.clientY - box.top) * unit).toFixed(1));
	} else {
		const other = nearest(event, svg);
		if (!other) return;
		body.set("other", String(Number(other.dataset.hair) + 1));
	}
	mend("");
	line = line.then(() => ask(form.action, { method: "POST", body })).then(tapping);
}

function tapping() {
	for (const place of document.querySelectorAll(".tapping")) place.hidden = false;
}

document.addEventListener("click", (event) => {
	const button = event.target.closest?.("[data-mend]");
	if (button) mend(button.dataset.mend === mending ? "" : button.dataset.mend);
});

document.addEventListener("click", (event) => {
	if (event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey) return undefined;
	const svg = event.target.closest?.("#lines svg");
	let link = event.target.closest?.("a[data-live]");
	if (svg && mending) {
		event.preventDefault();
		return mended(event, svg);
	}
	if (svg) {
		const doubt = event.target.closest("a[data-doubt]");
		link = doubt ?? nearest(event, svg);
		event.preventDefault();
	}
	if (!link) return undefined;
	event.preventDefault();
	mend("");
	const address = link.getAttribute("href");
	line = line.then(() => ask(address)).then(() => {
		if (!svg) look();
		else if (link.dataset.doubt) document.querySelector("#doubts .chosen")?.scrollIntoView({ block: "nearest" });
	});
	return undefined;
});

document.addEventListener("submit", (event) => {
	const form = event.target;
	if (!form.matches?.("form[data-live]")) return;
	event.preventDefault();
	const button = event.submitter;
	const body = new URLSearchParams([...new FormData(form, button)]);
	if (button?.hasAttribute("aria-pressed"))
		for (const each of form.querySelectorAll("[aria-pressed]")) each.setAttribute("aria-pressed", String(each === button));
	const waits = document.querySelectorAll("#verdict, #lengths");
	waits.forEach((part) => part.setAttribute("aria-busy", "true"));
	line = line.then(() => ask(form.action, { method: "POST", body })).then(() => waits.forEach((part) => part.removeAttribute("aria-busy")));
});

if (zoom) {
	tapping();
	look();
}
