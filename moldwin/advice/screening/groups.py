"""Rows of a table that differ in numbers alone, and how far those reach."""

from __future__ import annotations

import math
import random
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from moldwin.inputs.job_keys import JobKey, keys_of
from moldwin.inputs.job_values import SlipError, to_si
from moldwin.inputs.recipe_table import cell_text

__all__ = ["Group", "Key", "Sorter", "survey"]

#: What rows of one group share: the text of every cell that is no number, and which are empty.
Key = tuple[str, ...]

#: Rows kept of each group, drawn by lot, to be worked out; and groups followed at once.
_KEPT, _MOST_GROUPS = 4096, 32
_MASS = ".mass_g"
_PLAIN_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?")
#: Numbers at which an answer jumps: they end what is looked through.
_PARTING = ("press.heater_max_c",)


class Sorter:
    """Parts rows into groups.

    Parameters
    ----------
    columns : sequence of str
        Dotted job keys. [-]
    """

    def __init__(self, columns: Sequence[str]) -> None:
        self.columns = list(columns)
        self._keys = [_number_key(name) for name in columns]
        self._masses = [
            i for i, n in enumerate(columns) if n.startswith("ingredient.") and n.endswith(_MASS)
        ]

    def of(self, cells: Sequence[Any]) -> tuple[Key, tuple[float, ...]] | None:
        """Group and numbers of a row; None for one that only a reader of jobs can judge.

        Its texts stand as they came; the title, which answers nothing, does not count.
        """
        said: list[str] = []
        numbers: list[float] = []
        gone = self._gone(cells)
        for name, key, cell in zip(self.columns, self._keys, cells, strict=True):
            text = "" if gone and name.startswith(gone) else cell_text(cell)
            if name == "title" or not text:
                said.append("")
            elif key is None:
                said.append(text)
            else:
                value = _plain(key, text)
                if value is None:
                    return None
                said.append("#")
                numbers.append(value)
        for i in self._masses:  # no mass is another recipe than a little
            if gone and self.columns[i].startswith(gone):
                said[i] = "0"
        return tuple(said), tuple(numbers)

    def _gone(self, cells: Sequence[Any]) -> tuple[str, ...]:
        names = []
        for i in self._masses:
            text = cell_text(cells[i])
            if text and _PLAIN_NUMBER.fullmatch(text) and float(text) == 0.0:
                names.append(self.columns[i].removesuffix("mass_g"))
        return tuple(names)

    def named(self, group: Key) -> list[str]:
        """Columns of a group's numbers."""
        return [n for n, said in zip(self.columns, group, strict=True) if said == "#"]

    def cells(self, group: Key, numbers: Sequence[float]) -> list[str]:
        """A row of the group with other numbers."""
        left = iter(numbers)
        return [repr(float(next(left))) if said == "#" else said for said in group]


def _number_key(name: str) -> JobKey | None:
    """What a column of numbers allows; None for one whose every value is a group of its own."""
    section, *rest = name.split(".")
    if name in _PARTING or not rest or section == "price":
        return None
    section = "part.solid" if (section, rest[0]) == ("part", "solid") else section
    key = keys_of(section).get(rest[-1])
    return key if key is not None and key.kind == "number" else None


def _plain(key: JobKey, text: str) -> float | None:
    if not _PLAIN_NUMBER.fullmatch(text):
        return None
    value = float(text)
    try:
        to_si(key, value)
    except SlipError:
        return None
    return value if math.isfinite(value) else None


@dataclass
class Group:
    """Rows that differ in numbers alone.

    Parameters
    ----------
    count : int
        How many. [-]
    low, high : list of float
        Least and largest of each number. [as the keys say]
    kept : list of tuple of float
        Some of them, drawn by lot. [as the keys say]
    """

    count: int = 0
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    kept: list[tuple[float, ...]] = field(default_factory=list)

    def take(self, numbers: tuple[float, ...], lot: random.Random) -> None:
        """Count a row."""
        self.count += 1
        if self.count == 1:
            self.low, self.high = list(numbers), list(numbers)
        for i, value in enumerate(numbers):
            if value < self.low[i]:
                self.low[i] = value
            elif value > self.high[i]:
                self.high[i] = value
        if len(self.kept) < _KEPT:
            self.kept.append(numbers)
        elif (place := int(lot.random() * self.count)) < _KEPT:
            self.kept[place] = numbers

    def holds(self, numbers: Sequence[float]) -> bool:
        """Whether all numbers are within those that were counted."""
        return all(
            low <= value <= high
            for low, value, high in zip(self.low, numbers, self.high, strict=True)
        )


def survey(sorter: Sorter, rows: Iterable[Sequence[Any]], seed: int) -> dict[Key, Group]:
    """The groups of a table, in one pass and in memory that does not grow with it.

    Parameters
    ----------
    sorter : Sorter
        Knows the columns. [-]
    rows : iterable of sequence
        Cells of each row. [as the keys say]
    seed : int
        Of the lots drawn. [-]

    Returns
    -------
    dict of Group
        The first few dozen groups that the table names. [-]
    """
    lot = random.Random(seed)
    groups: dict[Key, Group] = {}
    for cells in rows:
        found = sorter.of(cells)
        if found is None or not found[1]:
            continue
        group = groups.get(found[0])
        if group is None:
            if len(groups) >= _MOST_GROUPS:
                continue
            group = groups[found[0]] = Group()
        group.take(found[1], lot)
    return groups
