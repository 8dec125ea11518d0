"""What every picture shares: plain looks, and a file whose bytes depend on the answer alone."""

from __future__ import annotations

import io
import logging
import textwrap
import warnings
from collections.abc import Callable, Sequence
from typing import Any

import matplotlib
from matplotlib.figure import Figure

from moldwin.base.percentiles import Triple
from moldwin.report.words import job_heading

__all__ = [
    "BAND",
    "BROKEN_LINE",
    "DOTS_PER_INCH",
    "MARK",
    "draw_mass",
    "picture_bytes",
    "title_lines",
    "titled",
]

BAND, MARK = "#cbdfc9", "#157fad"
DOTS_PER_INCH = 150
BROKEN_LINE: Any = (0, (5, 2))
_TITLE_WIDTH, _MOST_TITLE_LINES = 60, 2

_LOOKS: dict[Any, Any] = {
    "font.family": "DejaVu Sans",  # comes with the library: the same picture everywhere
    "font.size": 9,
    "text.hinting": "none",
    "svg.hashsalt": "moldwin",
    "svg.fonttype": "path",
}


def picture_bytes(draw: Callable[[], Figure], kind: str) -> bytes:
    """A figure as a file's bytes; the same figure gives the same bytes.

    Parameters
    ----------
    draw : callable
        Makes the figure, under our looks whatever the user's own settings are. [-]
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
        matplotlib.rcdefaults()  # whatever the user's own settings are
        matplotlib.rcParams.update(_LOOKS)
        warnings.filterwarnings("ignore", "Glyph .* missing")  # a title may be in any script
        draw().savefig(memory, format=kind, dpi=DOTS_PER_INCH, metadata=no_stamp)
    return memory.getvalue()


def title_lines(title: str, bundled: bool) -> list[str]:
    """The job's name over a picture, at most two lines; words from files are never markup."""
    name = job_heading(title, bundled)
    return textwrap.wrap(name, _TITLE_WIDTH, max_lines=_MOST_TITLE_LINES, placeholder=" …")


def titled(axes: Any, title: str, words: str, bundled: bool) -> None:
    """The job's name over the picture, and a line that says what is shown.

    Parameters
    ----------
    axes : Axes
        Of matplotlib, with room above. [-]
    title, words : str
        The job's, and what is shown. [-]
    bundled : bool
        Whether the job is the shipped example. [-]
    """
    lines = [*title_lines(title, bundled), words]
    axes.set_title("\n".join(lines), loc="left", fontsize=11, fontweight="bold", parse_math=False)


def draw_mass(
    axes: Any, at: Sequence[float], mass: Sequence[Triple], tray: float | None, stop: float | None
) -> None:
    """What the scale shows over time, with its band and the mass to stop at.

    Parameters
    ----------
    axes : matplotlib axes
        Where. [-]
    at : sequence of float
        Times. [as on the axis]
    mass : sequence of Triple
        Of the pellets alone. [kg]
    tray : float or None
        Of what they lie on. [kg]
    stop : float or None
        What the scale shows when they are done, tray included. [kg]
    """
    low, likely, high = (
        [1e3 * (getattr(m, name) + (tray or 0.0)) for m in mass]
        for name in ("low", "likely", "high")
    )
    axes.fill_between(at, low, high, color=BAND, label="90 % of the possible truths")
    axes.plot(at, likely, color="black", linewidth=2.0, label="likely")
    if stop is not None:
        words = f"stop at {1e3 * stop:.1f} g"
        axes.axhline(1e3 * stop, color="black", linestyle=BROKEN_LINE, linewidth=1.2, label=words)
    axes.set_ylabel("scale with tray, g" if tray else "pellets, g")
    axes.legend(loc="best", frameon=False)
