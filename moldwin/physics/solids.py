"""Volume, shadow, wall and flow length of simple parts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero, inside

__all__ = [
    "Solid",
    "box",
    "combine",
    "cone",
    "disc",
    "dome",
    "plate",
    "rod",
    "sphere",
    "tube",
]


@dataclass(frozen=True)
class Solid:
    """What the mold, the press and the clock need to know of a part.

    Parameters
    ----------
    volume : float or array, shape (...)
        Of the material. [m3]
    projected_area : float or array, shape (...)
        Shadow on the parting plane, which the clamp holds shut. [m2]
    thickness : float or array, shape (...)
        Wall the melt flows through. [m]
    flow_length : float or array, shape (...)
        Longest way of the melt from the gate. [m]
    max_thickness : float or array, shape (...)
        Thickest wall, the last to cool. [m]

    Examples
    --------
    >>> Solid(1e-6, 1e-3, 1e-3, 0.05, 1e-3).volume
    1e-06
    """

    volume: Any
    projected_area: Any
    thickness: Any
    flow_length: Any
    max_thickness: Any


def plate(length: Any, width: Any, thickness: Any) -> Solid:
    """A flat plate, gated at one end of its length, its face in the parting plane.

    Parameters
    ----------
    length, width, thickness : float or array, shape (...)
        Of the plate. [m]

    Returns
    -------
    Solid
        The melt runs the length. [SI]

    Raises
    ------
    ValueError
        A dimension not above 0.

    Notes
    -----
    The wall is the smallest of the three, whatever it is called.

    Examples
    --------
    >>> print(f"{plate(0.08, 0.01, 0.004).volume * 1e6:.1f} cm3")
    3.2 cm3
    """
    length, width, thickness = _meters(length=length, width=width, thickness=thickness)
    wall = np.minimum(np.minimum(length, width), thickness)
    return _solid(length * width * thickness, length * width, wall, length, wall)


def box(length: Any, width: Any, height: Any) -> Solid:
    """A solid block, gated at one end of its length.

    Parameters
    ----------
    length, width, height : float or array, shape (...)
        Of the block. [m]

    Returns
    -------
    Solid
        The melt runs the length; the shadow is length x width. [SI]

    Raises
    ------
    ValueError
        A dimension not above 0.

    Notes
    -----
    Full, not hollow: an open box is a block with a smaller block subtracted (`combine`).

    Examples
    --------
    >>> print(f"{box(0.02, 0.02, 0.02).max_thickness * 1e3:.0f} mm")
    20 mm
    """
    length, width, height = _meters(length=length, width=width, height=height)
    return plate(length, width, height)


def disc(diameter: Any, thickness: Any) -> Solid:
    """A round disc, gated at its center, its face in the parting plane.

    Parameters
    ----------
    diameter, thickness : float or array, shape (...)
        Of the disc. [m]

    Returns
    -------
    Solid
        The melt runs the radius. [SI]

    Raises
    ------
    ValueError
        A dimension not above 0.

    Notes
    -----
    Gated at its edge, the melt would run the diameter: say so with a flow length of your own.

    Examples
    --------
    >>> print(f"{disc(0.05, 0.002).flow_length * 1e3:.0f} mm")
    25 mm
    """
    diameter, thickness = _meters(diameter=diameter, thickness=thickness)
    face = np.pi / 4 * diameter**2
    wall = np.minimum(diameter, thickness)
    return _solid(face * thickness, face, wall, diameter / 2, wall)


def rod(diameter: Any, length: Any) -> Solid:
    """A round rod, gated at one end, lying in the parting plane.

    Parameters
    ----------
    diameter, length : float or array, shape (...)
        Of the rod. [m]

    Returns
    -------
    Solid
        The melt runs the length; the shadow is diameter x length. [SI]

    Raises
    ------
    ValueError
        A dimension not above 0.

    Notes
    -----
    The wall is the diameter: cool it as a cylinder, not as a plate.

    Examples
    --------
    >>> print(f"{rod(0.006, 0.05).volume * 1e6:.2f} cm3")
    1.41 cm3
    """
    diameter, length = _meters(diameter=diameter, length=length)
    area = diameter * length
    return _solid(np.pi / 4 * diameter * area, area, diameter, length, diameter)


def tube(outer_diameter: Any, inner_diameter: Any, length: Any) -> Solid:
    """A round tube, gated at one end, lying in the parting plane on a core.

    Parameters
    ----------
    outer_diameter, inner_diameter, length : float or array, shape (...)
        Of the tube. [m]

    Returns
    -------
    Solid
        The melt runs the length; the shadow is the outer diameter x length, core included. [SI]

    Raises
    ------
    ValueError
        A dimension not above 0, or an inner diameter as large as the outer.

    Notes
    -----
    Standing in the mold its shadow is only the ring.

    Examples
    --------
    >>> print(f"{tube(0.02, 0.016, 0.05).thickness * 1e3:.1f} mm")
    2.0 mm
    """
    outer, inner, length = _meters(
        outer_diameter=outer_diameter, inner_diameter=inner_diameter, length=length
    )
    if np.any(inner >= outer):
        raise ValueError("inner_diameter must be below outer_diameter; swapped?")
    wall = (outer - inner) / 2
    return _solid(np.pi / 4 * (outer**2 - inner**2) * length, outer * length, wall, length, wall)


def sphere(diameter: Any) -> Solid:
    """A full ball, gated at one side.

    Parameters
    ----------
    diameter : float or array, shape (...)
        Of the ball. [m]

    Returns
    -------
    Solid
        The melt runs the diameter. [SI]

    Raises
    ------
    ValueError
        A diameter not above 0.

    Notes
    -----
    The wall is the diameter: a ball is the slowest shape to cool without bubbles or sinks.

    Examples
    --------
    >>> print(f"{sphere(0.02).volume * 1e6:.2f} cm3")
    4.19 cm3
    """
    (diameter,) = _meters(diameter=diameter)
    return _solid(np.pi / 6 * diameter**3, np.pi / 4 * diameter**2, diameter, diameter, diameter)


def cone(diameter: Any, tip_diameter: Any, length: Any) -> Solid:
    """A full cone, blunt or pointed, gated at one end, lying in the parting plane.

    Parameters
    ----------
    diameter : float or array, shape (...)
        Of the thick end. [m]
    tip_diameter : float or array, shape (...)
        Of the thin end; 0 is a point. [m]
    length : float or array, shape (...)
        From end to end. [m]

    Returns
    -------
    Solid
        The melt runs the length; its wall is the mean diameter, the thickest the larger. [SI]

    Raises
    ------
    ValueError
        A diameter or length not above 0, a negative tip, a tip thicker than the thick end.

    Notes
    -----
    A sprue is a cone.

    Examples
    --------
    >>> print(f"{cone(0.006, 0.004, 0.03).volume * 1e6:.2f} cm3")
    0.60 cm3
    """
    diameter, length = _meters(diameter=diameter, length=length)
    tip = inside("tip_diameter", tip_diameter, 0.0, np.inf, "m")
    if np.any(tip > diameter):
        raise ValueError("tip_diameter must not exceed diameter; swapped?")
    volume = np.pi / 12 * length * (diameter**2 + diameter * tip + tip**2)
    mean = (diameter + tip) / 2
    return _solid(volume, mean * length, mean, length, diameter)


def dome(diameter: Any, height: Any) -> Solid:
    """A full cap of a ball, gated at its top, its flat face in the parting plane.

    Parameters
    ----------
    diameter : float or array, shape (...)
        Of the flat face. [m]
    height : float or array, shape (...)
        From the face to the top, half the diameter at most. [m]

    Returns
    -------
    Solid
        The melt runs from the top to the rim; its wall is the mean height. [SI]

    Raises
    ------
    ValueError
        A dimension not above 0, or a cap higher than half a ball.

    Notes
    -----
    Full, not a shell: that is a dome less a smaller dome (`combine`), with a wall of your own.

    Examples
    --------
    >>> print(f"{dome(0.02, 0.01).volume * 1e6:.2f} cm3")
    2.09 cm3
    """
    diameter, height = _meters(diameter=diameter, height=height)
    if np.any(height > diameter / 2):
        raise ValueError("height of a dome must not exceed half its diameter; swapped?")
    face = np.pi / 4 * diameter**2
    volume = np.pi / 24 * height * (3 * diameter**2 + 4 * height**2)
    return _solid(volume, face, volume / face, np.hypot(diameter / 2, height), height)


def combine(
    solids: Sequence[Solid],
    counts: Sequence[int] | None = None,
    subtract_flags: Sequence[bool] | None = None,
) -> Solid:
    """One part out of several solids, some of them cut out.

    Parameters
    ----------
    solids : sequence of Solid
        The pieces. [SI]
    counts : sequence of int, optional
        How often each occurs; once if left out. [-]
    subtract_flags : sequence of bool, optional
        True where a piece is cut out of the others. [-]

    Returns
    -------
    Solid
        Volumes added and cut out; shadows of the added pieces side by side; the mean wall of the
        added pieces by volume; the longest flow length and thickest wall among them. [SI]

    Raises
    ------
    ValueError
        Lists of different lengths, a count below 1, nothing added, or more cut out than there is.

    Notes
    -----
    Pieces must not overlap, nothing knows where they lie. Shadows are not cut, because a pocket
    need not go through: the clamp force comes out on the safe side. Cutting out does not thin the
    wall either: give the wall yourself where it matters.

    Examples
    --------
    >>> label = combine([plate(0.1, 0.03, 0.002), disc(0.006, 0.002)], [1, 2], [False, True])
    >>> print(f"{label.volume * 1e6:.2f} cm3")
    5.89 cm3
    """
    counts = [1] * len(solids) if counts is None else list(counts)
    cut = [False] * len(solids) if subtract_flags is None else list(subtract_flags)
    if not len(solids) == len(counts) == len(cut):
        raise ValueError("solids, counts and subtract_flags must have the same length")
    if any(count < 1 for count in counts):
        raise ValueError(f"every count must be at least 1, got {min(counts)}")
    added = [(s, n) for s, n, c in zip(solids, counts, cut, strict=True) if not c]
    if not added:
        raise ValueError("nothing is added: at least one solid must not be subtracted")
    whole = sum(n * s.volume for s, n in added)
    hole = sum(n * s.volume for s, n, c in zip(solids, counts, cut, strict=True) if c)
    if np.any(hole >= whole):
        raise ValueError("more volume is subtracted than there is")
    walls = sum(n * s.volume * s.thickness for s, n in added)
    return _solid(
        np.asarray(whole - hole),
        np.asarray(sum(n * s.projected_area for s, n in added)),
        np.asarray(walls / whole),
        np.max(np.broadcast_arrays(*(s.flow_length for s, _ in added)), axis=0),
        np.max(np.broadcast_arrays(*(s.max_thickness for s, _ in added)), axis=0),
    )


def _meters(**dimensions: Any) -> list[Any]:
    return [above_zero(name, value, "m") for name, value in dimensions.items()]


def _solid(*values: Any) -> Solid:
    return Solid(*(np.asarray(value)[()] for value in values))
