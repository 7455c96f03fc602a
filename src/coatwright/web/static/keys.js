// Single keys. What each does stands in the list of keys that the page brings along; this script obeys that list.
// Left out of the page when the settings switch keys off (WCAG 2.2, 2.1.4).

const WAIT_MS = 1500; // between the two keys of a pair
const TYPED = "input:not([type=checkbox], [type=radio], [type=range], [type=button], [type=submit]), textarea, select, [contenteditable], [role=combobox], [role=textbox], [role=listbox]";

const dialog = document.getElementById("keys-dialog");
const list = document.querySelector(".keylist");
const ways = new Map();
for (const row of list?.querySelectorAll("[data-press]") ?? []) ways.set(row.dataset.press, row.dataset.go);

let first = "";
let since = 0;

function address(go) {
	if (!go.startsWith("dog")) return go;
	const dog = document.body.dataset.dog;
	return dog ? dog + go.slice("dog".length) : "";
}

function open(go) {
	const place = address(go);
	if (place) location.assign(place);
	return Boolean(place);
}

/** Where j and k lead: the dogs of the lists on this page, from top to bottom. */
function step(by) {
	const links = [...document.querySelectorAll("[data-list] a.big")].filter((link) => link.checkVisibility());
	if (!links.length) return false;
	const at = links.indexOf(document.activeElement);
	const next = links[at < 0 ? (by > 0 ? 0 : links.length - 1) : Math.min(Math.max(at + by, 0), links.length - 1)];
	next.focus();
	next.scrollIntoView({ block: "nearest" });
	return true;
}

function pressed(key) {
	const pair = first && performance.now() - since < WAIT_MS ? `${first} ${key}` : "";
	first = "";
	if (pair && ways.has(pair)) return open(ways.get(pair));
	if ([...ways.keys()].some((keys) => keys.startsWith(`${key} `))) {
		first = key;
		since = performance.now();
		return true;
	}
	if (key === "?") {
		if (dialog) dialog.open ? dialog.close() : dialog.showModal();
		return Boolean(dialog);
	}
	if (key === "/") {
		const field = document.getElementById("find");
		field?.focus();
		field?.select();
		return Boolean(field);
	}
	if (key === "j" || key === "k") return step(key === "j" ? 1 : -1);
	const within = document.activeElement?.matches("[data-list] a.big");
	if (within && (key === "ArrowDown" || key === "ArrowUp")) return step(key === "ArrowDown" ? 1 : -1);
	return ways.has(key) && open(ways.get(key));
}

document.addEventListener("keydown", (event) => {
	if (event.defaultPrevented || event.isComposing || event.repeat && !/^(j|k|Arrow)/.test(event.key)) return;
	if (event.ctrlKey || event.metaKey || event.altKey) return;
	if (event.target instanceof Element && event.target.closest(TYPED)) return;
	if (document.querySelector("dialog:modal") && event.key !== "?") return;
	if (["Shift", "CapsLock", "AltGraph", "Dead"].includes(event.key)) return;
	if (pressed(event.key)) event.preventDefault();
});
