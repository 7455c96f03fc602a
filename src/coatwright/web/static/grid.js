// Arrow keys in the grid of a plan: one stop for Tab, then from cell to cell, as WAI-ARIA's grids are worked.
// Works with any table in `.grid` whose cells are links with ids `c-ZONE-DAY`; links in its head are a row as well.
// Enter opens a cell, since each is a link.

const CELL = "tbody a[id^='c-']";

/** The links of a table by rows and columns; a column without a link in a row is left empty. */
function rows(table) {
	return [...table.querySelectorAll("thead tr, tbody tr")]
		.map((row) => [...row.cells].map((cell) => cell.querySelector("a") ?? null))
		.filter((row) => row.some(Boolean));
}

function stops(table) {
	return rows(table).flat().filter(Boolean);
}

/** One cell can be reached with Tab: `keep`, or the one that could be before, or the first. */
function rove(table, keep) {
	const links = stops(table);
	const chosen = links.includes(keep) ? keep : (links.find((link) => link.id && link.id === table.dataset.at) ?? table.querySelector(CELL));
	for (const link of links) link.tabIndex = link === chosen ? 0 : -1;
	if (chosen?.id) table.dataset.at = chosen.id;
}

/** The next link from a place in a direction, over cells that have none; undefined at the edge. */
function beside(grid, y, x, dy, dx) {
	for (let row = y + dy, column = x + dx; grid[row] && column >= 0 && column < grid[row].length; row += dy, column += dx) {
		if (grid[row][column]) return grid[row][column];
	}
	return undefined;
}

function target(table, link, event) {
	const grid = rows(table);
	const y = grid.findIndex((row) => row.includes(link));
	const x = grid[y].indexOf(link);
	const whole = event.ctrlKey || event.metaKey;
	switch (event.key) {
		case "ArrowLeft": return beside(grid, y, x, 0, -1);
		case "ArrowRight": return beside(grid, y, x, 0, 1);
		case "ArrowUp": return beside(grid, y, x, -1, 0);
		case "ArrowDown": return beside(grid, y, x, 1, 0);
		case "Home": return (whole ? grid[0] : grid[y]).find(Boolean);
		case "End": return (whole ? grid.at(-1) : grid[y]).findLast(Boolean);
	}
	return undefined;
}

function set(root) {
	for (const table of root.querySelectorAll(".grid table")) if (table.querySelector(CELL)) rove(table);
}

document.addEventListener("keydown", (event) => {
	if (event.altKey || event.shiftKey || event.defaultPrevented) return;
	const link = event.target instanceof Element ? event.target.closest(".grid table a") : null;
	const table = link?.closest("table");
	if (!table || !/^(Arrow|Home$|End$)/.test(event.key)) return;
	if ((event.ctrlKey || event.metaKey) && event.key.startsWith("Arrow")) return;
	event.preventDefault(); // at the edge, too: the page must not scroll under the hand
	const next = target(table, link, event);
	if (!next) return;
	rove(table, next);
	next.focus({ preventScroll: true });
	next.scrollIntoView({ block: "nearest", inline: "nearest" });
});

document.addEventListener("focusin", (event) => {
	const link = event.target instanceof Element ? event.target.closest(".grid table a") : null;
	if (link) rove(link.closest("table"), link);
});

document.addEventListener("htmx:afterSettle", (event) => set(event.target.parentElement ?? document));
set(document);
