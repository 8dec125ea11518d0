"""Many settings of one job worked out at once, the moistures they share only once.

A block of samples stands for one moisture at one force, as in `moldwin.window.folded`; the set
points tried at it lie along the first axis. With a thousand samples a stage takes longer to start
than to work, so that settings one after another cost two to three times as much.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Protocol

import numpy as np

from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend
from moldwin.stages.melt import melt_density
from moldwin.stages.melting import Barrel
from moldwin.stages.molding import Cavity
from moldwin.stages.service import moisture_margins
from moldwin.stages.shot import Ram
from moldwin.window.folded import FoldedBench, fold_blend, fold_state
from moldwin.window.mold_best import best_mold
from moldwin.window.windows import Setup

__all__ = ["Blocks", "Worked", "in_chunks"]

#: Numbers in one array, at the most: more of them leave the cache and cost more each.
_AT_ONCE = 32768
_OF_MOLD = ("soft-at-ejection", "steam-at-ejection", "condensation")


class _Setting(Protocol):
    """What `Blocks` ask of a setting; SI."""

    @property
    def moisture(self) -> float: ...
    @property
    def barrel(self) -> float: ...
    @property
    def soak(self) -> float: ...
    @property
    def mold(self) -> float | None: ...
    @property
    def force(self) -> float | None: ...


_Key = tuple[float, float | None]


def in_chunks(
    settings: Sequence[_Setting], short: Sequence[bool], setup: Setup
) -> Iterator[list[list[int]]]:
    """Indices of the settings, a list for each block, in chunks that are worked out at once.

    Parameters
    ----------
    settings : sequence
        Of one job. [SI]
    short : sequence of bool
        Where a short part may be told: these come first in their block. [-]
    setup : Setup
        The job. [-]

    Returns
    -------
    iterator of list of list of int
        One list a moisture and force. An open nozzle's come one by one: its stages look at
        whether any sample boils. [-]
    """
    if not setup.bench.job.press.sealed_nozzle:
        yield from ([[i]] for i in range(len(settings)))
        return
    most = max(1, _AT_ONCE // setup.bench.count)
    by_key: dict[_Key, list[int]] = {}
    for i in sorted(range(len(settings)), key=lambda i: not short[i]):
        by_key.setdefault((settings[i].moisture, settings[i].force), []).append(i)
    blocks = [own[i : i + most] for own in by_key.values() for i in range(0, len(own), most)]
    chunk: list[list[int]] = []
    # like beside like: a chunk does for all of its blocks what one of them asks
    for block in sorted(blocks, key=lambda block: (len(block), short[block[0]])):
        if chunk and (len(chunk) + 1) * len(block) > most:
            yield chunk
            chunk = []
        chunk.append(block)
    if chunk:
        yield chunk


class Blocks:
    """Moistures, each at one force, made ready for any settings; arrays of shape (blocks * s,).

    Parameters
    ----------
    setup : Setup
        The job. [-]
    keys : sequence of tuple
        Moisture, wet basis [kg/kg], and force [N], None for the job's.
    """

    def __init__(self, setup: Setup, keys: Sequence[_Key]) -> None:
        self.setup, self.count = setup, setup.bench.count
        times, material = len(keys), setup.material
        self.bench: Bench = setup.bench
        self.blend: Blend = material.blend
        state, room_w = material.at(keys[0][0]), setup.room_w
        if times > 1:
            self.bench = FoldedBench(setup.bench, times)
            self.blend = fold_blend(material.blend, self.count, times)
            moistures: Any = np.array([[moisture] for moisture, _ in keys])
            state = fold_state(material.at(moistures))
            room_w = np.tile(room_w, times)
        self.state, reach = state, self._ram([force for _, force in keys])
        self.barrel = Barrel(self.bench, self.blend, state, setup.geometry, reach)
        self.cavity = Cavity(self.bench, self.blend, state, setup.geometry, self.barrel.onset())
        #: Margins of the part, whatever the temperatures.
        self.part = moisture_margins(
            self.bench, self.blend, state, setup.geometry, room_w, np.float64(0.0)
        )
        del self.part["hot-core"]  # judged where a cooling time is known

    def _ram(self, forces: Sequence[float | None]) -> Ram:
        reach = self.setup.ram
        pressures = [reach.pressure if f is None else f / reach.area for f in forces]
        if len(forces) == 1:
            return replace(reach, pressure=pressures[0])
        arrays: dict[str, Any] = {
            name: np.tile(value, len(forces))
            for name, value in vars(reach).items()
            if np.shape(value) == (self.count,)
        }
        whole = [np.broadcast_to(pressure, (self.count,)) for pressure in pressures]
        return replace(reach, **arrays | {"pressure": np.concatenate(whole)})

    def which(self, block: int) -> slice:
        """Where a block's samples lie."""
        return slice(block * self.count, (block + 1) * self.count)

    def cavity_of(self, block: int) -> Cavity:
        """The cavity of one block alone."""
        if self.bench is self.setup.bench:
            return self.cavity
        return self.cavity.part(self.which(block), self.setup.bench)

    def _mold(self, setting: _Setting, block: int) -> float:
        """As it was run, else as the job has it, else as it is best. [K]"""
        held = self.setup.bench.job.mold.temperature if setting.mold is None else setting.mold
        return self._best_molds[block] if held is None else held

    @cached_property
    def _best_molds(self) -> list[float]:
        """Mold temperature at its best, block by block. [K]"""
        times = self.bench.count // self.count
        return [best_mold(self.setup.bench, self.cavity_of(block)) for block in range(times)]

    def at(self, settings: Sequence[Sequence[_Setting]], short: int) -> Worked:
        """Settings worked out.

        Parameters
        ----------
        settings : sequence of sequence, shape (t, blocks)
            Of each block as many. [SI]
        short : int
            In so many of the first rows a short part may be told.
        """
        barrel: Any = self.barrel
        molds = [[self._mold(setting, b) for b, setting in enumerate(row)] for row in settings]
        t_set, soak, t_mold = (
            np.repeat(np.asarray(rows, dtype=float), self.count, axis=1)
            for rows in (
                [[s.barrel for s in row] for row in settings],
                [[s.soak for s in row] for row in settings],
                molds,
            )
        )
        if t_set.shape == (1, self.count):  # alone, as any other stage asks
            t_set, soak, t_mold = t_set[0, :1], soak[0, :1], t_mold[0, :1]
        else:
            t_set, t_mold = t_set[:, None], t_mold[:, None]
        barrel.t_mold = t_mold
        found = Worked(
            blocks=self,
            molds=molds,
            margins=barrel.margins(t_set, soak),
            mold_margins=self.cavity.margins(t_mold if t_mold.ndim == 1 else t_mold[:, 0]),
            melt=barrel.true_temperature(t_set),
            before=None,
            full_mass=None,
        )
        if not short:
            return found
        barrel.t_mold = t_mold[:short]
        mass = melt_density(self.bench, self.blend, self.state.w_water, t_mold[:short])
        return replace(
            found,
            before=_before(barrel, t_set[:short], soak[:short]),
            full_mass=self.setup.geometry.volume * mass,
        )


