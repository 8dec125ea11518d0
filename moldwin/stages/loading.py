"""How much plasticizer there is per polymer, and what too much and too little of it do."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.physics.antiplasticization import embrittling, stiffening
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend
from moldwin.stages.room import room_humidity

__all__ = ["embrittled", "loading", "separates", "stiffened", "stiffens_in_room"]

#: Less than this is no plasticizer (assumed). [kg/kg]
_TRACE = 0.01


def loading(bench: Bench, blend: Blend) -> Any:
    """Dissolved plasticizer of every kind per dry polymer, shape (s,). [kg/kg]"""
    found = blend.plasticizer / np.maximum(blend.polymer, 1e-9)
    return np.broadcast_to(found, (bench.count,))


def separates(bench: Bench, blend: Blend) -> Any:
    """Whether there is more than the polymer holds: some sweats out, shape (s,). [bool]"""
    return loading(bench, blend) > _limit(bench, blend, "phase_separation_share")


def stiffens_in_room(bench: Bench, blend: Blend) -> Any:
    """Whether so little of it makes a part stiffer in the air of the room, shape (s,). [bool]"""
    there = loading(bench, blend)
    little = (there > _TRACE) & (there < _limit(bench, blend, "antiplasticization_share"))
    return little & (room_humidity(bench) < bench.typical("use", "stiffening_aw"))


def stiffened(bench: Bench, blend: Blend, a_water: Any) -> Any:
    """How many times stiffer a little plasticizer makes the glass, shape (s,). [-]

    Parameters
    ----------
    bench, blend
        The job, dry shares. [kg/kg]
    a_water : array, shape (s,)
        Water activity of the part. [-]

    Returns
    -------
    array, shape (s,)
        1 where there is none of it, or enough. [-]
    """
    return bench.typical("use", "stiffening_most") ** _shown(stiffening, bench, blend, a_water)


def embrittled(bench: Bench, blend: Blend, a_water: Any) -> Any:
    """As if it were so much colder: how brittle a little plasticizer makes it, shape (s,). [K]

    Parameters
    ----------
    bench, blend
        The job, dry shares. [kg/kg]
    a_water : array, shape (s,)
        Water activity of the part. [-]

    Returns
    -------
    array, shape (s,)
        0 where there is none of it, or enough. [K]
    """
    return bench.typical("use", "embrittling_most") * _shown(embrittling, bench, blend, a_water)


def _shown(effect: Any, bench: Bench, blend: Blend, a_water: Any) -> Any:
    end = np.maximum(_limit(bench, blend, "antiplasticization_share"), 1e-3)
    aw = np.clip(a_water, 0.0, 1.0)
    return effect(loading(bench, blend), end, aw, bench.typical("use", "stiffening_aw"))


def _limit(bench: Bench, blend: Blend, key: str) -> Any:
    """A limit on the loading, each plasticizer's own by its share; glycerol's where it has none."""
    glycerol = bench.library.card("glycerol")
    total = np.maximum(blend.plasticizer, 1e-12)
    if not blend.plasticizers:
        return bench.of(glycerol, key)
    return sum(
        entry.share / total * bench.of(entry.card if entry.card.get(key) else glycerol, key)
        for entry in blend.plasticizers
    )
