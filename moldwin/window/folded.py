"""Many moistures of one job at once: a block of samples for each, one after the other.

Every stage works on an axis of samples and asks nothing of a neighbor, so that blocks of it can be
other moistures just as well. With few samples a stage takes longer to start than to work.
"""

from __future__ import annotations

from copy import copy
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from moldwin.inputs.cards import Card
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend, Entry
from moldwin.stages.melting import Barrel
from moldwin.stages.molding import Cavity
from moldwin.stages.service import moisture_margins
from moldwin.stages.shot import Ram
from moldwin.stages.state import State
from moldwin.window.hot_core import Core
from moldwin.window.mold_best import best_mold

if TYPE_CHECKING:  # windows ask this module about their moistures
    from moldwin.window.windows import Setup

__all__ = ["FoldedBench", "at_moistures", "fold_blend", "fold_state"]


#: Samples of all moistures worked on at once: more of them leave the cache and cost more each.
_AT_ONCE = 32768


class FoldedBench(Bench):
    """The very samples of another bench, so many times over.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    times : int
        How many blocks. [-]
    """

    def __init__(self, bench: Bench, times: int) -> None:
        self.__dict__.update(copy(bench).__dict__)
        self._whole, self._times = bench, times
        self._folded: dict[int, Any] = {}

    @property
    def count(self) -> int:
        """How many samples, of all blocks."""
        return self._whole.count * self._times

    def of(self, card: Card, key: str, default: float | None = None) -> Any:
        """As of the other bench, shape (blocks * s,)."""
        return self._fold(self._whole.of(card, key, default))

    def given(self, name: str, value: float | None, unit: str, **more: Any) -> Any:
        """As of the other bench, shape (blocks * s,)."""
        return self._fold(self._whole.given(name, value, unit, **more))

    def _fold(self, samples: Any) -> Any:
        """Each array folded once; kept beside it, so that its id stays its own."""
        if id(samples) not in self._folded:
            self._folded[id(samples)] = samples, np.tile(samples, self._times)
        return self._folded[id(samples)][1]


def fold_blend(blend: Blend, count: int, times: int) -> Blend:
    """Shares of (s,) samples, so many times over.

    Parameters
    ----------
    blend : Blend
        Dry shares. [kg/kg]
    count, times : int
        Samples, and how many blocks of them. [-]

    Returns
    -------
    Blend
        Dry shares, shape (blocks * s,). [kg/kg]
    """

    def fold(value: Any) -> Any:
        if isinstance(value, list):
            return [Entry(entry.card, fold(entry.share)) for entry in value]
        if isinstance(value, dict):
            return {name: fold(share) for name, share in value.items()}
        return np.tile(value, times) if np.shape(value) == (count,) else value

    return replace(blend, **{name: fold(value) for name, value in vars(blend).items()})


def fold_state(state: State) -> State:
    """A state whose arrays have shape (blocks, s), as one of (blocks * s,).

    Parameters
    ----------
    state : State
        As `Material.at` gives it for moistures of shape (blocks, 1). [SI]

    Returns
    -------
    State
        One block after the other. [SI]
    """
    arrays: dict[str, Any] = {
        name: np.ravel(getattr(state, name))
        for name in ("w_water", "tg", "a_water", "phase_water", "phase_plasticizer")
    }
    return replace(state, **arrays)


def at_moistures(setup: Setup, grid: Any) -> tuple[Any, dict[str, Any]]:
    """Best coarse chances and moisture margins of many moistures.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    grid : array, shape (n,)
        Nominal moistures, wet basis. [kg/kg]

    Returns
    -------
    tuple
        Chances (n,) [-], and margins by name, (n, s). [as the margins]

    Notes
    -----
    All at once is what one after another gives, to the last bit; an open nozzle is left to the
    latter, for its stages look at whether any sample boils.
    """
    if not setup.bench.job.press.sealed_nozzle:
        return _singly(setup, grid)
    step = max(1, _AT_ONCE // setup.bench.count)
    parts = [_folded(setup, grid[i : i + step]) for i in range(0, len(grid), step)]
    margins = {name: np.concatenate([part[1][name] for part in parts]) for name in parts[0][1]}
    return np.concatenate([part[0] for part in parts]), margins


def _singly(setup: Setup, grid: Any) -> tuple[Any, dict[str, Any]]:
    """One after another."""
    chances, margins = np.zeros(len(grid)), []
    for i, nominal in enumerate(grid):
        state, barrel, cavity, mold = setup._stages(float(nominal))
        core = setup.core(barrel, cavity, mold)
        chances[i], hottest, _ = setup.coarse_best(core)
        margins.append(setup.moisture_margins_at(state, core, hottest))
    return chances, {name: np.stack([m[name] for m in margins]) for name in margins[0]}


def _folded(setup: Setup, grid: Any) -> tuple[Any, dict[str, Any]]:
    """All at once."""
    bench, blocks, count = setup.bench, len(grid), setup.bench.count
    folded = FoldedBench(bench, blocks)
    blend = fold_blend(setup.material.blend, count, blocks)
    state = fold_state(setup.material.at(grid[:, None]))
    barrel = Barrel(folded, blend, state, setup.geometry, _fold_ram(setup.ram, count, blocks))
    cavity = Cavity(folded, blend, state, setup.geometry, barrel.onset())
    parts = [cavity.part(slice(j * count, (j + 1) * count), bench) for j in range(blocks)]
    t_mold = [best_mold(bench, part) for part in parts]
    of_each: Any = np.repeat(t_mold, count)
    barrel.t_mold = of_each
    stretch = setup.coarse_stretch(barrel)
    # the wall is the same at every moisture: any barrel tells it
    alone = Barrel(bench, setup.material.blend, setup._now, setup.geometry, setup.ram)
    longest = bench.typical("mold", "cooling_longest")
    chances, cooling = np.zeros(blocks), []
    for j, part in enumerate(parts):
        core = Core(alone, part, t_mold[j], longest)
        which = slice(j * count, (j + 1) * count)
        chances[j], hottest, _ = setup.coarse_best(core, stretch.part(which))
        cooling.append(core.cooling(np.array([hottest]))[0])
    room = np.tile(setup.room_w, blocks)
    found = moisture_margins(folded, blend, state, setup.geometry, room, np.concatenate(cooling))
    return chances, {name: margin.reshape(blocks, count) for name, margin in found.items()}


def _fold_ram(reach: Ram, count: int, times: int) -> Ram:
    arrays: dict[str, Any] = {
        name: np.tile(value, times)
        for name, value in vars(reach).items()
        if np.shape(value) == (count,)
    }
    return replace(reach, **arrays)
