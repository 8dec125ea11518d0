"""The mold: how warm it may be, and how long the part stays in it."""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from moldwin.physics.heat import cooling_time, left_at_ejection
from moldwin.physics.mold_wall import fourier_in_mold
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend
from moldwin.stages.melt import melt_diffusivity, melt_effusivity
from moldwin.stages.mold_material import MoldMaterial, mold_material
from moldwin.stages.room import room_dew_point, room_temperature
from moldwin.stages.shot import Geometry
from moldwin.stages.state import State

__all__ = ["Cavity", "Stiffness", "stiffness"]

#: A mold this much below the temperature of ejection still cools in a finite time. [K]
_HEADROOM = 3.0
#: Shares of the samples whose molds' conductivities are followed; the others lie between.
_FOLLOWED = (0.02, 0.5, 0.98)
#: Where the thermal diffusivity of the cooling part is read. [K]
_PART_T = 363.15


@dataclass(frozen=True)
class Stiffness:
    """Modulus against temperature: glass, a straight fall in the logarithm about Tg, a plateau.

    Arrays have shape (s,). [Pa] and [K]
    """

    glass: Any
    plateau: Any
    tg: Any
    fall: Any

    def modulus(self, t: Any) -> Any:
        """Modulus at temperatures (..., s). [Pa]"""
        along = np.clip((t - self.tg) / self.fall + 0.5, 0.0, 1.0)
        return np.exp(np.log(self.glass) + along * np.log(self.plateau / self.glass))

    def temperature_of(self, modulus: Any) -> Any:
        """Highest temperature at which the modulus is still reached, inf where it always is. [K]"""
        along = np.log(self.glass / modulus) / np.log(self.glass / self.plateau)
        crossing = self.tg + (along - 0.5) * self.fall
        return np.where(self.plateau >= modulus, np.inf, crossing)


def stiffness(bench: Bench, blend: Blend, state: State) -> Stiffness:
    """Stiffness of the molded blend; filler raises the plateau."""
    dry = 1.0 - state.w_water
    filler = np.clip(blend.filler * dry / 1.6 * 1.4, 0.0, 0.5)
    plateau = blend.mean_over_polymers(bench, "rubber_modulus", 3.2e7)
    glass = blend.mean_over_polymers(bench, "glass_modulus", 2.0e9)
    raised = plateau * (1.0 + 2.5 * filler + 14.1 * filler**2)  # Guth & Gold 1938, from memory
    return Stiffness(
        glass=glass,
        plateau=np.minimum(raised, 0.9 * glass),
        tg=state.tg,
        fall=bench.typical("mold", "modulus_drop"),
    )


