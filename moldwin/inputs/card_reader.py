"""Reads one card file and finds everything wrong in it at once."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from moldwin.base.quantities import STATUSES, Quantity
from moldwin.inputs.card_keys import (
    BENCH_KEYS,
    COMPOSITION_KEYS,
    FAMILIES,
    FITNESS,
    FITTED_FIELDS,
    FITTED_MAY,
    HUMIDITY_FACTS,
    MATERIAL_KEYS,
    MOLD_KEYS,
    QUANTITY_FIELDS,
    ROLES,
    Key,
)
from moldwin.inputs.errors import CardError, Fault, nearest
from moldwin.inputs.toml_lines import key_lines, line_of

__all__ = ["RawCard", "read_card"]

_LARGEST = 1_000_000  # bytes; a card is a few thousand
_HEAD = ("name", "title", "role", "family", "about")
_TABLES = ("missing", "sources", "composition", "group", "fitted")
_GROUP_FIELDS = ("members", "correlation", "why")
_ALTERNATIVE_FIELDS = {"value": float, "source": str, "note": str, "printed": str}


@dataclass
class RawCard:
    """What a card file says, once every check has passed.

    Parameters
    ----------
    path : Path
        The file. [-]
    """

    path: Path
    name: str = ""
    texts: dict[str, str] = field(default_factory=dict)
    missing: tuple[str, ...] = ()
    sources: dict[str, str] = field(default_factory=dict)
    quantities: dict[str, Quantity] = field(default_factory=dict)
    groups: list[tuple[str, tuple[str, ...], tuple[tuple[float, ...], ...], str]] = field(
        default_factory=list
    )
    alternatives: dict[str, tuple[Mapping[str, Any], ...]] = field(default_factory=dict)
    facts: dict[str, Any] = field(default_factory=dict)


def read_card(path: Path) -> RawCard:
    """The checked contents of a card file.

    Parameters
    ----------
    path : Path
        The TOML file. [-]

    Returns
    -------
    RawCard
        Its contents.

    Raises
    ------
    CardError
        Every fault of the file at once, each with its key, line and likely slip.
    """
    text = _text_of(path)
    try:
        table = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        at = re.search(r"at line (\d+)", str(error))
        line = int(at[1]) if at else None
        raise CardError([Fault(str(path), "", f"not TOML: {error}", line)]) from None
    reader = _Reader(path, text, table)
    reader.read()
    if reader.faults:
        raise CardError(reader.faults)
    return reader.card


def _text_of(path: Path) -> str:
    try:
        if path.stat().st_size > _LARGEST:
            raise CardError([Fault(str(path), "", "over 1 MB: this is no card")])
        return path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        message = f"cannot be read: {error.strerror}"
    except UnicodeDecodeError:
        message = "not text in UTF-8"
    raise CardError([Fault(str(path), "", message)])


class _Reader:
    """One pass over one file; faults are collected, not raised."""

    def __init__(self, path: Path, text: str, table: dict[str, Any]) -> None:
        self.path, self.text, self.table = path, text, table
        self.card = RawCard(path)
        self.faults: list[Fault] = []
        self._lines: dict[str, int] | None = None  # found only once something is wrong

    def read(self) -> None:
        self._head()
        self._sources()
        role = self.card.texts.get("role", "")
        if role == "humidity-source":
            self._facts()
        allowed = self._allowed(role)
        extra = tuple(HUMIDITY_FACTS) if role == "humidity-source" else ()
        for key, entry in self.table.items():
            if key in allowed:
                self._quantity(key, key, entry, allowed[key])
            elif key not in (*_HEAD, *extra, *_TABLES):
                self._fault(
                    key, f"unknown key{nearest(key, [*allowed, *_HEAD, *extra, 'missing'])}"
                )
        self._composition()
        self._isotherm_is_whole()
        self._groups()
        self._fitted()

    def _fault(self, key: str, message: str) -> None:
        if self._lines is None:
            self._lines = key_lines(self.text)
        self.faults.append(Fault(str(self.path), key, message, line_of(self._lines, key)))

    def _allowed(self, role: str) -> Mapping[str, Key]:
        if role == "humidity-source":
            return {}
        if role == "mold":
            return MOLD_KEYS
        if role != "bench":
            return MATERIAL_KEYS
        if self.card.name not in BENCH_KEYS:
            known = ", ".join(BENCH_KEYS)
            self._fault("name", f"a bench card is one of {known}, got {self.card.name!r}")
        return BENCH_KEYS.get(self.card.name, {})

    def _head(self) -> None:
        for key in _HEAD:
            value = self.table.get(key)
            if value is None and key == "about":
                continue
            if value is None:
                self._fault(key, "missing")
            elif not isinstance(value, str) or not value.strip():
                self._fault(key, f"must be text, got {value!r}")
            else:
                self.card.texts[key] = value
        self.card.name = self.card.texts.get("name", "")
        if self.card.name and self.card.name != self.path.stem:
            self._fault("name", f"{self.card.name!r} must equal the file's name {self.path.stem!r}")
        for key, allowed in (("role", ROLES), ("family", FAMILIES)):
            value = self.card.texts.get(key)
            if value is not None and value not in allowed:
                hint = nearest(value, allowed) or f"; allowed: {', '.join(allowed)}"
                self._fault(key, f"got {value!r}{hint}")
        self.card.missing = tuple(self._texts("missing", self.table.get("missing", [])))

    def _texts(self, key: str, value: Any) -> list[str]:
        if isinstance(value, list) and all(isinstance(item, str) for item in value):
            return value
        self._fault(key, "must be a list of texts")
        return []

    def _sources(self) -> None:
        sources = self._table("sources", self.table.get("sources", {}))
        for key, value in sources.items():
            if isinstance(value, str) and value.strip():
                self.card.sources[key] = value
            else:
                self._fault(f"sources.{key}", f"must be text, got {value!r}")

    def _facts(self) -> None:
        for key, kind in HUMIDITY_FACTS.items():
            value = self.table.get(key)
            if isinstance(value, kind):
                self.card.facts[key] = value
            else:
                wanted = "true or false" if kind is bool else "text"
                self._fault(key, "missing" if value is None else f"must be {wanted}, got {value!r}")
        fitness = self.card.facts.get("fitness", FITNESS[0])
        if fitness not in FITNESS:
            self._fault("fitness", f"got {fitness!r}, allowed: {', '.join(FITNESS)}")

    def _composition(self) -> None:
        shares = self._table("composition", self.table.get("composition", {}))
        for part, entry in shares.items():
            key = f"composition.{part}"
            if part in COMPOSITION_KEYS:
                self._quantity(key, part, entry, COMPOSITION_KEYS[part])
            else:
                self._fault(key, f"unknown part{nearest(part, COMPOSITION_KEYS)}")
        dry = [
            quantity.value
            for key, quantity in self.card.quantities.items()
            if key.startswith("composition.") and key != "composition.water"
        ]
        # Printed analyses seldom close exactly; a missing main part is another matter.
        if dry and not 0.9 <= sum(dry) <= 1.1:
            total = f"{sum(dry):.3g}"
            self._fault("composition", f"shares of dry mass sum to {total}, they must make up 1")

    def _isotherm_is_whole(self) -> None:
        there = [key for key in ("xm", "c", "k", "isotherm_t") if key in self.table]
        if there and len(there) < 4:
            self._fault(there[0], "an isotherm needs all of xm, c, k and isotherm_t")

    def _quantity(self, key: str, short: str, entry: Any, rule: Key) -> None:
        if not isinstance(entry, dict):
            message = f"must be a table with value, unit, source and status, got {entry!r}"
            self._fault(key, message)
            return
        before = len(self.faults)
        self._fields(key, entry, QUANTITY_FIELDS)
        for name in ("value", "unit", "source", "status"):
            if name not in entry:
                self._fault(key, f"{name} is missing")
        self._origin(key, entry, rule)
        if len(self.faults) == before:
            self._spread(key, entry, rule)
        self._alternatives(key, entry.get("alternatives", []))
        if len(self.faults) > before:
            return
        given = {name: value for name, value in entry.items() if name != "alternatives"}
        for name in ("value", "u", "factor", "low", "high"):
            if name in given:
                given[name] = float(given[name])
        self.card.quantities[key] = Quantity(
            f"{self.card.name}.{key}", floor=rule.low, ceiling=rule.high, **given
        )

    def _fields(self, key: str, entry: Mapping[str, Any], allowed: Mapping[str, type]) -> None:
        for name, value in entry.items():
            kind = allowed.get(name)
            if kind is None:
                self._fault(f"{key}.{name}", f"unknown field{nearest(name, allowed)}")
            elif kind is float:
                if not _is_number(value):
                    self._fault(f"{key}.{name}", f"must be a finite number, got {value!r}")
            elif not isinstance(value, kind):
                wanted = {str: "text", bool: "true or false", list: "a list"}[kind]
                self._fault(f"{key}.{name}", f"must be {wanted}, got {value!r}")

    def _origin(self, key: str, entry: Mapping[str, Any], rule: Key) -> None:
        unit, status, source = entry.get("unit"), entry.get("status"), entry.get("source")
        if isinstance(unit, str) and unit != rule.unit:
            self._fault(f"{key}.unit", f"must be {rule.unit!r} ({rule.what}), got {unit!r}")
        if isinstance(status, str) and status not in STATUSES:
            hint = nearest(status, STATUSES) or f"; allowed: {', '.join(STATUSES)}"
            self._fault(f"{key}.status", f"got {status!r}{hint}")
        self._known_source(f"{key}.source", source)

    def _known_source(self, key: str, source: Any) -> None:
        if isinstance(source, str) and source not in self.card.sources:
            hint = nearest(source, self.card.sources)
            self._fault(key, f"{source!r} is not listed under [sources]{hint}")

    def _spread(self, key: str, entry: Mapping[str, Any], rule: Key) -> None:
        """Refuses what cannot be drawn, and any field the drawing would leave unused."""
        value, low, high = entry["value"], entry.get("low"), entry.get("high")
        u, factor = entry.get("u"), entry.get("factor")
        for name in ("value", "low", "high"):
            if name in entry and not rule.low <= entry[name] <= rule.high:
                allowed = f"{rule.low:g} to {rule.high:g} {rule.unit} ({rule.what})"
                self._fault(f"{key}.{name}", f"got {entry[name]:g}, allowed {allowed}")
        if low is not None and high is not None and low > high:
            self._fault(key, f"low {low:g} is above high {high:g}")
        elif (low is not None and value < low) or (high is not None and value > high):
            self._fault(key, f"value {value:g} lies outside its own low to high")
        if u is not None and u < 0:
            self._fault(f"{key}.u", f"a standard uncertainty is not negative, got {u:g}")
        if factor is not None and factor < 1:
            self._fault(f"{key}.factor", f"must be at least 1, got {factor:g}")
        if factor is not None and (value <= 0 or u is not None or (low, high) != (None, None)):
            self._fault(key, "factor needs a value above 0 and stands alone, without u, low, high")
        if u is None and (low is None) != (high is None):
            self._fault(key, "low and high go together, unless u is given")
        if entry.get("log") and (low is None or low <= 0 or u is not None):
            self._fault(f"{key}.log", "needs low and high above 0, and no u")

    def _alternatives(self, key: str, items: Any) -> None:
        if not isinstance(items, list):
            return  # said already
        for item in items:
            if not isinstance(item, dict) or "value" not in item or "source" not in item:
                self._fault(f"{key}.alternatives", "each must state value, source and note")
                return
            self._fields(f"{key}.alternatives", item, _ALTERNATIVE_FIELDS)
            self._known_source(f"{key}.alternatives", item["source"])
        if items:
            self.card.alternatives[key] = tuple(items)

    def _groups(self) -> None:
        taken: set[str] = set()
        for name, entry in self._table("group", self.table.get("group", {})).items():
            key = f"group.{name}"
            if not isinstance(entry, dict):
                self._fault(key, "must be a table with members and correlation")
                continue
            for field_name in entry.keys() - set(_GROUP_FIELDS):
                hint = nearest(field_name, _GROUP_FIELDS)
                self._fault(f"{key}.{field_name}", f"unknown field{hint}")
            members = self._texts(f"{key}.members", entry.get("members"))
            for member in members:
                if member in taken or members.count(member) > 1:
                    self._fault(key, f"{member!r} is in a group twice")
                elif member not in self.card.quantities and not self._stated(member):
                    hint = nearest(member, self.card.quantities)
                    self._fault(key, f"{member!r} is no value of this card{hint}")
            taken.update(members)
            correlation, why = entry.get("correlation"), entry.get("why", "")
            trouble = _correlation_trouble(correlation, len(members))
            if trouble or not isinstance(why, str):
                self._fault(f"{key}.correlation", trouble or "why must be text")
            elif correlation is not None:
                rows = tuple(tuple(float(value) for value in row) for row in correlation)
                self.card.groups.append((name, tuple(members), rows, why))

    def _fitted(self) -> None:
        """What a fit noted of itself."""
        noted = self._table("fitted", self.table.get("fitted", {}))
        if not noted:
            return
        for name, kind in FITTED_FIELDS.items():
            if not isinstance(noted.get(name, "" if name in FITTED_MAY else None), kind):
                self._fault(f"fitted.{name}", f"must be {'a number' if kind is int else 'text'}")
        for name in noted.keys() - FITTED_FIELDS.keys():
            self._fault(f"fitted.{name}", f"unknown field{nearest(name, FITTED_FIELDS)}")
        self.card.facts["fitted"] = dict(noted)

    def _stated(self, member: str) -> bool:
        """True where the file states it, though it may have faults of its own."""
        card, _, key = member.rpartition(".")
        if card != "composition" and key in BENCH_KEYS.get(card, MATERIAL_KEYS if card else {}):
            return True  # a value of another card that this one was fitted with
        part = member.removeprefix("composition.")
        table = self.table if part == member else self.table.get("composition", {})
        return isinstance(table, dict) and isinstance(table.get(part), dict)

    def _table(self, key: str, value: Any) -> dict[str, Any]:
        if isinstance(value, dict):
            return value
        self._fault(key, f"must be a table, got {value!r}")
        return {}


def _is_number(value: Any) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    try:
        return math.isfinite(float(value))
    except OverflowError:
        return False


def _correlation_trouble(matrix: Any, size: int) -> str:
    """What is wrong with a correlation matrix, or nothing."""
    if not isinstance(matrix, list) or len(matrix) != size or size < 2:
        return f"must be {size} rows for {size} members, and at least two"
    for row in matrix:
        if not isinstance(row, list) or len(row) != size or not all(map(_is_number, row)):
            return f"each row must be {size} numbers"
    for i in range(size):
        if matrix[i][i] != 1 or any(abs(matrix[i][j] - matrix[j][i]) > 1e-12 for j in range(i)):
            return "must be symmetric, with 1 along the diagonal"
    return "" if _is_semidefinite(matrix) else "no set of values can correlate like this"


def _is_semidefinite(matrix: list[list[float]]) -> bool:
    """Cholesky, letting a pivot vanish: fully tied values are allowed."""
    size = len(matrix)
    root = [[0.0] * size for _ in range(size)]
    for j in range(size):
        pivot = matrix[j][j] - sum(x * x for x in root[j][:j])
        if pivot < -1e-9:
            return False
        for i in range(j + 1, size):
            rest = matrix[i][j] - sum(a * b for a, b in zip(root[i][:j], root[j][:j], strict=True))
            if pivot <= 1e-9:
                if abs(rest) > 1e-6:
                    return False
            else:
                root[i][j] = rest / math.sqrt(pivot)
    return True
