"""The terminal: its width and letters, headings, tables of zones by visits, and progress of long work."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.console import Console
    from rich.text import Text

    from coatwright.planning.compare import Progress

WIDEST = 132
"""Columns beyond which lines are no longer filled."""
READABLE = 100
"""Columns that a paragraph fills at most."""
INDENT = 2


@dataclass(frozen=True, slots=True)
class Letters:
    """Signs that a terminal can show; plain ones where its encoding has no others.

    ``none`` for nothing in a cell, ``rule`` to draw a line with, ``days`` for 0 to 7 days of a week, ``by_hand`` for
    a take fixed by hand, ``show`` for a show.
    """

    none: str
    rule: str
    days: str
    by_hand: str
    show: str

    @classmethod
    def of(cls, encoding: str) -> Letters:
        """The letters for an encoding."""
        if encoding.lower().replace("-", "").startswith("utf"):
            return cls("·", "─", "·▁▂▃▄▅▆█", "=", "◆")
        return cls(".", "-", ".1234567", "=", "*")


class Page:
    """One command's output on the standard output stream."""

    def __init__(self) -> None:
        from rich.console import Console

        self.console: Console = Console(highlight=False, emoji=False, markup=False)
        self.console.width = min(self.console.width, WIDEST)
        self.letters = Letters.of(self.console.encoding)

    @property
    def width(self) -> int:
        """Columns that a line may fill."""
        return self.console.width

    def title(self, name: str, aside: str = "") -> None:
        """The name at the top, with something quieter at the right."""
        from rich.text import Text

        head = Text.assemble((name, "bold"))
        room = self.width - len(name) - 2
        if aside and room >= len(aside):
            head.append(" " * (room - len(aside) + 2))
            head.append(aside, style="dim")
        elif aside:
            head.append(f"\n{aside}", style="dim")
        self.console.print(head)

    def heading(self, words: str, aside: str = "") -> None:
        """A heading with an empty line above it."""
        from rich.text import Text

        self.console.print()
        self.console.print(Text.assemble((words, "bold"), (f"  {aside}" if aside else "", "dim")))

    def line(
        self, words: str | Text = "", *, style: str = "", start: int = INDENT, hang: int | None = None
    ) -> None:
        """A paragraph, wrapped at a readable width; begins at ``start``, its other lines at ``hang``."""
        self.hung(" " * start, words, style=style, hang=start if hang is None else hang)

    def hung(self, head: str | Text, words: str | Text, *, style: str = "", hang: int) -> None:
        """A paragraph behind a ``head`` that its first line begins with; the other lines begin at ``hang``."""
        from rich.text import Text

        first = head if isinstance(head, Text) else Text(head)
        body = words if isinstance(words, Text) else Text(words, style=style)
        room = max(min(self.width, READABLE) - hang, 20)
        if len(first) > hang:  # a head that is wider than its column takes the first line to itself
            self.console.print(first, soft_wrap=True)
            first = Text(" " * hang)
        elif len(first) < hang:
            first.append(" " * (hang - len(first)))
        for number, row in enumerate(body.wrap(self.console, room)):
            row.rstrip()
            self.console.print(Text.assemble(first if number == 0 else " " * hang, row), soft_wrap=True)

    def pair(self, label: str, words: str | Text, *, column: int = 14) -> None:
        """A label and what belongs to it."""
        from rich.text import Text

        self.hung(Text(" " * INDENT + label, style="dim"), words, hang=column)

    def caution(self, words: str, *, word: str = "Caution", style: str = "yellow") -> None:
        """Something to mind, told by a word first and a colour second."""
        from rich.text import Text

        head = Text.assemble(" " * INDENT, (word, f"bold {style}" if style else "bold"))
        self.hung(head, words, hang=INDENT + max(len(word), 7) + 2)

    def grid(
        self,
        labels: Sequence[tuple[str, str]],
        columns: Sequence[tuple[str, str]],
        rows: Sequence[Sequence[str]],
        *,
        first: str = "",
        cell: int = 4,
        rule_before: int | None = None,
    ) -> None:
        """Rows by many narrow columns, in as many blocks below each other as the width asks for.

        ``labels`` are (words, style) per row; ``columns`` are two lines of heading per column, an upper one
        that repeats itself being shown once; ``rule_before`` is the row above which a rule is drawn.
        """
        from rich.text import Text

        stub = max(len(first), *(len(words) for words, _ in labels)) + INDENT + 1
        room = max((self.width - stub) // cell, 1)
        blocks = -(-len(columns) // room)
        room = -(-len(columns) // blocks)
        for start in range(0, len(columns), room):
            if start:
                self.console.print()
            shown = columns[start : start + room]
            self._head(stub, shown, cell, first)
            for number, ((words, style), row) in enumerate(zip(labels, rows, strict=True)):
                if number == rule_before:
                    rule = self.letters.rule * (stub + cell * len(shown) - INDENT)
                    self.console.print(Text(" " * INDENT + rule, style="dim"), soft_wrap=True)
                line = Text(f"{'':{INDENT}}{words:<{stub - INDENT}}", style=style)
                for value in row[start : start + room]:
                    line.append(
                        f"{value:>{cell}}", style="dim" if not value.strip(self.letters.none) else style
                    )
                line.rstrip()
                self.console.print(line, soft_wrap=True)

    def _head(self, stub: int, columns: Sequence[tuple[str, str]], cell: int, first: str) -> None:
        from rich.text import Text

        upper, before = " " * stub, ""
        for number, (top, _) in enumerate(columns):
            at = stub + number * cell + max(cell - 3, 0)
            if top != before and (not upper.strip() or len(upper) < at) and at + len(top) <= self.width:
                upper, before = f"{upper:<{at}}{top}", top
        lower = f"{'':{INDENT}}{first:<{stub - INDENT}}" + "".join(f"{name:>{cell}}" for _, name in columns)
        for line in (upper, lower):
            if line.strip():
                self.console.print(Text(line.rstrip(), style="dim"), soft_wrap=True)

    def table(
        self,
        heads: Sequence[str],
        rows: Sequence[Sequence[str]],
        *,
        over: Sequence[tuple[str, int]] = (),
        left: int = 1,
        spare: Sequence[int] = (),
    ) -> None:
        """A quiet table without lines: the first ``left`` columns to the left, the others to the right.

        ``over`` are headings over several columns each, with how many; ``spare`` the columns that are left out, one
        after the other, where the terminal is too narrow.
        """
        from rich.cells import cell_len
        from rich.text import Text

        gap = "  "
        widths = [max(map(cell_len, column)) for column in zip(heads, *rows, strict=True)]
        if spare and INDENT + sum(widths) + len(gap) * (len(widths) - 1) > self.width:
            out = spare[0]
            kept = [place for place in range(len(heads)) if place != out]
            self.table(
                [heads[place] for place in kept],
                [[row[place] for place in kept] for row in rows],
                left=left - (out < left),
                spare=[place - (place > out) for place in spare[1:]],
            )
            return
        lines = []
        place, above = 0, ""
        for words, count in over:
            room = sum(widths[place : place + count]) + len(gap) * (count - 1)
            if count > 1 and len(words) > room:
                widths[place] += len(words) - room
                room = len(words)
            above += (f"{words:>{room}}" if place >= left else f"{words:<{room}}") + gap
            place += count
        for row in [heads, *rows]:
            cells = []
            for place, (words, width) in enumerate(zip(row, widths, strict=True)):
                fill = " " * (width - cell_len(words))
                cells.append(words + fill if place < left else fill + words)
            lines.append(gap.join(cells))
        for number, line in enumerate([above, *lines]):
            if line.strip():
                self.console.print(
                    Text((" " * INDENT + line).rstrip(), style="dim" if number < 2 else ""), soft_wrap=True
                )


def write_json(value: Any) -> None:
    """One JSON value on the standard output stream; a list of plain values stays on one line."""
    unicode = (sys.stdout.encoding or "").lower().replace("-", "") == "utf8"
    text = json.dumps(value, indent=2, ensure_ascii=not unicode, allow_nan=False)
    sys.stdout.write(SHORT_LIST.sub(_on_one_line, text) + "\n")


SHORT_LIST = re.compile(r'\[\n\s+((?:[\d.eE+-]+|true|false|null|"(?:[^"\\]|\\.)*"|,\n\s+)+)\n\s+\]')


def _on_one_line(found: re.Match[str]) -> str:
    return "[" + re.sub(r",\n\s+", ", ", found[1]) + "]"


@contextmanager
def working(title: str) -> Iterator[Progress]:
    """Tell how far long work is, on the standard error stream, while that is a terminal; nothing elsewhere."""
    from rich.console import Console

    console = Console(stderr=True)
    if not console.is_terminal:
        yield _silent
        return
    from rich.progress import BarColumn, Progress, TextColumn

    columns = TextColumn("{task.description}"), BarColumn(bar_width=24)
    with Progress(*columns, console=console, transient=True) as bar:
        task = bar.add_task(title, total=None)

        def tell(what: str, done: int, total: int) -> None:
            bar.update(task, description=f"{title}: {what}", completed=done, total=total)

        yield tell


def _silent(what: str, done: int, total: int) -> None:
    """Nobody looks."""