class Cavity:
    """The part in its mold.

    Parameters
    ----------
    bench, blend, state, geometry
        The job, dry shares, the blend at one moisture, the part. [SI]
    onset : array, shape (s,)
        Temperature at which its steam passes the air pressure. [K]
    """

    def __init__(
        self, bench: Bench, blend: Blend, state: State, geometry: Geometry, onset: Any
    ) -> None:
        self.bench, self.geometry = bench, geometry
        stiff = stiffness(bench, blend, state)
        self.t_stiff = stiff.temperature_of(bench.typical("mold", "eject_modulus"))
        self.t_steam = onset - bench.typical("mold", "steam_margin")
        self.diffusivity = melt_diffusivity(bench, blend, state.w_water, _PART_T)
        self.dew = room_dew_point(bench)
        self.material = mold_material(bench)
        self._freezes_at = state.tg + bench.typical("press", "weld_offset")
        if self.material is not None:
            effusivity = melt_effusivity(bench, blend, state.w_water, _PART_T)
            self._ratio = effusivity / self.material.effusivity

    def margins(self, t_mold: Any) -> dict[str, Any]:
        """Every limit's margin at mold temperatures (m,), shape (m, s); above zero is fine. [K]"""
        t = np.asarray(t_mold, dtype=float)[:, None]
        found = {
            "condensation": t - self.dew - self.bench.typical("mold", "dew_margin"),
            "soft-at-ejection": self.t_stiff - _HEADROOM - t,
            "steam-at-ejection": self.t_steam - _HEADROOM - t,
            "mold-heater": self._top() - t + 1e-6,
            # what is colder than its room takes a chiller, or is held so and said to be
            "below-room": t - self._coldest() + 1e-6,
        }
        if self.material is not None:
            found["mold-material"] = self.material.temperature_max - t
        return found

    @property
    def hottest(self) -> float:
        """How warm the mold can be held at all. [K]"""
        top = float(np.max(self._top()))
        if self.material is None:
            return top
        return min(top, float(np.max(self.material.temperature_max)))

    def _top(self) -> Any:
        return self.bench.given(
            "mold.temperature_max",
            self.bench.job.mold.temperature_max,
            "K",
            typical=("mold", "temperature_max"),
        )

    def _coldest(self) -> Any:
        room, held = room_temperature(self.bench), self.bench.job.mold.temperature
        return room if held is None else np.minimum(room, held)

    def gate_freezing(self, t_melt: Any, t_mold: float) -> Any:
        """Time until the gate is too cold to pack through; infinite in a warm mold, (s,). [s]

        ``None`` where no gate is described. Its middle has cooled to where pellets would no longer
        weld, in a slit as thick as the gate, once the melt stands still.
        """
        thickness = self.bench.job.mold.gate_thickness
        if thickness is None:
            return None
        t_frozen = np.clip(self._freezes_at, 180.0, 1000.0)
        return self._slab_time("plate", thickness, t_melt, t_mold, t_frozen, "center")

    def cooling(self, t_melt: Any, t_mold: float) -> tuple[Any, Any]:
        """Time until stiff enough (mean), and until the core is below its steam onset. [s]

        Both have shape (s,); infinite where the mold is too warm for it ever to happen.
        """
        stiff = self._time(t_melt, t_mold, np.clip(self.t_stiff, 180.0, 1000.0), "mean")
        return stiff, self.core_cooling(t_melt, t_mold)

    def core_cooling(self, t_melt: Any, t_mold: float) -> Any:
        """The second of both alone: time until the core is below its steam onset, (s,). [s]

        A mold at the onset or above warms even a cold core past it: then never.
        """
        cooling = self._time(t_melt, t_mold, self.t_steam, "center")
        return np.where(t_mold < self.t_steam, cooling, np.inf)

    def part(self, which: slice, bench: Bench) -> Cavity:
        """The same cavity for some of the samples, those of another bench."""
        some = copy(self)
        some.bench = bench
        for name, value in vars(self).items():
            if np.shape(value) == np.shape(self.diffusivity):
                setattr(some, name, value[which])
        if self.material is not None:
            arrays = {name: value[which] for name, value in vars(self.material).items()}
            some.material = replace(self.material, **arrays)
        return some

    def _time(self, t_melt: Any, t_mold: float, t_eject: Any, where: str) -> Any:
        geometry = self.geometry
        return self._slab_time(
            geometry.cooling_shape, geometry.thickest, t_melt, t_mold, t_eject, where
        )

    def _slab_time(
        self, shape: str, size: float, t_melt: Any, t_mold: float, t_eject: Any, where: str
    ) -> Any:
        if self.material is None:
            return cooling_time(shape, size, self.diffusivity, t_melt, t_mold, t_eject, where)
        left = left_at_ejection(t_melt, t_mold, t_eject)
        fourier = self._fourier(shape, left, self.material, size / 2.0, where)
        return fourier * (size / 2.0) ** 2 / self.diffusivity

    def _fourier(
        self, shape: str, left: Any, material: MoldMaterial, half: float, where: str
    ) -> Any:
        """Fourier number at which so much is left, each sample in its own mold, shape (s,).

        Followed exactly for a few of the molds, poorest last, and read between them by straight
        lines in logarithms.
        """
        depth = material.wall / half * np.sqrt(self.diffusivity / material.diffusivity)
        order = np.argsort(self._ratio)
        some = order[[round(share * (order.size - 1)) for share in _FOLLOWED]]
        ratios, lines = np.log(self._ratio[some]), []
        for i in some:
            ratio, behind = float(self._ratio[i]), float(depth[i])
            lines.append(np.maximum(fourier_in_mold(shape, left, ratio, behind, where), 1e-12))
        steps = np.maximum(np.diff(ratios), 1e-12)
        with np.errstate(invalid="ignore"):
            found = np.log(lines[0])
            for j, step in enumerate(steps):
                along = np.clip((np.log(self._ratio) - ratios[j]) / step, 0.0, 1.0)
                rise = np.log(lines[j + 1]) - np.log(lines[j])
                found = found + np.where(along > 0.0, along * rise, 0.0)
        never = np.isinf(lines).any(axis=0)
        return np.where(left >= 1.0, 0.0, np.where(never, np.inf, np.exp(found)))
