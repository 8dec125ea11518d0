"""The map as text: shades up to what was asked, digits where that is reached."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from moldwin.advice.mapped import MapAdvice
from moldwin.report.map_words import here, places, uprights
from moldwin.report.numbers import percent
from moldwin.report.page import Page, together
from moldwin.report.words import SEVERITY_WORDS, code_words, job_heading, limit_words
from moldwin.window.mapping import Map

__all__ = ["map_page"]

#: Rows at most; they stand at round temperatures.
_ROWS = 22
#: Columns left of the map: a temperature and the frame.
_AXIS = 6
#: Below the confidence a cell shows a shade, from the lower end of its range of chances.
_SHADES = ((0.5, "+"), (0.3, ":"), (0.1, "."), (0.0, " "))
_MARK, _UPRIGHT = "*", "|"
#: Columns between two numbers on the level axis.
_COLUMNS_BETWEEN = 9
_STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)


def map_page(advice: MapAdvice, width: int | None = None) -> str:
    """The map as one screen of text.

    Parameters
    ----------
    advice : MapAdvice
        The map. [-]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        The page. [-]
    """
    page = Page(width)
    page.heading(job_heading(advice.job, advice.bundled))
    if advice.bundled:
        page.paragraph(advice.job)
    if any(warning.severity == "stop" for warning in advice.warnings):
        page.paragraph("Do not heat this: see the stop under the map.", style="bold")
    page.paragraph(
        "Chance that every limit of barrel, filling, bag and part holds, each place at"
        " its best soak."
    )
    page.gap()
    for line in _picture(advice, page.width):
        page.line(line)
    page.gap()
    _legend(page, advice)
    _limits(page, advice)
    _warnings(page, advice)
    return page.text()


# ------------------------------------------------------------------------ the map


def _picture(advice: MapAdvice, width: int) -> list[str]:
    found, columns = advice.map, width - _AXIS
    rows = _round_places(found.barrel[0] - 273.15, found.barrel[-1] - 273.15, _ROWS)[::-1]
    cells = _cells(found, rows, columns)
    _draw_uprights(cells, found)
    _mark(cells, rows, advice)
    lines = [f"{'°C':>{_AXIS - 2}}"]
    for row, letters in enumerate(cells):
        number = f"{rows[row]:g}" if row % 2 == 0 else ""
        lines.append((f"{number:>{_AXIS - 2}} |" + "".join(letters)).rstrip())
    return [*lines, " " * (_AXIS - 1) + "+" + "-" * columns, *_level_axis(found, columns)]


def _cells(found: Map, rows: Any, columns: int) -> list[list[str]]:
    """One letter a cell, a line for each of ``rows`` [°C]; between the points by straight lines."""
    chance = _between(found.chance, found.barrel - 273.15, rows)
    across = np.linspace(found.moisture[0], found.moisture[-1], columns)
    chance = _between(chance.T, found.moisture, across).T
    return [[_letter(value, found.confidence) for value in row] for row in chance]


def _between(values: Any, at: Any, places: Any) -> Any:
    """Values along the first axis at other places."""
    return np.stack([np.interp(places, at, column) for column in values.T], axis=1)


def _letter(chance: float, confidence: float) -> str:
    if chance >= confidence:
        return str(min(int(10.0 * chance + 1e-9), 9))
    return next(letter for low, letter in _SHADES if chance >= low)


def _draw_uprights(cells: list[list[str]], found: Map) -> None:
    for _, at in uprights(found):
        column = _nearest(found.moisture, at, len(cells[0]))
        for row in cells:
            row[column] = _UPRIGHT


def _level_axis(found: Map, columns: int) -> list[str]:
    """Round moistures under the map, and what they are."""
    low, high = 100.0 * found.moisture[0], 100.0 * found.moisture[-1]
    line = [" "] * (_AXIS + columns)
    for value in _round_places(low, high, columns // _COLUMNS_BETWEEN):
        text = f"{value:g}"
        middle = _AXIS + round((value - low) / (high - low) * (columns - 1))
        start = min(middle - len(text) // 2, len(line) - len(text))
        line[start : start + len(text)] = text
    words = "% water in the pellets (wet basis)"
    return ["".join(line).rstrip(), " " * (_AXIS + max(0, columns - len(words)) // 2) + words]


def _round_places(low: float, high: float, most: int) -> Any:
    """Rising multiples of a round step between two ends, at most so many."""
    step = next(s for s in _STEPS if np.floor(high / s) - np.ceil(low / s) + 1 <= most)
    return step * np.arange(np.ceil(low / step - 1e-9), np.floor(high / step + 1e-9) + 1)


def _mark(cells: list[list[str]], rows: Any, advice: MapAdvice) -> None:
    """A star with its name for every place; where nobody should heat, on the lowest row."""
    found, columns = advice.map, len(cells[0])
    stars = {}
    for name, place, heat in places(advice):
        hot = int(np.abs(rows - (place.barrel - 273.15)).argmin())
        stars[name] = (
            hot if heat else len(rows) - 1,
            _nearest(found.moisture, place.moisture, columns),
        )
    taken = set(stars.values())
    for name, (row, column) in stars.items():
        cells[row][column] = _MARK
        for line, start, label in _labels(name, row, column):
            span = {(line, start + i) for i in range(len(label))}
            inside = 0 <= line < len(rows) and start >= 0 and start + len(label) <= columns
            if inside and not span & taken:
                cells[line][start : start + len(label)] = label
                taken |= span
                break


def _labels(name: str, row: int, column: int) -> Iterator[tuple[int, int, str]]:
    """Places for a star's name, the best first: beside it, then over and under it."""
    yield row, column + 1, f" {name} "
    yield row, column - len(name) - 2, f" {name} "
    for line in (row - 1, row + 1):
        yield line, column, f"{name} "
        yield line, column - len(name), f" {name}"


