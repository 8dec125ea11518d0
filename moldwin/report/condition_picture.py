"""The course of a jar as a picture: mass with its band, skin against heart."""

from __future__ import annotations

import io
import logging
import textwrap
import warnings
from typing import Any

import matplotlib
from matplotlib.figure import Figure

from moldwin.advice.conditioned import ConditionAdvice
from moldwin.report.words import clean

__all__ = ["condition_picture"]

_LOOKS: dict[Any, Any] = {
    "font.family": "DejaVu Sans",
    "font.size": 9,
    "text.hinting": "none",
    "svg.hashsalt": "moldwin",
    "svg.fonttype": "path",
}
_BAND = "#cbdfc9"


def condition_picture(advice: ConditionAdvice, kind: str) -> bytes:
    """The picture as a file's bytes; the same answer gives the same bytes.

    Parameters
    ----------
    advice : ConditionAdvice
        The answer. [-]
    kind : str
        ``"png"`` or ``"svg"``. [-]

    Returns
    -------
    bytes
        The whole file.
    """
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    no_stamp: dict[str, Any] = {"Software": None} if kind == "png" else {"Date": None}
    memory = io.BytesIO()
    with matplotlib.rc_context(), warnings.catch_warnings():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_LOOKS)
        warnings.filterwarnings("ignore", "Glyph .* missing")
        _figure(advice).savefig(memory, format=kind, dpi=150, metadata=no_stamp)
    return memory.getvalue()


def _figure(advice: ConditionAdvice) -> Figure:
    figure = Figure(figsize=(7.2, 6.4), dpi=150, layout="constrained")
    top, low = figure.subplots(2, 1, sharex=True)
    course = advice.course
    tray = advice.tray or 0.0
    low_mass, likely, high = (
        [1e3 * (getattr(m, name) + tray) for m in course.mass] for name in ("low", "likely", "high")
    )
    top.fill_between(course.days, low_mass, high, color=_BAND, label="90 % of the possible truths")
    top.plot(course.days, likely, color="black", linewidth=2.0, label="likely")
    stop = advice.way.stop_scale if tray else advice.way.stop_mass
    if stop is not None:
        words = f"stop at {1e3 * stop:.1f} g"
        top.axhline(1e3 * stop, color="black", linestyle=(0, (5, 2)), linewidth=1.2, label=words)
    top.set_ylabel("scale with tray, g" if tray else "pellets, g")
    top.legend(loc="best", frameon=False)
    for name, dash in (("skin", (0, (1.5, 1.5))), ("mean", "-"), ("heart", (0, (6, 2)))):
        low.plot(
            course.days, 100 * getattr(course, name), color="black", linestyle=dash, label=name
        )
    low.axhline(100 * advice.target, color="#157fad", linewidth=1.2, label="target")
    low.set_ylabel("water, % (wet basis), likely")
    low.set_xlabel("days in the jar")
    low.legend(loc="best", frameon=False)
    title = "Bundled example, not your blend" if advice.bundled else clean(advice.job)
    lines = textwrap.wrap(title, 60, max_lines=2, placeholder=" …")
    words = f"{advice.plan.source.words}, {100 * advice.plan.source.activity:.0f} % humidity"
    top.set_title(
        "\n".join([*lines, words]), loc="left", fontsize=11, fontweight="bold", parse_math=False
    )
    return figure