@dataclass(frozen=True)
class Worked:
    """Settings of shape (t, blocks) worked out; arrays of shape (t, 1, blocks * s).

    Parameters
    ----------
    blocks : Blocks
        What they were worked out on. [-]
    molds : list of list of float
        Mold temperatures. [K]
    margins, mold_margins : dict of str to array
        Of barrel and mold. [each its own]
    melt : array
        Temperature of the barrel's wall. [K]
    before : array, optional
        Nozzle and gate as so many lengths of the part, for the first rows. [-]
    full_mass : array, optional
        Of one full part, for the first rows. [kg]
    """

    blocks: Blocks
    molds: list[list[float]]
    margins: dict[str, Any]
    mold_margins: dict[str, Any]
    melt: Any
    before: Any
    full_mass: Any

    def barrel_margins_of(self, row: int, block: int) -> dict[str, Any]:
        """Margins of the barrel at one setting, each (s,)."""
        return {name: self._of(value, row, block) for name, value in self.margins.items()}

    def mold_margins_of(self, row: int, block: int) -> dict[str, Any]:
        """Margins of the mold at one setting, each (s,). [K]"""
        return {name: self._of(self.mold_margins[name], row, block) for name in _OF_MOLD}

    def before_of(self, row: int, block: int) -> Any:
        """Nozzle and gate as lengths of the part, (s,); NaN where nobody asked. [-]"""
        return self._of_short(self.before, row, block)

    def full_mass_of(self, row: int, block: int) -> Any:
        """Mass of a full part, (s,); NaN where nobody asked. [kg]"""
        return self._of_short(self.full_mass, row, block)

    def core_cooling_of(self, row: int, block: int) -> Any:
        """Time until the core is below its steam onset, (s,). [s]"""
        cavity = self.blocks.cavity_of(block)
        return cavity.core_cooling(self._of(self.melt, row, block), self.molds[row][block])

    def _of_short(self, value: Any, row: int, block: int) -> Any:
        if value is None or row >= len(value):
            return np.full(self.blocks.count, np.nan)
        return self._of(value, row, block)

    def _of(self, value: Any, row: int, block: int) -> Any:
        """One setting's samples."""
        value = np.asarray(value)
        if value.ndim < 2:  # the same for all settings
            return np.broadcast_to(value, (self.blocks.bench.count,))[self.blocks.which(block)]
        rows = value if value.ndim == 2 else value[:, 0]
        own = np.broadcast_to(rows[row if len(rows) > 1 else 0], (self.blocks.bench.count,))
        return own[self.blocks.which(block)]


def _before(barrel: Barrel, t_set: Any, soak: Any) -> Any:
    """The part's share is that of a steady push; its length counts at one speed."""
    part, n = barrel.pressure_shares(t_set, soak)["part"], barrel.flow.n
    return (1.0 - part) / np.maximum(part, 1e-9) * (n / (1.0 + n)) ** n
