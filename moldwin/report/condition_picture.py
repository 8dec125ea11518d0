"""The course of a jar as a picture: mass with its band, skin against heart."""

from __future__ import annotations

from typing import Any

from matplotlib.figure import Figure

from moldwin.advice.conditioned import ConditionAdvice
from moldwin.report.drawing import DOTS_PER_INCH, MARK, draw_mass, picture_bytes, titled

__all__ = ["condition_picture"]

_DASHES: dict[str, Any] = {"skin": (0, (1.5, 1.5)), "mean": "-", "heart": (0, (6, 2))}


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
    return picture_bytes(lambda: _figure(advice), kind)


def _figure(advice: ConditionAdvice) -> Figure:
    figure = Figure(figsize=(7.2, 6.4), dpi=DOTS_PER_INCH, layout="constrained")
    top, low = figure.subplots(2, 1, sharex=True)
    course, way = advice.course, advice.way
    stop = way.stop_scale if advice.tray else way.stop_mass
    draw_mass(top, course.days, course.mass, advice.tray, stop)
    for name, dash in _DASHES.items():
        water = [100.0 * w for w in getattr(course, name)]
        low.plot(course.days, water, color="black", linestyle=dash, label=name)
    low.axhline(100.0 * advice.target, color=MARK, linewidth=1.2, label="target")
    low.set_ylabel("water, % (wet basis), likely")
    low.set_xlabel("days in the jar")
    low.legend(loc="best", frameon=False)
    source = advice.plan.source
    words = f"{source.words}, {100 * source.activity:.0f} % humidity"
    titled(top, advice.job, words, advice.bundled)
    return figure
