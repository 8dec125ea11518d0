"""What the mold is made of: how it leads heat away, and how hot it may be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.stages.bench import Bench

__all__ = ["MoldMaterial", "mold_material"]


@dataclass(frozen=True)
class MoldMaterial:
    """A mold's material; arrays have shape (s,).

    ``effusivity`` [J/m²/K/s^0.5] rules the first seconds, ``diffusivity`` [m²/s] and ``wall`` [m],
    the thickness behind the part, what comes after; ``temperature_max`` is what it bears [K].
    """

    effusivity: Any
    diffusivity: Any
    wall: Any
    temperature_max: Any


def mold_material(bench: Bench) -> MoldMaterial | None:
    """The material that the job names; ``None`` where it names none: a mold of metal, then."""
    name = bench.job.mold.material
    if name is None:
        return None
    card = bench.card(name)
    conductivity, heat = bench.of(card, "conductivity"), bench.of(card, "volumetric_heat")
    return MoldMaterial(
        effusivity=np.sqrt(conductivity * heat),
        diffusivity=conductivity / heat,
        wall=bench.typical("mold", "wall"),
        temperature_max=bench.of(card, "temperature_max"),
    )
