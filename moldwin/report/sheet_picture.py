"""The window as a picture in the page: moisture across, barrel temperature up, where one stands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise

from moldwin.advice.answer import Advice
from moldwin.advice.sheet_grid import SheetColumn, SheetGrid
from moldwin.report.map_words import limit_label
from moldwin.report.numbers import percent
from moldwin.report.steps_page import moisture_words, shown
from moldwin.window.stops import HOPELESS

__all__ = ["Axes", "sheet_picture"]

_WIDTH, _HEIGHT = 440.0, 300.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 44.0, 10.0, 10.0, 42.0
_HALF = 0.5
#: Ticks no closer than this many of each axis. [-]
_MOST_TICKS = 7
#: Room that the words beside a mark take. [px]
_WORDS = 110.0


@dataclass(frozen=True)
class Axes:
    """Places of moistures [%] and barrel temperatures [°C] in the picture."""

    moisture: Sequence[float]
    barrel: Sequence[float]

    @property
    def _ends(self) -> tuple[float, float, float, float]:
        across, up = _edges(self.moisture), _edges(self.barrel)
        return across[0], across[-1], up[0], up[-1]

    def x(self, moisture_pct: float) -> float:
        """Across. [px]"""
        low, high, _, _ = self._ends
        share = (moisture_pct - low) / (high - low)
        return round(_LEFT + share * (_WIDTH - _LEFT - _RIGHT), 1)

    def y(self, barrel_c: float) -> float:
        """Down. [px]"""
        _, _, low, high = self._ends
        share = (barrel_c - low) / (high - low)
        return round(_HEIGHT - _BOTTOM - share * (_HEIGHT - _TOP - _BOTTOM), 1)


def sheet_picture(advice: Advice, grid: SheetGrid) -> str:
    """The picture as SVG markup; nothing where there is nothing to show.

    Parameters
    ----------
    advice : Advice
        The answer: present pellets and target. [-]
    grid : SheetGrid
        Chances over moisture and barrel temperature. [-]

    Returns
    -------
    str
        One ``<svg>`` element, its style in classes; empty without set points. [-]
    """
    if not grid.barrel_c:
        return ""
    axes = Axes([column.moisture_pct for column in grid.columns], grid.barrel_c)
    parts = [
        *_cells(axes, grid, advice.confidence),
        *_outline(axes, grid.columns),
        *_frame(axes),
        *_limits(axes, advice),
        *_marks(axes, advice),
        *_moving(axes),
    ]
    return (
        f'<svg viewBox="0 0 {_WIDTH:.0f} {_HEIGHT:.0f}" role="img"'
        ' aria-labelledby="pic-title pic-desc">'
        '<title id="pic-title">Window by moisture and barrel temperature</title>'
        f'<desc id="pic-desc">{escape(_in_words(advice))}</desc>{"".join(parts)}</svg>'
    )


def _in_words(advice: Advice) -> str:
    """The picture for those who do not see it."""
    barrel = shown(advice).barrel
    now = moisture_words(advice.moisture.now_pct)
    words = f"The pellets are at {now} water."
    if advice.conditioning_leads:
        words += f" The target is {moisture_words(advice.moisture.target_best_pct)}."
    if barrel.low_c is None or barrel.high_c is None:
        return f"{words} No barrel temperature reaches {percent(advice.confidence)}."
    return (
        f"{words} There the barrel works from {barrel.low_c:.0f} to {barrel.high_c:.0f} °C,"
        f" best at {barrel.best_c:.0f} °C."
    )


# --------------------------------------------------------------------------- chances


def _edges(places: Sequence[float]) -> list[float]:
    """Half way between neighbors, and as far beyond both ends."""
    if len(places) == 1:
        return [places[0] - _HALF, places[0] + _HALF]
    middle = [(a + b) / 2.0 for a, b in pairwise(places)]
    return [2.0 * places[0] - middle[0], *middle, 2.0 * places[-1] - middle[-1]]


def _level(chance: float, confidence: float) -> int:
    """0 do not heat, 1 poor, 2 fair, 3 as asked or better."""
    return sum(chance >= step for step in (HOPELESS, min(0.5, confidence), confidence))


def _cells(axes: Axes, grid: SheetGrid, confidence: float) -> Iterator[str]:
    """Cells of the same level that touch in a column are one box."""
    across, up = _edges(axes.moisture), _edges(axes.barrel)
    for i, column in enumerate(grid.columns):
        left, right = axes.x(across[i]), axes.x(across[i + 1])
        levels = [_level(c.chance, confidence) if c.heat else 0 for c in column.cells]
        first = 0
        for last in range(1, len(levels) + 1):
            if last < len(levels) and levels[last] == levels[first]:
                continue
            if levels[first]:
                top, low = axes.y(up[last]), axes.y(up[first])
                yield (
                    f'<rect class="c{levels[first]}" x="{left}" y="{top}"'
                    f' width="{right - left:.1f}" height="{low - top:.1f}"/>'
                )
            first = last


def _outline(axes: Axes, columns: Sequence[SheetColumn]) -> Iterator[str]:
    """The window's ends from moisture to moisture, a closed line for every unbroken stretch."""
    stretch: list[tuple[float, float, float]] = []
    for column in [*columns, None]:
        barrel = None if column is None else column.situation.barrel
        if column is not None and barrel is not None and barrel.low_c is not None:
            high = barrel.high_c if barrel.high_c is not None else barrel.low_c
            stretch.append((axes.x(column.moisture_pct), axes.y(barrel.low_c), axes.y(high)))
            continue
        if stretch:
            below = [f"{x} {low}" for x, low, _ in stretch]
            above = [f"{x} {high}" for x, _, high in reversed(stretch)]
            yield f'<path class="win" d="M{" L".join([*below, *above])}Z"/>'
        stretch = []


