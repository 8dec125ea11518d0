"""Test specimens of the standards: their outline, and from it volume and shadow."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

__all__ = ["SPECIMENS", "Specimen", "specimen"]

_ISO_TABLE = "materials-testing supplier's specimen table"
_ASTM_TABLE = "public supplier's table of ASTM D638"


@dataclass(frozen=True)
class Specimen:
    """A flat specimen, symmetric both ways, at nominal dimensions.

    From its middle outward: a narrow part, an arc tangent to its edge and bending outward, for
    some a second arc bending back tangent to the wide end, then the wide end.

    Parameters
    ----------
    name : str
        Standard and type. [-]
    overall_length : float
        From end to end. [m]
    narrow_length : float
        Of the part with parallel narrow edges. [m]
    narrow_width, wide_width : float
        Of the middle, and of the ends. [m]
    thickness : float
        The same all over. [m]
    radius : float
        Of the arc at the narrow part; 0 for a bar. [m]
    outer_radius : float
        Of the arc at the wide end; 0 where the shoulder has only one. [m]
    source : str
        Where the dimensions come from. [-]
    status : dict of str to str
        Dimension to ``"read"`` or ``"memory"``. [-]

    Notes
    -----
    Dimensions printed as a minimum are taken at it.

    Examples
    --------
    >>> bar = specimen("ISO 527-2 1BA")
    >>> print(f"{bar.volume * 1e6:.2f} cm3")
    1.04 cm3
    """

    name: str
    overall_length: float
    narrow_length: float
    narrow_width: float
    wide_width: float
    thickness: float
    radius: float
    outer_radius: float
    source: str
    status: dict[str, str] = field(hash=False)

    @property
    def shoulder(self) -> tuple[float, float]:
        """Length along the axis of the first and of the second arc. [m]"""
        rise = (self.wide_width - self.narrow_width) / 2
        if rise == 0:
            return 0.0, 0.0
        if self.outer_radius == 0:
            return float(np.sqrt(rise * (2 * self.radius - rise))), 0.0
        # The two arcs meet on the line between their centers: both turn by the same angle.
        both = self.radius + self.outer_radius
        length = float(np.sqrt(rise * (2 * both - rise)))
        return length * self.radius / both, length * self.outer_radius / both

    @property
    def distance_between_wide_ends(self) -> float:
        """Where the wide, parallel parts begin: l2 of the ISO drawings. [m]"""
        return self.narrow_length + 2 * sum(self.shoulder)

    def width_at(self, x: Any) -> Any:
        """Width of the outline across the axis.

        Parameters
        ----------
        x : float or array, shape (...)
            Distance from the middle, either way. [m]

        Returns
        -------
        float or array, shape (...)
            Width; 0 beyond the ends. [m]

        Examples
        --------
        >>> print(f"{specimen('ISO 527-2 1A').width_at(0.0) * 1e3:.0f} mm")
        10 mm
        """
        x = np.abs(np.asarray(x, float))
        first, second = self.shoulder
        u = np.clip(x - self.narrow_length / 2, 0.0, first)
        v = np.clip(self.distance_between_wide_ends / 2 - x, 0.0, second)
        rising = self.narrow_width + 2 * (self.radius - np.sqrt(self.radius**2 - u**2))
        closing = self.wide_width - 2 * (self.outer_radius - np.sqrt(self.outer_radius**2 - v**2))
        width = np.where(x <= self.narrow_length / 2 + first, rising, closing)
        return np.where(x > self.overall_length / 2, 0.0 * x, width)[()]

    @property
    def area(self) -> float:
        """Area of the outline, in closed form. [m2]"""
        first, second = self.shoulder
        ends = self.overall_length - self.distance_between_wide_ends
        # Twice per shoulder, two shoulders: the strip beside each arc, less or plus its segment.
        rising = (self.narrow_width / 2 + self.radius) * first - _under_arc(self.radius, first)
        closing = (self.wide_width / 2 - self.outer_radius) * second + _under_arc(
            self.outer_radius, second
        )
        return (
            self.narrow_length * self.narrow_width + ends * self.wide_width + 4 * (rising + closing)
        )

    @property
    def volume(self) -> float:
        """Volume of the specimen. [m3]"""
        return self.area * self.thickness

    @property
    def flow_length(self) -> float:
        """Way of the melt, gated at one end: the overall length. [m]"""
        return self.overall_length


def specimen(name: str) -> Specimen:
    """The specimen of a standard, by name.

    Parameters
    ----------
    name : str
        One of ``SPECIMENS``. [-]

    Returns
    -------
    Specimen
        Nominal dimensions and what follows from them. [SI]

    Raises
    ------
    ValueError
        An unknown name; the known ones are listed.

    Notes
    -----
    Nominal, not a drawing to cut a mold from: the standards have the tolerances.

    References
    ----------
    ISO 527-2, ISO 178, ISO 20753, ASTM D638; dimensions as given by each specimen's ``source``.

    Examples
    --------
    >>> print(f"{specimen('ISO 178 bar').volume * 1e6:.1f} cm3")
    3.2 cm3
    """
    if name not in _TABLE:
        raise ValueError(f"unknown specimen {name!r}; known: {', '.join(SPECIMENS)}")
    return _TABLE[name]


def _under_arc(radius: float, length: float) -> float:
    """Area under a circle's arc from its top over ``length``, down to its center's height."""
    if length == 0:
        return 0.0
    angle = np.arcsin(length / radius)
    return float((length * np.sqrt(radius**2 - length**2) + radius**2 * angle) / 2)


def _entry(name: str, mm: tuple[float, ...], source: str, memory: tuple[str, ...] = ()) -> Specimen:
    # By way of a decimal string: 80 mm is to be the very float 0.08.
    overall, narrow_length, narrow, wide, thickness, radius, outer = (float(f"{d}e-3") for d in mm)
    status = {key: "memory" if key in memory else "read" for key in _DIMENSIONS}
    return Specimen(
        name, overall, narrow_length, narrow, wide, thickness, radius, outer, source, status
    )


_DIMENSIONS = (
    "overall_length",
    "narrow_length",
    "narrow_width",
    "wide_width",
    "thickness",
    "radius",
    "outer_radius",
)
_ONE_ARC = ("radius",)
_TWO_ARCS = ("radius", "outer_radius")
_BAR_TABLE = "table of bars for ISO 179; that ISO 178 bends the same bar is from memory"

# Dimensions in mm, in the order of _DIMENSIONS.
_TABLE = {
    entry.name: entry
    for entry in (
        _entry("ISO 527-2 1A", (170, 80, 10, 20, 4, 24, 0), _ISO_TABLE, _ONE_ARC),
        _entry("ISO 527-2 1B", (150, 60, 10, 20, 4, 60, 0), _ISO_TABLE, _ONE_ARC),
        _entry("ISO 527-2 1BA", (75, 30, 5, 10, 2, 30, 0), _ISO_TABLE, _ONE_ARC),
        _entry("ISO 527-2 1BB", (30, 12, 2, 4, 2, 12, 0), _ISO_TABLE, _ONE_ARC),
        _entry("ISO 527-2 5A", (75, 25, 4, 12.5, 2, 12.5, 8), _ISO_TABLE, _TWO_ARCS),
        _entry("ISO 527-2 5B", (35, 12, 2, 6, 1, 3, 3), _ISO_TABLE, _TWO_ARCS),
        _entry("ASTM D638 I", (165, 57, 13, 19, 3.2, 76, 0), _ASTM_TABLE),
        _entry("ASTM D638 II", (183, 57, 6, 19, 3.2, 76, 0), _ASTM_TABLE),
        _entry("ASTM D638 III", (246, 57, 19, 29, 7, 76, 0), _ASTM_TABLE),
        _entry("ASTM D638 IV", (115, 33, 6, 19, 3.2, 14, 25), _ASTM_TABLE),
        _entry("ASTM D638 V", (63.5, 9.53, 3.18, 9.53, 3.2, 12.7, 0), _ASTM_TABLE),
        _entry("ISO 178 bar", (80, 80, 10, 10, 4, 0, 0), _BAR_TABLE),
    )
}

#: Names a job may give, in the order of the standards.
SPECIMENS = tuple(_TABLE)
