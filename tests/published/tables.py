"""Reads the published tables the package is held against: one CSV per source."""

from __future__ import annotations

import csv
from pathlib import Path

__all__ = ["number", "rows"]

_TABLES = Path(__file__).resolve().parents[2] / "material_cards" / "published"


def rows(name: str) -> list[dict[str, str]]:
    """All rows of one table as text, in the order of the file.

    >>> rows("if97.csv")[0]["status"]
    'read'
    """
    with (_TABLES / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def number(row: dict[str, str], column: str) -> float:
    """One cell as a number; an empty cell is nobody's number: NaN."""
    return float(row[column]) if row[column] else float("nan")
