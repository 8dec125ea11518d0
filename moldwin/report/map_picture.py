"""The map as a picture: contours of chance, limits as labeled lines, readable in gray."""

from __future__ import annotations

import textwrap
from typing import Any

import numpy as np
from matplotlib import patheffects
from matplotlib.axes import Axes
from matplotlib.colors import ListedColormap
from matplotlib.figure import Figure

from moldwin.advice.mapped import MapAdvice
from moldwin.report.drawing import DOTS_PER_INCH, picture_bytes, title_lines
from moldwin.report.map_labels import Labels
from moldwin.report.map_words import here, limit_label, moisture_label, places, uprights
from moldwin.report.numbers import percent
from moldwin.report.words import clean
from moldwin.window.mapping import Map, Place

__all__ = ["COLORS", "map_picture"]

#: From none to every sample, a tenth a step: evenly spaced in CIELAB lightness (97 to 50), so that
#: a gray print and every kind of color vision keep the order; black stays readable on all of them.
COLORS = (
    "#f8f8f2",
    "#e4ebd9",
    "#cbdfc9",
    "#b0d3be",
    "#93c7b7",
    "#76bab3",
    "#58adb2",
    "#3b9fb1",
    "#218fb0",
    "#157fad",
)
_LEVELS = np.linspace(0.0, 1.0, len(COLORS) + 1)
_INCHES = (8.0, 6.4)
#: Dash patterns, told apart without color; the only unbroken line is the outline of the window.
_DASHES: dict[str, Any] = {
    "browning": (0, (8, 2)),
    "fill": (0, (4, 1.5)),
    "weld": (0, (8, 2, 1.5, 2)),
    "granules": (0, (8, 2, 1.5, 2, 1.5, 2)),
    "steam": (0, (1.5, 1.5)),
    "fumes": (0, (12, 3)),
    "fiber-scorch": (0, (1.5, 4)),
    "heater": (0, (5, 1.5, 5, 5)),
}
_ANY_DASH: Any = (0, (3, 3))
_UPRIGHT_DASHES: tuple[Any, ...] = ((0, (2, 2)), (0, (5, 1.5)), (0, (1, 1)), (0, (6, 2, 2, 2)))
_SMALL, _LARGE = 8, 12
_OUTLINE = 2.4
_HALO = [patheffects.withStroke(linewidth=2.5, foreground="white")]
#: From one mark to the other; free space at both in points.
_ARROW: dict[str, Any] = {
    "arrowstyle": "-|>,head_length=0.7,head_width=0.35",
    "mutation_scale": 14.0,
    "facecolor": "black",
    "linewidth": 1.6,
    "shrinkA": 8.0,
    "shrinkB": 11.0,
    "path_effects": [patheffects.withStroke(linewidth=4.0, foreground="white")],
}
_INK: dict[str, Any] = {"color": "black", "path_effects": _HALO}
_WORDS_WIDTH = 112

_Spot = tuple[float, float]


def map_picture(advice: MapAdvice, kind: str) -> bytes:
    """The picture as a file's bytes; the same map gives the same bytes.

    Parameters
    ----------
    advice : MapAdvice
        The map. [-]
    kind : str
        ``"png"`` or ``"svg"``. [-]

    Returns
    -------
    bytes
        The whole file.
    """
    return picture_bytes(lambda: _figure(advice), kind)


def _figure(advice: MapAdvice) -> Figure:
    figure = Figure(figsize=_INCHES, dpi=DOTS_PER_INCH, layout="constrained")
    axes = figure.add_subplot()
    _contours(figure, axes, advice.map)
    _titles(axes, advice)
    _settle(figure)
    labels = Labels(axes, _HALO)
    marks = _marks(axes, advice, labels)
    drawn, standing = _limits(axes, advice.map)
    for curve in axes.get_lines():
        labels.avoid(curve)
    _arrow(axes, advice, labels)
    for at, name in marks:
        labels.beside(at, name, _LARGE - 1)
    for curve, words in drawn:
        labels.along(curve, words, _SMALL)
    for curve, across, words in standing:
        labels.upright(curve, across, words, _SMALL)
    labels.legend()
    return figure


def _settle(figure: Figure) -> None:
    """Lay it out once, for the labels to be measured in; what is added lies inside the axes."""
    layout = figure.get_layout_engine()
    if layout is not None:
        layout.execute(figure)  # a whole drawing without ink takes a quarter longer
    figure.set_layout_engine("none")


