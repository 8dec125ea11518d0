"""Test specimens of the standards: their outline, and from it volume and shadow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Any

import numpy as np

from moldwin.physics._specimen_figures import DIMENSIONS, FIGURES

__all__ = ["SPECIMENS", "Specimen", "specimen"]


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
    tolerance : dict of str to tuple of float, optional
        Dimension to what it may be below and above nominal; one without is not toleranced in the
        source. [m]
    minimum : tuple of str, optional
        Dimensions that the source prints as a minimum. [-]
    standard, edition : str, optional
        The standard's title, and the edition meant, ``(from memory)`` where nobody looked. [-]

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
    tolerance: Mapping[str, tuple[float, float]] = field(default_factory=dict, hash=False)
    minimum: tuple[str, ...] = ()
    standard: str = ""
    edition: str = ""

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
    def volume_band(self) -> tuple[float, float]:
        """Volume of the leanest and of the fattest specimen within the tolerances. [m3]

        Which end of a length or a radius makes it lean is not always the same: all are tried.
        """
        names = list(self.tolerance)
        ends = [
            (getattr(self, name) - below, getattr(self, name) + above)
            for name, (below, above) in self.tolerance.items()
        ]
        found = [self._changed(dict(zip(names, some, strict=True))) for some in product(*ends)]
        return min(found), max(found)

    def _changed(self, dimensions: dict[str, Any]) -> float:
        """Volume with other dimensions; a bar keeps its one width from end to end. [m3]"""
        if self.narrow_width == self.wide_width:
            dimensions["wide_width"] = dimensions.get("narrow_width", self.narrow_width)
            dimensions["narrow_length"] = dimensions.get("overall_length", self.overall_length)
        return replace(self, **dimensions).volume

    def to_dict(self) -> dict[str, Any]:
        """As plain data, in mm and cm³, as specimens are told."""
        low, high = self.volume_band
        return {
            "name": self.name,
            **{f"{key}_mm": 1e3 * getattr(self, key) for key in DIMENSIONS},
            "tolerance_mm": {
                key: [-1e3 * below, 1e3 * above] for key, (below, above) in self.tolerance.items()
            },
            "minimum": list(self.minimum),
            "volume_cm3": 1e6 * self.volume,
            "volume_low_cm3": 1e6 * low,
            "volume_high_cm3": 1e6 * high,
            "standard": self.standard,
            "edition": self.edition,
            "source": self.source,
            "status": dict(self.status),
        }

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
    Nominal, with the tolerances that its table prints; not a drawing to cut a mold from.

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


def _entry(
    name: str,
    mm: tuple[float, ...],
    source: str,
    standard: tuple[str, str],
    *,
    memory: tuple[str, ...] = (),
    tolerance: Mapping[str, float | tuple[float, float]] | None = None,
    minimum: tuple[str, ...] = (),
) -> Specimen:
    """One specimen from the figures of its table, in mm; a single tolerance holds both ways."""
    both = {
        key: (value if isinstance(value, tuple) else (value, value))
        for key, value in (tolerance or {}).items()
    }
    return Specimen(
        name=name,
        **dict(zip(DIMENSIONS, map(_meters, mm), strict=True)),
        source=source,
        status={key: "memory" if key in memory else "read" for key in DIMENSIONS},
        tolerance={key: (_meters(low), _meters(high)) for key, (low, high) in both.items()},
        minimum=minimum,
        standard=standard[0],
        edition=standard[1],
    )


def _meters(mm: float) -> float:
    """By way of a decimal string: 80 mm is to be the very float 0.08."""
    return float(f"{mm}e-3")


_TABLE = {name: _entry(name, *figures, **more) for name, figures, more in FIGURES}

#: Names a job may give, in the order of the standards.
SPECIMENS = tuple(_TABLE)
