// Finds dogs, shows and people while one types, from one small index that is fetched when the field is entered.
// Without this script the field is a plain form. The pattern is that of the WAI-ARIA combobox with a list.

const SHOWN = 8;
const LETTERS = { ß: "ss", æ: "ae", œ: "oe", ø: "o", ł: "l", đ: "d", ð: "d", þ: "th", ı: "i" };
const PLACES = { dogs: (id) => `/dogs/${encodeURIComponent(id)}`, shows: (id) => `/shows#${id}`, people: (id) => `/people#${id}` };
const KINDS = { dogs: "", shows: "show", people: "person" };

/** The words of a text in small letters without accents. */
export function folded(text) {
	const plain = text.toLowerCase().replace(/[ßæœøłđðþı]/gu, (letter) => LETTERS[letter]);
	return plain.normalize("NFD").replace(/\p{M}|['’]/gu, "").split(/[^\p{L}\p{N}]+/u).filter(Boolean);
}

/** The rows of an index with their words, ready to be looked through. */
export function prepared(index) {
	return Object.keys(PLACES).flatMap((kind) =>
		(index[kind] ?? []).map(([id, name, beside, more]) => {
			const named = folded(name);
			return { kind, id, name, beside, named, words: [...named, ...folded(`${beside} ${more}`)] };
		}),
	);
}

/** Rows of which every word sought begins a word; those found by name first. */
export function found(rows, query) {
	const parts = folded(query);
	if (!parts.length) return [];
	const begins = (words) => parts.every((part) => words.some((word) => word.startsWith(part)));
	const hits = rows.filter((row) => begins(row.words));
	return [...hits.filter((row) => begins(row.named)), ...hits.filter((row) => !begins(row.named))];
}

class Finder {
	constructor(form) {
		this.form = form;
		this.field = form.querySelector("input[type=search]");
		this.list = document.createElement("ul");
		this.list.id = "find-list";
		this.list.hidden = true;
		this.list.setAttribute("role", "listbox");
		this.list.setAttribute("aria-label", "Found");
		this.said = document.createElement("p");
		this.said.className = "hidden";
		this.said.setAttribute("aria-live", "polite");
		form.append(this.list, this.said);
		const field = this.field;
		for (const [name, value] of [["role", "combobox"], ["aria-expanded", "false"], ["aria-controls", "find-list"], ["aria-autocomplete", "list"]]) {
			field.setAttribute(name, value);
		}
		field.addEventListener("focus", () => this.fetch());
		field.addEventListener("input", () => this.show());
		field.addEventListener("keydown", (event) => this.press(event));
		field.addEventListener("blur", () => this.close());
		this.list.addEventListener("pointerdown", (event) => event.preventDefault());
		this.list.addEventListener("click", (event) => this.open(event.target.closest("[role=option]")));
		if (document.activeElement === field) this.fetch();
	}

	async fetch() {
		if (this.asked) return;
		this.asked = true;
		try {
			const answer = await fetch(this.form.dataset.index, { headers: { accept: "application/json" } });
			if (!answer.ok) throw new Error(`${answer.status}`);
			this.rows = prepared(await answer.json());
			if (document.activeElement === this.field) this.show();
		} catch {
			this.asked = false; // the plain form still finds
		}
	}

	show() {
		const query = this.field.value;
		if (!this.rows || !folded(query).length) return this.close();
		const hits = found(this.rows, query);
		const dogs = hits.filter((row) => row.kind === "dogs").length;
		const options = hits.slice(0, SHOWN).map((row, number) => this.option(row, number));
		if (hits.length > SHOWN && dogs) {
			options.push(this.option({ place: `/dogs?q=${encodeURIComponent(query)}`, name: `all ${dogs} dogs`, beside: "" }, SHOWN));
		}
		this.list.replaceChildren(...options);
		if (!hits.length) this.list.append(this.nothing(query));
		this.list.hidden = false;
		this.field.setAttribute("aria-expanded", String(hits.length > 0));
		this.choose(hits.length === 1 ? 0 : -1);
		this.said.textContent = hits.length === 1 ? "1 found" : `${hits.length || "none"} found`;
	}

	option(row, number) {
		const line = document.createElement("li");
		line.id = `find-${number}`;
		line.setAttribute("role", "option");
		line.dataset.place = row.place ?? PLACES[row.kind](row.id);
		const name = document.createElement("b");
		name.textContent = row.name;
		const beside = document.createElement("span");
		beside.textContent = [KINDS[row.kind], row.beside].filter(Boolean).join(", ");
		line.append(name, " ", beside);
		return line;
	}

	nothing(query) {
		const line = document.createElement("li");
		line.className = "nothing";
		line.setAttribute("role", "option");
		line.setAttribute("aria-disabled", "true");
		line.textContent = `Nothing begins with “${query.trim()}”: names, patterns, owners, handlers and shows are looked through.`;
		return line;
	}

	get options() {
		return [...this.list.querySelectorAll("[role=option]:not([aria-disabled])")];
	}

	choose(number) {
		this.at = number;
		this.options.forEach((line, k) => line.setAttribute("aria-selected", String(k === number)));
		const line = this.options[number];
		if (line) {
			this.field.setAttribute("aria-activedescendant", line.id);
			line.scrollIntoView({ block: "nearest" });
		} else this.field.removeAttribute("aria-activedescendant");
	}

	press(event) {
		if (event.isComposing || event.ctrlKey || event.metaKey || event.altKey) return;
		const count = this.list.hidden ? 0 : this.options.length;
		if (event.key === "Escape") {
			if (this.list.hidden && !this.field.value) this.field.blur();
			else if (!this.list.hidden) {
				this.close();
				event.preventDefault();
			}
		} else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
			event.preventDefault();
			if (this.list.hidden) this.show();
			else if (count) {
				const step = event.key === "ArrowDown" ? 1 : -1;
				this.choose(this.at < 0 && step < 0 ? count - 1 : (this.at + step + count) % count);
			}
		} else if (event.key === "Enter" && count && this.at >= 0) {
			event.preventDefault();
			this.open(this.options[this.at]);
		}
	}

	open(line) {
		if (!line?.dataset.place) return;
		this.close();
		this.field.blur();
		location.assign(line.dataset.place);
	}

	close() {
		this.list.hidden = true;
		this.at = -1;
		this.field.setAttribute("aria-expanded", "false");
		this.field.removeAttribute("aria-activedescendant");
	}
}

for (const form of document.querySelectorAll("form.find")) new Finder(form);