# ---------------------------------------------------------------------------- axes


def _frame(axes: Axes) -> Iterator[str]:
    bottom, right = _HEIGHT - _BOTTOM, _WIDTH - _RIGHT
    yield f'<path class="axis" d="M{_LEFT} {_TOP}V{bottom}H{right}"/>'
    for tick in _ticks(axes.barrel):
        y = axes.y(tick)
        yield f'<path class="axis" d="M{_LEFT - 4} {y}h4"/>'
        yield (
            f'<text class="tick end" x="{_LEFT - 7}" y="{y + 4}" data-tick="{tick:g}">'
            f"{tick:g}</text>"
        )
    for tick in _ticks(axes.moisture):
        x = axes.x(tick)
        yield f'<path class="axis" d="M{x} {bottom}v4"/>'
        yield f'<text class="tick mid" x="{x}" y="{bottom + 17}">{tick:g}</text>'
    middle = (_LEFT + right) / 2.0
    yield f'<text class="name mid" x="{middle}" y="{_HEIGHT - 6}">water in the pellets, %</text>'
    up = (_TOP + bottom) / 2.0
    yield (
        f'<text class="name mid" transform="translate(11 {up}) rotate(-90)">barrel, '
        '<tspan data-unit="c">°C</tspan></text>'
    )


def _ticks(places: Sequence[float]) -> list[float]:
    """Round numbers along an axis."""
    low, high = places[0], places[-1]
    steps = [0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0]
    step = next((s for s in steps if (high - low) / s <= _MOST_TICKS), steps[-1])
    first = int(-(-low // step))
    return [step * k for k in range(first, int(high // step) + 1)]


def _limits(axes: Axes, advice: Advice) -> Iterator[str]:
    """What goes wrong hotter and colder, most often first, at the picture's two corners."""
    x = _WIDTH - _RIGHT - 4.0
    for side, y in (("high", _TOP + 12.0), ("low", _HEIGHT - _BOTTOM - 6.0)):
        limits = [
            limit
            for limit in shown(advice).barrel.limits
            if limit.side == side and limit.temperature_c is not None
        ]
        if limits:
            words = limit_label(limits[0].name, side)
            yield f'<text class="lim end" x="{x}" y="{y}">{words}</text>'


# --------------------------------------------------------------------------- where one is


def _marks(axes: Axes, advice: Advice) -> Iterator[str]:
    """The pellets as they are, and the target where the answer leads with conditioning."""
    now = advice.moisture.now_pct
    leads = advice.heat and advice.conditioning_leads and advice.after_conditioning is not None
    target = advice.moisture.target_best_pct
    to_the_right = target >= now if leads else now < sum(axes.moisture) / len(axes.moisture)
    yield from _mark(axes, now, advice.now.barrel.best_c, "you are here", "dot", not to_the_right)
    if leads and advice.after_conditioning is not None:
        best = advice.after_conditioning.barrel.best_c
        yield from _mark(axes, target, best, "mold here", "goal", to_the_right, below=True)


def _mark(
    axes: Axes,
    moisture_pct: float,
    barrel_c: float | None,
    words: str,
    kind: str,
    right: bool,
    below: bool = False,
) -> Iterator[str]:
    """A mark with its words; an upright line where no temperature is named."""
    x = axes.x(moisture_pct)
    bottom = _HEIGHT - _BOTTOM
    if barrel_c is None:
        yield f'<path class="only" d="M{x} {_TOP}V{bottom}"/>'
        y = (_TOP + bottom) / 2.0 + (20.0 if below else 0.0)
    else:
        y = axes.y(barrel_c)
        if kind == "dot":
            yield f'<circle class="dot" cx="{x}" cy="{y}" r="6"/>'
        else:
            yield f'<path class="goal" d="M{x} {y - 9}l9 9l-9 9l-9 -9Z"/>'
    # words stay inside the picture, whichever side they were meant for
    right = right if _LEFT + _WORDS < x < _WIDTH - _RIGHT - _WORDS else x < _WIDTH / 2.0
    side, shift = ("start", 11.0) if right else ("end", -11.0)
    yield (
        f'<text class="here {side}" x="{x + shift}" y="{y + (18.0 if below else -6.0)}">'
        f"{words}</text>"
    )


def _moving(axes: Axes) -> Iterator[str]:
    """Cross hairs for the controls; the page's script shows and moves them."""
    bottom, right = _HEIGHT - _BOTTOM, _WIDTH - _RIGHT
    yield f'<path id="hair-x" class="hair" d="M0 {_TOP}V{bottom}" visibility="hidden"/>'
    yield f'<path id="hair-y" class="hair" d="M{_LEFT} 0H{right}" visibility="hidden"/>'