def _contours(figure: Figure, axes: Axes, found: Map) -> None:
    water, celsius = 100.0 * found.moisture, found.barrel - 273.15
    shades = ListedColormap(COLORS)
    filled = axes.contourf(water, celsius, found.chance, levels=_LEVELS, cmap=shades)
    if found.open.any() and not found.open.all():
        axes.contour(
            water,
            celsius,
            found.chance,
            levels=[found.confidence],
            colors="black",
            linewidths=_OUTLINE,
        )
    bar = figure.colorbar(filled, ax=axes, ticks=_LEVELS, pad=0.02, aspect=30)
    bar.ax.set_yticklabels([f"{100 * level:.0f}" for level in _LEVELS])
    bar.set_label("chance that every limit holds, %")
    bar.ax.axhline(found.confidence, color="black", linewidth=_OUTLINE)


def _titles(axes: Axes, advice: MapAdvice) -> None:
    """The job in large letters, under it what is marked; words from files are never markup."""
    small = [line for words in _said(advice) for line in textwrap.wrap(words, _WORDS_WIDTH)]
    axes.annotate(
        "\n".join(small),
        (0.0, 1.0),
        xycoords="axes fraction",
        xytext=(0.0, 5.0),
        textcoords="offset points",
        va="bottom",
        fontsize=_SMALL,
        linespacing=1.3,
        parse_math=False,
    )
    axes.set_title(
        "\n".join(title_lines(advice.job, advice.bundled)),
        fontsize=_LARGE,
        fontweight="bold",
        loc="left",
        pad=9.0 + 1.3 * 1.15 * _SMALL * len(small),
        parse_math=False,
    )
    axes.set_xlabel("water in the pellets, % (wet basis)")
    axes.set_ylabel("barrel set point, °C, each point at its best soak")


def _said(advice: MapAdvice) -> list[str]:
    found = advice.map
    said = [f"STOP: {clean(r.message)}" for r in advice.warnings if r.severity == "stop"]
    said += [f"{name}: {here(place, heat)}" for name, place, heat in places(advice)]
    asked = percent(found.confidence)
    if found.open.any():
        said.append(f"Thick outline: where the chance reaches the {asked} asked for.")
    else:
        best = percent(float(found.chance.max()))
        said.append(f"Nowhere does the chance reach the {asked} asked for; the best is {best}.")
    said.append("Dashed lines: where half the samples meet a limit.")
    return said


def _marks(axes: Axes, advice: MapAdvice, labels: Labels) -> list[tuple[_Spot, str]]:
    """Where one is and where to go; on the lower edge where nobody should heat."""
    marked = []
    for name, place, heat in places(advice):
        at = _spot(advice.map, place, heat)
        star = "target" in name
        axes.plot(
            *at,
            marker="*" if star else "o",
            markersize=17 if star else 10,
            markerfacecolor="white",
            markeredgecolor="black",
            markeredgewidth=1.4,
            linestyle="none",
            clip_on=False,
            zorder=6,
        )
        labels.keep_free(at)
        marked.append((at, name))
    return marked


def _arrow(axes: Axes, advice: MapAdvice, labels: Labels) -> None:
    """From where one is to where to go, unless nobody should heat there."""
    if advice.there or not advice.heat_target:
        return
    found = advice.map
    start, end = _spot(found, found.now, advice.heat_now), _spot(found, found.target, True)
    axes.annotate(
        "",
        xy=end,
        xytext=start,
        arrowprops=_ARROW,
        zorder=5,
    )
    labels.avoid_between(start, end)


def _spot(found: Map, place: Place, heat: bool) -> _Spot:
    return 100.0 * place.moisture, (place.barrel if heat else found.barrel[0]) - 273.15


def _limits(axes: Axes, found: Map) -> tuple[list[tuple[Any, str]], list[tuple[Any, float, str]]]:
    """The curves of the barrel's limits and the upright ones of moisture, each with its name."""
    drawn = []
    for line in found.lines:
        if np.isfinite(line.at).any():
            dash = _DASHES.get(line.name, _ANY_DASH)
            (curve,) = axes.plot(
                100.0 * found.moisture, line.at - 273.15, linestyle=dash, linewidth=1.4, **_INK
            )
            drawn.append((curve, limit_label(line.name, line.side)))
    standing = []
    for number, (limit, at) in enumerate(uprights(found)):
        dash = _UPRIGHT_DASHES[number % len(_UPRIGHT_DASHES)]
        curve = axes.axvline(100.0 * at, linestyle=dash, linewidth=1.0, **_INK)
        standing.append((curve, 100.0 * at, moisture_label(limit.name, limit.side)))
    return drawn, standing
