"""Where each key of a TOML text stands, so that an error can name the line.

The text has been read by :mod:`tomllib` before: this scan only follows brackets and quotes.
"""

from __future__ import annotations

import tomllib
from bisect import bisect_left

from coatwright.salon.plain import KeyPath

QUOTES = ('"""', "'''", '"', "'")


def lines_of(text: str) -> dict[KeyPath, int]:
    """The line (from 1) of every table, key and list item of a valid TOML text, by path."""
    return _Scan(text).run()


def line_at(lines: dict[KeyPath, int], path: KeyPath) -> int | None:
    """The line of a path, or of the nearest table around it; ``None`` when there is none."""
    return next((lines[path[:n]] for n in range(len(path), 0, -1) if path[:n] in lines), None)


class _Scan:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.found: dict[KeyPath, int] = {}
        self.counts: dict[KeyPath, int] = {}
        self.breaks = [place for place, sign in enumerate(text) if sign == "\n"]

    def run(self) -> dict[KeyPath, int]:
        table: KeyPath = ()
        while self._skip():
            if self.text.startswith("[[", self.at):
                line = self._line()
                self.at += 2
                table = self._item(self._keys())
                self.found[table] = line
                self.at += 2
            elif self.text[self.at] == "[":
                line = self._line()
                self.at += 1
                table = self._resolve(self._keys())
                for n in range(1, len(table) + 1):
                    self.found.setdefault(table[:n], line)
                self.at += 1
            else:
                self._pair(table)
        return self.found

    def _item(self, keys: KeyPath) -> KeyPath:
        """The path of a new item of a list of tables."""
        whole = (*self._resolve(keys[:-1]), keys[-1])
        number = self.counts.get(whole, 0)
        self.counts[whole] = number + 1
        self.found.setdefault(whole, self._line())
        return (*whole, number)

    def _resolve(self, keys: KeyPath) -> KeyPath:
        """A header's path with the number of the last item where it goes through a list of tables."""
        path: KeyPath = ()
        for key in keys:
            path = (*path, key)
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        return path

    def _pair(self, table: KeyPath) -> None:
        line = self._line()
        keys = self._keys()
        path = (*table, *keys)
        for n in range(len(table) + 1, len(path) + 1):
            self.found.setdefault(path[:n], line)
        self._skip()
        self.at += 1  # the equals sign
        self._skip()
        self._value(path)

    def _value(self, path: KeyPath) -> None:
        sign = self.text[self.at : self.at + 1]
        if sign in ("'", '"') and sign:
            self._string()
        elif sign == "[":
            self.at += 1
            number = 0
            while self._skip() and self.text[self.at] != "]":
                if self.text[self.at] == ",":
                    self.at += 1
                    continue
                self.found.setdefault((*path, number), self._line())
                self._value((*path, number))
                number += 1
            self.at += 1
        elif sign == "{":
            self.at += 1
            while self._skip() and self.text[self.at] != "}":
                if self.text[self.at] == ",":
                    self.at += 1
                    continue
                self._pair(path)
            self.at += 1
        else:
            while self.at < len(self.text) and self.text[self.at] not in ",]}\n#":
                self.at += 1

    def _keys(self) -> KeyPath:
        keys: list[str] = []
        while True:
            self._skip()
            if self.text[self.at] in "\"'":
                start = self.at
                self._string()
                keys.append(str(tomllib.loads(f"key = {self.text[start : self.at]}")["key"]))
            else:
                start = self.at
                while self.at < len(self.text) and (
                    self.text[self.at].isalnum() or self.text[self.at] in "_-"
                ):
                    self.at += 1
                keys.append(self.text[start : self.at])
            self._skip()
            if self.at >= len(self.text) or self.text[self.at] != ".":
                return tuple(keys)
            self.at += 1

    def _string(self) -> None:
        quote = next(quote for quote in QUOTES if self.text.startswith(quote, self.at))
        self.at += len(quote)
        while not self.text.startswith(quote, self.at):
            self.at += 2 if self.text[self.at] == "\\" and quote[0] == '"' else 1
        self.at += len(quote)
        while len(quote) == 3 and self.text.startswith(quote[0], self.at):
            self.at += 1  # a long string may end in quotes of its own

    def _skip(self) -> bool:
        """Pass over blanks and comments; whether anything follows."""
        while self.at < len(self.text):
            if self.text[self.at] == "#":
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            elif self.text[self.at].isspace():
                self.at += 1
            else:
                return True
        return False

    def _line(self) -> int:
        return bisect_left(self.breaks, self.at) + 1