def _nearest(at: Any, value: float, count: int) -> int:
    share = (value - at[0]) / (at[-1] - at[0])
    return int(np.clip(round(share * (count - 1)), 0, count - 1))


# ---------------------------------------------------------------------- the words


def _legend(page: Page, advice: MapAdvice) -> None:
    found = advice.map
    asked, shades = percent(found.confidence), _shade_words(found.confidence)
    if found.open.any():
        page.paragraph(
            f"A digit is the chance in tenths, where it reaches the {asked} asked for. "
            f"Below that: {shades}."
        )
    else:
        page.paragraph(
            f"Nowhere on this map does the chance reach the {asked} asked for; the best is "
            f"{percent(float(found.chance.max()))}. `moldwin advise` names what would help. "
            f"Shades: {shades}."
        )
    for name, place, heat in places(advice):
        page.paragraph(f"{here(place, heat)}.", lead=f"{_MARK} {name}: ")


def _shade_words(confidence: float) -> str:
    shades = [(low, letter) for low, letter in _SHADES if 0.0 < low < confidence]
    upper = [confidence, *(low for low, _ in shades)]
    said = [
        together(f"{letter} {10 * low:.0f} to {10 * high:.3g} in 10")
        for (low, letter), high in zip(shades, upper, strict=False)
    ]
    return ", ".join([*said, "blank less"])


def _limits(page: Page, advice: MapAdvice) -> None:
    """Where the median sample meets each limit, at the moisture to mold at."""
    found = advice.map
    near = int(np.abs(found.moisture - found.target.moisture).argmin())
    barrel = [
        f"{'below' if line.side == 'low' else 'above'} {line.at[near] - 273.15:.0f} °C "
        f"{limit_words(line.name)}"
        for line in found.lines
        if np.isfinite(line.at[near])
    ]
    moisture = [
        f"{'drier' if limit.side == 'low' else 'wetter'} than {100.0 * at:.0f} % "
        f"{limit_words(limit.name)}"
        for limit, at in uprights(found)
    ]
    if not barrel and not moisture:
        return
    page.heading("WHERE HALF THE SAMPLES MEET A LIMIT")
    water = f"{100.0 * found.target.moisture:.1f}".removesuffix(".0")
    if barrel:
        page.paragraph(f"At {water} % water: {'; '.join(barrel)}.", lead=" - ")
    if moisture:
        page.paragraph(f"Upright lines: {'; '.join(moisture)}.", lead=" - ")


def _warnings(page: Page, advice: MapAdvice) -> None:
    if not advice.warnings:
        return
    page.heading("WARNINGS")
    for warning in advice.warnings:
        if warning.severity == "info":
            page.paragraph(warning.message, lead=" - ", strong="Note:")
        else:
            word = f"{SEVERITY_WORDS[warning.severity]}, {code_words(warning.code)}:"
            style = "bold red" if warning.severity == "stop" else "bold"
            page.paragraph(warning.message, lead=" - ", strong=word, style=style)
