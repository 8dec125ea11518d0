"""Runners that no simple solid is like: grooves cut into one half of a mold."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero
from moldwin.physics.solids import Solid

__all__ = ["trapezoid"]


def trapezoid(width: Any, narrow_width: Any, height: Any, length: Any) -> Solid:
    """A runner cut with a tapered mill: a trapezoid drawn out, its wide side in the parting plane.

    Parameters
    ----------
    width, narrow_width : float or array, shape (...)
        At the parting plane and at the bottom. [m]
    height : float or array, shape (...)
        Depth of the groove. [m]
    length : float or array, shape (...)
        Along the runner. [m]

    Returns
    -------
    Solid
        The melt runs the length; the shadow is width x length. [SI]

    Raises
    ------
    ValueError
        A dimension not above 0, or a bottom wider than the top, which no part comes out of.

    Notes
    -----
    The wall is the smaller of depth and mean width.

    Examples
    --------
    >>> print(f"{trapezoid(0.005, 0.004, 0.004, 0.03).volume * 1e6:.2f} cm3")
    0.54 cm3
    """
    width, narrow, height, length = (
        above_zero(name, value, "m")
        for name, value in (
            ("width", width),
            ("narrow_width", narrow_width),
            ("height", height),
            ("length", length),
        )
    )
    if np.any(narrow > width):
        raise ValueError("narrow_width must not exceed width; swapped?")
    mean = (width + narrow) / 2
    wall = np.minimum(mean, height)
    sizes = (mean * height * length, width * length, wall, length, wall)
    return Solid(*(np.asarray(size)[()] for size in sizes))
