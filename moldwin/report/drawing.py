"""What every picture shares: plain looks, and a file whose bytes depend on the answer alone."""

from __future__ import annotations

import io
import logging
import textwrap
import warnings
from collections.abc import Callable
from typing import Any

import matplotlib
from matplotlib.figure import Figure

from moldwin.report.words import clean

__all__ = ["picture_bytes", "titled"]

_LOOKS: dict[Any, Any] = {
    "font.family": "DejaVu Sans",
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
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_LOOKS)
        warnings.filterwarnings("ignore", "Glyph .* missing")
        draw().savefig(memory, format=kind, dpi=150, metadata=no_stamp)
    return memory.getvalue()


def titled(axes: Any, title: str, words: str, bundled: bool) -> None:
    """The job's name over the picture, at most two lines, and a line that says what is shown."""
    name = "Bundled example, not your blend" if bundled else clean(title)
    lines = textwrap.wrap(name, 60, max_lines=2, placeholder=" …")
    axes.set_title(
        "\n".join([*lines, words]), loc="left", fontsize=11, fontweight="bold", parse_math=False
    )
