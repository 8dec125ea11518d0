"""What the run sheet's script reads: every position of the controls, already in words."""

from __future__ import annotations

import json
from typing import Any

from moldwin.advice.answer import Advice
from moldwin.advice.sheet_grid import SheetCell, SheetColumn, SheetGrid
from moldwin.base.remarks import Remark
from moldwin.report.json_out import to_json
from moldwin.report.sheet_picture import Axes
from moldwin.report.sheet_words import (
    advised_status,
    cell_status,
    column_status,
    figures,
    steps_at,
    warning_lead,
    warnings_of,
)
from moldwin.report.steps_page import moisture_words
from moldwin.report.words import clean

__all__ = ["advised_column", "embedded", "sheet_data"]

_FIGURES = ("barrel", "soak", "mold", "cool")


class _Texts:
    """Each text once; the cells name it by its number."""

    def __init__(self) -> None:
        self.all: list[str] = []
        self._number: dict[str, int] = {}

    def __call__(self, text: str) -> int:
        if text not in self._number:
            self._number[text] = len(self.all)
            self.all.append(text)
        return self._number[text]


def advised_column(advice: Advice, grid: SheetGrid) -> int:
    """Index of the column the sheet is made for.

    Parameters
    ----------
    advice : Advice
        The answer. [-]
    grid : SheetGrid
        The sheet's moistures and temperatures. [-]

    Returns
    -------
    int
        From 0. [-]
    """
    water = advice.moisture
    return grid.nearest(water.target_best_pct if advice.conditioning_leads else water.now_pct)


def sheet_data(advice: Advice, grid: SheetGrid) -> dict[str, Any]:
    """Every position of both controls.

    Parameters
    ----------
    advice : Advice
        The answer. [-]
    grid : SheetGrid
        Results for each position. [-]

    Returns
    -------
    dict
        Plain data; numbers keep full precision, texts are numbered. [-]
    """
    texts = _Texts()
    advised = advised_column(advice, grid)
    columns = [
        _column(advice, column, texts, advised=i == advised)
        for i, column in enumerate(grid.columns)
    ]
    data: dict[str, Any] = {
        "moisture": [column.moisture_pct for column in grid.columns],
        "barrel": grid.barrel_c,
        "advised": advised,
        "now": grid.nearest(advice.moisture.now_pct),
        "columns": columns,
        "texts": texts.all,
    }
    if grid.barrel_c:
        axes = Axes(data["moisture"], grid.barrel_c)
        data["x"] = [axes.x(w) for w in axes.moisture]
        data["y"] = [axes.y(t) for t in axes.barrel]
    return data


def _column(advice: Advice, column: SheetColumn, texts: _Texts, *, advised: bool) -> dict[str, Any]:
    barrel = column.situation.barrel
    cells = [
        _cell(advice, column, cell, texts, advised=advised and i == column.best)
        for i, cell in enumerate(column.cells)
    ]
    return {
        "water": texts(f"{moisture_words(column.moisture_pct)} water"),
        "heat": column.heat,
        "best": column.best,
        "low_c": barrel.low_c,
        "high_c": barrel.high_c,
        "chance": barrel.chance,
        "status": texts(advised_status(advice) if advised else column_status(column)),
        "warnings": _warnings(advice.warnings if advised else column.warnings, texts),
        "cells": cells,
    }


def _cell(
    advice: Advice, column: SheetColumn, cell: SheetCell, texts: _Texts, *, advised: bool
) -> dict[str, Any]:
    """One position; at the advised one the very words of the sheet."""
    found: dict[str, Any] = {"chance": cell.chance, "heat": cell.heat}
    found["status"] = texts(advised_status(advice) if advised else cell_status(column, cell))
    found["warnings"] = _warnings(advice.warnings if advised else cell.warnings, texts)
    if cell.situation is not None and cell.heat:
        shown = figures(cell.situation, cell.heat)
        found["soak_s"] = cell.situation.soak_s
        found["cooling_s"] = cell.situation.cooling_s
        found["figures"] = [texts(shown[name]) for name in _FIGURES]
        found["steps"] = [[texts(clean(s)) for s in step] for step in steps_at(advice, cell)]
    return found


def _warnings(remarks: list[Remark], texts: _Texts) -> list[list[Any]]:
    return [
        [remark.severity, texts(warning_lead(remark)), texts(clean(remark.message))]
        for remark in warnings_of(remarks, heat=True)
    ]


def embedded(value: Any) -> str:
    """JSON that cannot end the element it stands in, nor open another.

    Parameters
    ----------
    value : object
        What JSON can hold. [-]

    Examples
    --------
    >>> embedded({"title": "</script>"})
    '{"title":"\\\\u003c/script\\\\u003e"}'
    """
    plain = json.loads(to_json(value))
    text = json.dumps(plain, separators=(",", ":"), allow_nan=False)
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text
