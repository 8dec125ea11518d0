"""Which line of a TOML text a key stands on; asked only when something is wrong with it."""

from __future__ import annotations

import re
from collections.abc import Mapping

__all__ = ["key_lines", "line_of"]

#: A key at the start of a line or header: bare, "quoted" or 'quoted', with dots in between.
_PART = r"""(?:[A-Za-z0-9_-]+|"(?:[^"\\]|\\.)*"|'[^']*')"""
_KEY = re.compile(rf"\s*({_PART}(?:\s*\.\s*{_PART})*)\s*")
_PARTS = re.compile(_PART)
_QUOTES = ('"""', "'''")


def key_lines(text: str) -> dict[str, int]:
    """Line of every key and heading; rows of an array of tables count from 0.

    Parameters
    ----------
    text : str
        TOML that a parser has accepted. [-]

    Returns
    -------
    dict of str to int
        Dotted key and its line, from 1. [-]

    Notes
    -----
    A scanner, not a parser: keys inside an inline table get no line of their own, `line_of`
    then gives the line of the table.

    Examples
    --------
    >>> key_lines("title = 'a'\\n[[ingredient]]\\nmass_g = 3\\n")["ingredient.0.mass_g"]
    3
    """
    scan = _Scan()
    for number, line in enumerate(text.split("\n"), start=1):
        scan.feed(line, number)
    return scan.lines


def line_of(lines: Mapping[str, int], key: str) -> int | None:
    """Line of a key, or of the nearest table round it.

    Parameters
    ----------
    lines : mapping of str to int
        From `key_lines`. [-]
    key : str
        Dotted key. [-]

    Returns
    -------
    int or None
        The line, None where not even the table is known. [-]

    Examples
    --------
    >>> line_of({"press": 4}, "press.force_kn"), line_of({"press": 4}, "mold.cavities")
    (4, None)
    """
    while key:
        if key in lines:
            return lines[key]
        key = key.rpartition(".")[0]
    return None


class _Scan:
    """Reads line by line, remembering the heading and whether a value is still open."""

    def __init__(self) -> None:
        self.lines: dict[str, int] = {}
        self._prefix = ""
        self._rows: dict[str, int] = {}
        self._depth = 0
        self._quote = ""

    def feed(self, line: str, number: int) -> None:
        if self._depth or self._quote:
            self._skip_value(line)
            return
        stripped = line.strip()
        if stripped.startswith("[["):
            self._prefix = self._new_row(_split(stripped[2:]))
            self.lines.setdefault(self._prefix, number)
            self.lines.setdefault(self._prefix.rpartition(".")[0], number)
        elif stripped.startswith("["):
            self._prefix = self._resolved(_split(stripped[1:]))
            self.lines.setdefault(self._prefix, number)
        elif found := _KEY.match(line):
            names = _split(found.group(1))
            self.lines.setdefault(".".join([self._prefix, *names]).lstrip("."), number)
            self._skip_value(line[found.end() :])

    def _new_row(self, names: list[str]) -> str:
        whole = self._resolved(names[:-1])
        name = ".".join([whole, *names[-1:]]).lstrip(".")
        self._rows[name] = self._rows.get(name, -1) + 1
        return f"{name}.{self._rows[name]}"

    def _resolved(self, names: list[str]) -> str:
        """The dotted name, with the row number wherever a part is an array of tables."""
        whole = ""
        for name in names:
            whole = f"{whole}.{name}".lstrip(".")
            if whole in self._rows:
                whole = f"{whole}.{self._rows[whole]}"
        return whole

    def _skip_value(self, text: str) -> None:
        """Follow strings and brackets, so that a value over several lines hides no keys."""
        i = 0
        while i < len(text):
            if self._quote:
                end = _string_end(text, i, self._quote)
                if end < 0:
                    break
                i, self._quote = end, ""
                continue
            if text[i] == "#":
                break
            if text[i] in "\"'":
                triple = text[i : i + 3]
                self._quote = triple if triple in _QUOTES else text[i]
                i += len(self._quote)
                continue
            self._depth += (text[i] in "[{") - (text[i] in "]}")
            i += 1
        if len(self._quote) == 1:  # a plain string cannot reach over the end of a line
            self._quote = ""


def _split(dotted: str) -> list[str]:
    """Parts of a dotted key, without their quotes."""
    found = _KEY.match(dotted)
    if not found:
        return []
    return [part.strip("\"'") for part in _PARTS.findall(found.group(1))]


def _string_end(text: str, start: int, quote: str) -> int:
    """Index after the closing quote, or -1 where the string goes on."""
    i = start
    while i < len(text):
        if text[i] == "\\" and quote[0] == '"':
            i += 2
        elif text.startswith(quote, i):
            return i + len(quote)
        else:
            i += 1
    return -1
