"""What becomes of pellets and part in their room: the limits on the moisture to mold at."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend
from moldwin.stages.loading import embrittled
from moldwin.stages.molding import stiffness
from moldwin.stages.room import room_humidity, room_temperature
from moldwin.stages.shot import Geometry
from moldwin.stages.state import Material, State

__all__ = [
    "DRY_SIDE",
    "WET_SIDE",
    "brittle_margin",
    "moisture_margins",
    "room_moisture",
    "settled_margins",
]

WET_SIDE = (
    "pellets-fuse",
    "sticky",
    "soft-part",
    "drying-cracks",
    "mold-growth",
    "hot-core",
)
DRY_SIDE = ("brittle",)

#: Wall at which the drop that a part bears is stated. [m]
_REFERENCE_WALL = 0.003


def room_moisture(bench: Bench, material: Material) -> Any:
    """Moisture the part comes to in its room, wet basis, shape (s,). [kg/kg]"""
    return material.isotherm.moisture(room_humidity(bench))


def moisture_margins(
    bench: Bench,
    blend: Blend,
    state: State,
    geometry: Geometry,
    room_w: Any,
    core_cooling: Any,
) -> dict[str, Any]:
    """Margins of one moisture as pellets are stored and the part lives on, shape (s,).

    Parameters
    ----------
    bench, blend, state, geometry
        The job, dry shares, the blend at one moisture, the part. [SI]
    room_w : array, shape (s,)
        Moisture the part comes to, wet basis. [kg/kg]
    core_cooling : array, shape (s,)
        Time until the core is below its steam onset. [s]

    Returns
    -------
    dict of str to array
        Above zero is fine. [K, Pa ratio, kg/kg or s]
    """
    above = room_temperature(bench) - state.tg
    # a thicker part holds a steeper difference between skin and heart (assumed: square root)
    wall = np.sqrt(_REFERENCE_WALL / geometry.thickest)
    return {
        "pellets-fuse": bench.typical("part", "fuse_offset") - above,
        **settled_margins(bench, blend, state),
        "drying-cracks": bench.typical("part", "drying_drop") * wall - (state.w_water - room_w),
        "mold-growth": bench.typical("room", "mold_growth_aw") - state.a_water,
        "hot-core": bench.typical("mold", "cooling_longest") - core_cooling,
        "brittle": brittle_margin(bench, blend, above, state.a_water),
    }


def brittle_margin(bench: Bench, blend: Blend, above: Any, a_water: Any) -> Any:
    """How far a new part is above where it breaks without bending, shape (s,). [K]

    Parameters
    ----------
    bench, blend
        The job, dry shares. [kg/kg]
    above : array, shape (s,)
        Temperature less glass transition. [K]
    a_water : array, shape (s,)
        Water activity of the part: in dry air a little plasticizer embrittles. [-]

    Returns
    -------
    array, shape (s,)
        Above zero it bends. [K]
    """
    offset = bench.typical("part", "brittle_offset")
    return above + offset - embrittled(bench, blend, a_water)


def settled_margins(bench: Bench, blend: Blend, state: State, t: Any = None) -> dict[str, Any]:
    """What holds for anything that keeps its moisture in the room, shape (s,).

    Parameters
    ----------
    bench, blend, state
        The job, dry shares, the blend at the moisture it keeps. [SI]
    t : array, shape (s,), optional
        Temperature of another place than the room. [K]

    Returns
    -------
    dict of str to array
        Above zero is fine. [K or log of a pressure ratio]
    """
    t = room_temperature(bench) if t is None else t
    modulus = stiffness(bench, blend, state).modulus(t)
    return {
        "sticky": bench.typical("part", "stick_offset") - (t - state.tg),
        "soft-part": np.log(modulus / bench.typical("part", "soft_modulus")),
    }
