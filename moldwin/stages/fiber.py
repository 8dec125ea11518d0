"""Chopped fiber in the blend: how stiff, how strong, how wet, how thick it makes it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from moldwin.physics.composites import (
    carried_share,
    critical_length,
    fiber_strength,
    halpin_tsai,
    random_in_plane,
    volume_share,
)
from moldwin.physics.sorption import gab
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend, Entry
from moldwin.stages.filling import thickening
from moldwin.stages.melt import melt_density
from moldwin.stages.moisture import AW_TOP
from moldwin.stages.shot import Geometry, nozzle_bore
from moldwin.stages.state import State

__all__ = [
    "Reinforcement",
    "cut_length",
    "longest_fiber",
    "matrix_of",
    "reinforcement",
    "thickens",
]

#: Across a fiber: the shape factor of a round one (Halpin-Tsai).
_ROUND = 2.0
#: What a yielding matrix bears in shear, of its strength when pulled (von Mises).
_SHEAR_OVER_PULL = 1.0 / np.sqrt(3.0)
#: How far the mean length of fiber cut by hand is off, of itself (assumed), and no less than [m].
_UNEVEN, _SHORTEST = 0.15, 1e-6


def matrix_of(blend: Blend) -> Blend:
    """The blend without its added fiber: dry shares of what is left, shape (s,). [kg/kg]"""
    left = 1.0 - fiber_share(blend)

    def alone(entries: list[Entry]) -> list[Entry]:
        kept = (e for e in entries if e.card.role != "fiber")
        return [Entry(e.card, e.share / left) for e in kept]

    plain = ("alginate", "protein", "ash", "salt", "inert", "calcium")
    return replace(
        blend,
        polymers=alone(blend.polymers),
        plasticizers=alone(blend.plasticizers),
        fibrous=alone(blend.fibrous),
        **{name: getattr(blend, name) / left for name in plain},
    )


def fiber_share(blend: Blend) -> Any:
    """Added fiber of the dry solids, shape (s,). [kg/kg]"""
    return sum((e.share for e in _fibers(blend)), start=np.zeros(1))


@dataclass(frozen=True)
class Reinforcement:
    """The added fiber as it lies in a part; arrays of shape (s,).

    Parameters
    ----------
    names : tuple of str
        Titles of their cards. [-]
    mass_share : array
        Dry fiber of the dry solids. [kg/kg]
    phi : array
        Volume share in the part. [m3/m3]
    water : array
        Water that the fiber holds, of its dry mass. [kg/kg]
    modulus, strength, length, diameter : array
        Of the fiber, means by share where there are several. [SI]
    shear, orientation : array
        Bond between fiber and matrix [Pa], share of the fiber along a pull [-].
    """

    names: tuple[str, ...]
    mass_share: Any
    phi: Any
    water: Any
    modulus: Any
    strength: Any
    length: Any
    diameter: Any
    shear: Any
    orientation: Any

    def stiffened(self, matrix: Any) -> Any:
        """Modulus of the part from that of its matrix, shape (s,). [Pa]"""
        zeta = 2.0 * self.length / self.diameter
        along = halpin_tsai(self.modulus, matrix, self.phi, zeta)
        across = halpin_tsai(self.modulus, matrix, self.phi, _ROUND)
        return random_in_plane(along, across)

    def strengthened(self, matrix: Any) -> Any:
        """Strength of the part from that of its matrix, shape (s,). [Pa]"""
        carried = carried_share(self.length, self.critical_length(matrix))
        return fiber_strength(self.phi, self.strength, carried, self.orientation, matrix)

    def critical_length(self, matrix: Any) -> Any:
        """Length from which a fiber breaks instead of pulling out, shape (s,). [m]"""
        shear = np.minimum(self.shear, _SHEAR_OVER_PULL * matrix)
        return critical_length(self.strength, self.diameter, shear)


def reinforcement(
    bench: Bench, blend: Blend, w_water: Any, a_water: Any, t: Any
) -> Reinforcement | None:
    """The fiber of a blend in its place; ``None`` where there is none.

    Parameters
    ----------
    bench, blend
        The job, dry shares. [kg/kg]
    w_water, a_water, t : array, shape (s,)
        Water of the part, wet basis [kg/kg], the air's humidity [-], its temperature [K].

    Returns
    -------
    Reinforcement or None
        [SI]
    """
    fibers = _fibers(blend)
    whole = fiber_share(blend)
    if not fibers or not np.any(whole > 0.0):
        return None

    def mean(key: str) -> Any:
        total = sum(e.share * bench.of(e.card, key) for e in fibers)
        return total / np.maximum(whole, 1e-12)

    water = sum(e.share * _water(bench, e, a_water) for e in fibers) / np.maximum(whole, 1e-12)
    in_part = np.clip(whole * (1.0 + water) * (1.0 - w_water), 0.0, 1.0)
    return Reinforcement(
        names=tuple(e.card.title for e in fibers),
        mass_share=whole + np.zeros(bench.count),
        phi=volume_share(
            in_part, mean("density"), melt_density(bench, matrix_of(blend), w_water, t)
        ),
        water=water,
        modulus=mean("fiber_modulus"),
        strength=mean("fiber_strength"),
        length=sum(e.share * _length(bench, e) for e in fibers) / np.maximum(whole, 1e-12),
        diameter=mean("fiber_diameter"),
        shear=bench.typical("part", "interface_shear"),
        orientation=bench.typical("part", "fiber_orientation"),
    )


def thickens(bench: Bench, blend: Blend, state: State) -> Any:
    """How many times more viscous the fiber makes the melt, shape (s,); inf where it jams. [-]"""
    with_fiber = thickening(bench, blend, state)
    without = thickening(bench, matrix_of(blend), state)
    return with_fiber / np.where(np.isfinite(without), without, 1.0)


def longest_fiber(bench: Bench, geometry: Geometry) -> tuple[Any, str]:
    """Longest fiber that passes [m], shape (s,), and the narrowest passage that decides."""
    passages = {"nozzle": nozzle_bore(bench), "wall": geometry.thickness}
    if bench.job.mold.gate_thickness is not None:
        passages["gate"] = bench.job.mold.gate_thickness
    name = min(passages, key=lambda passage: float(np.median(passages[passage])))
    return bench.typical("part", "fiber_passage") * passages[name], name


def _fibers(blend: Blend) -> list[Entry]:
    return [e for e in blend.fibrous if e.card.role == "fiber"]


def cut_length(bench: Bench, name: str) -> float | None:
    """Mean length of a fiber as cut, by mass; None where the job does not say. [m]"""
    rows = [row for row in bench.job.ingredients if row.card == name and row.length is not None]
    if not rows:
        return None
    return sum(row.mass * (row.length or 0.0) for row in rows) / sum(row.mass for row in rows)


def _length(bench: Bench, entry: Entry) -> Any:
    """Of one fiber as it lies in the part: as cut less what breaks, or its card's, shape (s,)."""
    cut = cut_length(bench, entry.card.name)
    if cut is None:
        return bench.of(entry.card, "fiber_length")
    as_cut = bench.given(f"ingredient.{entry.card.name}.length", cut, "m", u=_UNEVEN * cut)
    return np.maximum(as_cut, _SHORTEST) * bench.typical("part", "fiber_left")


def _water(bench: Bench, entry: Entry, a_water: Any) -> Any:
    """Water of one fiber by its own isotherm, of its dry mass, shape (s,). [kg/kg]"""
    xm, c, k = (bench.of(entry.card, key) for key in ("xm", "c", "k"))
    return gab(np.minimum(a_water, AW_TOP), xm, c, np.minimum(k, 0.999 / AW_TOP))
