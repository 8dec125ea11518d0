"""How long a molded part takes to come to the moisture of a place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.physics.diffusion import still_air_conductance
from moldwin.physics.pellet import DenseStarch, Pellet
from moldwin.physics.uptake import first_time, uptake_curve
from moldwin.stages.bench import Bench
from moldwin.stages.humidity_sources import spread_activity
from moldwin.stages.melt import melt_density
from moldwin.stages.moisture import Isotherm
from moldwin.stages.shot import Geometry
from moldwin.stages.state import Material

__all__ = ["Settling", "settling"]

_SHARES = {"days_50": 0.5, "days_90": 0.9, "days_99": 0.99}
_TIMES = np.concatenate([[0.0], 3600.0 * np.geomspace(0.2, 5e6, 121)])
#: Closer than this there is no way to go. [kg/kg]
_THERE = 1e-6
#: Wetter than this, wet basis, no wall is followed: it would be a gel again. [kg/kg]
_WETTEST = 0.64
_SHAPES = {"plate": "slab", "cylinder": "cylinder"}


@dataclass(frozen=True)
class Settling:
    """One way of a part from one moisture to that of its air; arrays of shape (s,).

    Parameters
    ----------
    times : dict of str to array
        Until 50, 90 and 99 % of the way. [s]
    asked : array
        Share of the way done at the time asked for. [-]
    """

    times: dict[str, Any]
    asked: Any


def settling(
    bench: Bench, material: Material, geometry: Geometry, way: tuple[Any, Any, Any], asked: float
) -> Settling:
    """Solve the way of the thickest wall, both faces open to still air.

    Parameters
    ----------
    bench, material, geometry
        The job, its blend, its part. [SI]
    way : tuple of array, shape (s,)
        Moisture at the start, wet basis [kg/kg], humidity of the air [-], its temperature [K].
    asked : float
        Time at which the share of the way is told. [s]

    Returns
    -------
    Settling
        [SI]
    """
    w_start, humidity, t = (np.broadcast_to(a, (bench.count,)) for a in way)
    w_start = np.minimum(w_start, _WETTEST)
    isotherm = Isotherm(bench, material.blend, t)
    humidity = spread_activity(isotherm, humidity, _WETTEST, bench.count)
    factor = material.blend.mean_over_polymers(bench, "diffusivity_factor", 1.0)
    body = Pellet(
        _SHAPES[geometry.cooling_shape],
        geometry.thickest / 2.0,
        melt_density(bench, material.blend, w_start, t) * (1.0 - w_start),
        DenseStarch(t, factor * np.ones(bench.count)),
        lambda x: isotherm.activity(np.maximum(x, 0.0) / (1.0 + np.maximum(x, 0.0))),
    )
    x_start, w_end = w_start / (1.0 - w_start), isotherm.moisture(humidity)
    x_end = w_end / (1.0 - w_end)
    film = still_air_conductance(1.0, bench.typical("use", "air_layer"), t, check=False)
    times = np.union1d(_TIMES, [asked])
    curve = uptake_curve(times, x_start, humidity, body, film, accuracy=1e-3, check=False)
    still = np.abs(x_end - x_start) < _THERE
    done = (curve.mean - x_start[:, None]) / np.where(still, 1.0, x_end - x_start)[:, None]
    found = {}
    for name, share in _SHARES.items():
        reached = first_time(times, curve.mean, x_start + share * (x_end - x_start))
        found[name] = np.where(still, 0.0, reached)
    at = done[:, int(np.searchsorted(times, asked))]
    return Settling(found, np.where(still, 1.0, np.clip(at, 0.0, 1.0)))
