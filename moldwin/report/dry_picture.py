"""A drying as a picture: the mass with its band, and how time and harm go with the oven."""

from __future__ import annotations

import math
from typing import Any

from matplotlib.figure import Figure

from moldwin.advice.dried import DryAdvice
from moldwin.report.drawing import (
    BAND,
    BROKEN_LINE,
    DOTS_PER_INCH,
    MARK,
    draw_mass,
    picture_bytes,
    titled,
)

__all__ = ["dry_picture"]

#: Hours that stand for "never" on the lower axis.
_LONGEST = 2000.0


def dry_picture(advice: DryAdvice, kind: str) -> bytes:
    """The picture as a file's bytes; the same answer gives the same bytes.

    Parameters
    ----------
    advice : DryAdvice
        The answer. [-]
    kind : str
        ``"png"`` or ``"svg"``. [-]

    Returns
    -------
    bytes
        The whole file.
    """
    return picture_bytes(lambda: _figure(advice), kind)


def _figure(advice: DryAdvice) -> Figure:
    figure = Figure(figsize=(7.2, 6.8), dpi=DOTS_PER_INCH, layout="constrained")
    top, low = figure.subplots(2, 1)
    _mass(top, advice)
    _ovens(low, advice)
    words = (
        f"{100 * advice.now:.1f} to {100 * advice.target:.1f} % water, "
        f"air of {advice.t - 273.15:.0f} °C"
    )
    titled(top, advice.job, words, advice.bundled)
    return figure


def _mass(axes: Any, advice: DryAdvice) -> None:
    hours = [24.0 * day for day in advice.course.days]
    stop = advice.stop_scale if advice.tray else advice.stop_mass
    draw_mass(axes, hours, advice.course.mass, advice.tray, stop)
    axes.set_xlabel("hours in the air")


def _ovens(axes: Any, advice: DryAdvice) -> None:
    at = [row.t - 273.15 for row in advice.ovens]
    low, likely, high = (
        [_drawable(getattr(row.hours, name)) for row in advice.ovens]
        for name in ("low", "likely", "high")
    )
    axes.fill_between(at, low, high, color=BAND, label="hours to the target, 90 %")
    axes.plot(at, likely, color="black", linewidth=2.0, marker="o", label="likely")
    axes.set_yscale("log")
    axes.set_ylabel("hours to the target")
    axes.set_xlabel("air, °C")
    if advice.warmest is not None:
        edge = advice.warmest - 273.15
        words = f"harmless up to {edge:.0f} °C in {10 * advice.confidence:.2g} of 10"
        axes.axvline(edge, color=MARK, linestyle=BROKEN_LINE, linewidth=1.5, label=words)
    axes.legend(loc="best", frameon=False)


def _drawable(hours: float) -> float:
    return max(min(hours, _LONGEST), 1e-2) if math.isfinite(hours) else _LONGEST
