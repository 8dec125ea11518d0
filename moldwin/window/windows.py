"""The barrel and mold windows of one moisture, and the moisture to mold at."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from moldwin.stages.bench import Bench
from moldwin.stages.melting import Barrel
from moldwin.stages.molding import Cavity
from moldwin.stages.service import DRY_SIDE, moisture_margins, room_moisture
from moldwin.stages.shot import Geometry, Ram, Shot, charge, part_geometry, ram
from moldwin.stages.state import Material, State
from moldwin.stages.warming import Warming
from moldwin.window.cells import Stretch, median_limits
from moldwin.window.edges import best_index, crossing, unbroken
from moldwin.window.folded import at_moistures
from moldwin.window.hot_core import Core, chances_that_cool
from moldwin.window.judge import broken_shares, chance, holds
from moldwin.window.mold_best import MOLD_GRID, best_mold
from moldwin.window.picking import FUMES_STOP, NARROWEST, barrel_ends, mold_ends, pick
from moldwin.window.soaks import longest_hold

__all__ = [
    "FUMES_STOP",
    "NARROWEST",
    "BarrelWindow",
    "Limit",
    "MoistureTarget",
    "MoldWindow",
    "Setup",
    "Window",
]

#: From a warm room to where nothing of a plant survives. [K]
_BARREL_GRID = np.arange(303.15, 503.16, 5.0)
_COARSE_BARREL_GRID = np.arange(353.15, 493.16, 10.0)
#: A closed window's charge may be held until this share of the best chance is left (assumed).
_STILL_AS_GOOD = 0.9
#: Below this best product of chances the barrel does not tell moistures apart.
_NOTHING_WORKS = 0.01
#: Products of chances this close, as a share of the best, are the same for the choice of a target.
_TARGET_SAME = 0.02
#: The target band of moisture keeps this share of the best product of chances.
_TARGET_BAND = 0.9


@dataclass(frozen=True)
class Limit:
    """One limit: median place where it binds, and the share of samples it breaks at the best.

    ``at`` is a temperature [K] for the barrel, a moisture [kg/kg] for the target.
    """

    name: str
    side: str
    at: float | None
    broken_share: float


@dataclass(frozen=True)
class BarrelWindow:
    """Barrel window of one moisture; temperatures in K, soak in s, chances per set point.

    ``hold_max`` is how long the charge may stay at the best set point: where the window is open,
    until the chance falls to what is asked of it, and where it is closed, until a tenth of the best
    chance is lost. ``for_core``: the chances count the core's cooling too, for a cooler barrel.
    """

    low: float | None
    best: float
    high: float | None
    chance: float
    soak: float
    hold_max: float
    limits: list[Limit]
    grid: Any
    chances: Any
    soaks: Any
    for_core: bool = False

    @property
    def open(self) -> bool:
        """True where a range of set points that a heater can hold reaches the confidence."""
        return self.low is not None

    @property
    def from_the_coldest(self) -> bool:
        """True where the low end is only the coldest set point that was looked at."""
        return self.low is not None and self.low <= float(self.grid[0])


@dataclass(frozen=True)
class MoldWindow:
    """Mold window of one moisture; K and s. ``cooling`` suffices for the asked share of samples."""

    low: float | None
    best: float
    high: float | None
    chance: float
    broken: dict[str, float]


@dataclass(frozen=True)
class MoistureTarget:
    """The moisture to mold at, wet basis [kg/kg], its band, and what closes either side."""

    low: float
    best: float
    high: float
    limits: list[Limit]
    grid: Any
    barrel_chances: Any
    moisture_chances: Any


@dataclass
class Window:
    """Everything known of one moisture; times until stiff and until the core is safe in s, (s,)."""

    state: State
    barrel: BarrelWindow
    mold: MoldWindow
    barrel_stage: Barrel
    cavity: Cavity
    cooling_stiff: Any
    cooling_core: Any
    moisture_margins: dict[str, Any] = field(default_factory=dict)

    @property
    def part_margins(self) -> dict[str, Any]:
        """Margins of the part past the barrel: its moisture's and its mold's, each (s,)."""
        return self.moisture_margins | _of_mold(self.cavity, self.mold.best)


class Setup:
    """A job made ready once: material, part and ram; gives the window at any moisture.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    confidence : float
        Chance asked of a window. [-]
    """

    def __init__(self, bench: Bench, confidence: float = 0.7) -> None:
        self.bench, self.confidence = bench, confidence
        self.geometry: Geometry = part_geometry(bench)
        self.ram: Ram = ram(bench, self.geometry)
        self.material = Material(bench)
        self._now = self.material.at(float(bench.job.pellets.moisture or 0.0))
        self.soaks = Warming(bench, self.material.blend, self._now, self.ram).soaks_to_try()
        self._windows: dict[float, Window] = {}
        self._targets: dict[float, MoistureTarget] = {}

    @cached_property
    def room_w(self) -> Any:
        """What the part holds once it is at home in its room, wet basis, (s,). [kg/kg]

        Worked out when first asked for: the barrel's chance, all that a remedy is tried on, needs
        no isotherm.
        """
        return room_moisture(self.bench, self.material)

    # -- one moisture ------------------------------------------------------------------------

    def window(self, nominal: float) -> Window:
        """Barrel, mold and moisture margins at one nominal moisture, wet basis. [kg/kg]

        Worked out once for each moisture; nothing in it is ever changed.
        """
        if nominal not in self._windows:
            self._windows[nominal] = self._window(nominal)
        return self._windows[nominal]

    def _window(self, nominal: float) -> Window:
        state, barrel, cavity, mold = self._stages(nominal)
        found = self._barrel_window(barrel, self.core(barrel, cavity, mold))
        t_melt = barrel.true_temperature(np.array([found.best]))[0, 0]
        stiff, core = cavity.cooling(t_melt, mold.best)
        return Window(
            state=state,
            barrel=found,
            mold=mold,
            barrel_stage=barrel,
            cavity=cavity,
            cooling_stiff=stiff,
            cooling_core=core,
            moisture_margins=self._moisture_margins(state, core),
        )

    def barrel(self, nominal: float) -> Barrel:
        """The barrel alone at one nominal moisture, wet basis, its mold at its best. [kg/kg]"""
        return self._stages(nominal)[1]

    def _stages(self, nominal: float) -> tuple[State, Barrel, Cavity, MoldWindow]:
        state = self._now if nominal == self._now.nominal else self.material.at(nominal)
        blend = self.material.blend
        barrel = Barrel(self.bench, blend, state, self.geometry, self.ram)
        cavity = Cavity(self.bench, blend, state, self.geometry, barrel.onset())
        mold = self._mold_window(cavity)
        barrel.t_mold = mold.best
        return state, barrel, cavity, mold

    def moisture_margins_at(self, state: State, core: Core, t_set: float) -> dict[str, Any]:
        """Margins of one moisture, the part cooling from a barrel set to ``t_set`` [K], (s,)."""
        return self._moisture_margins(state, core.cooling(np.array([t_set]))[0])

    def part_margins_at(self, state: State, core: Core, t_set: float) -> dict[str, Any]:
        """The same with the margins of the part in its mold. [-]"""
        return self.moisture_margins_at(state, core, t_set) | _of_mold(core.cavity, core.t_mold)

    def _moisture_margins(self, state: State, core: Any) -> dict[str, Any]:
        return moisture_margins(
            self.bench, self.material.blend, state, self.geometry, self.room_w, core
        )

    def _mold_window(self, cavity: Cavity) -> MoldWindow:
        """The window is what the part bears; the best is near its warm end."""
        margins = cavity.margins(MOLD_GRID)
        best = best_mold(self.bench, cavity, margins)
        at_best = cavity.margins(np.array([best]))
        works = float(chance(at_best)[0])
        ends = mold_ends(chance(margins), best, works, self.confidence, cavity.hottest)
        return MoldWindow(
            low=ends[0] if ends else None,
            best=best,
            high=ends[1] if ends else None,
            chance=works,
            broken={name: float(share[0]) for name, share in broken_shares(at_best).items()},
        )

    @property
    def hottest(self) -> float:
        """The hottest set point the heater reaches. [K]"""
        top = self.bench.job.press.heater_max
        typical = ("press", "heater_max")
        return float(np.max(self.bench.given("press.heater_max", top, "K", typical=typical)))

    def _barrel_grid(self) -> Any:
        """Every 5 K, and the heater's last: the window may end there. [K]"""
        if np.abs(_BARREL_GRID - self.hottest).min() < 1e-6 or self.hottest > _BARREL_GRID[-1]:
            return _BARREL_GRID
        return np.union1d(_BARREL_GRID, self.hottest)

    def core(self, barrel: Barrel, cavity: Cavity, mold: MoldWindow) -> Core:
        """The core of a part from that barrel in that mold."""
        return Core(barrel, cavity, mold.best, self.bench.typical("mold", "cooling_longest"))

    def _barrel_window(self, barrel: Barrel, core: Core) -> BarrelWindow:
        grid = self._barrel_grid()
        stretch = Stretch(barrel, grid, self.soaks)
        cells = stretch.chances()
        picked = pick(cells, lambda at: chances_that_cool(core, stretch, grid, cells, at))
        chances, by_soak, best = picked.chances, picked.by_soak, picked.best
        ends = self._ends(barrel, grid, chances, best)
        t, soak = float(grid[best]), float(self.soaks[by_soak[best]])
        asked = self.confidence if ends else _STILL_AS_GOOD * float(chances[best])
        return BarrelWindow(
            low=ends[0] if ends else None,
            best=t,
            high=ends[1] if ends else None,
            chance=float(chances[best]),
            soak=soak,
            hold_max=longest_hold(barrel, t, soak, asked),
            limits=_barrel_limits(barrel, grid, t, soak),
            grid=grid,
            chances=chances,
            soaks=self.soaks[by_soak],
            for_core=picked.for_core,
        )

    def set_point_chances(self, window: Window) -> dict[str, Any]:
        """What the barrel window of one moisture was picked from, by set point. [-]

        Chances of the barrel alone and with the core, (t, k), of the core alone, (t,), and the
        shares that heater and fumes break, (t,).
        """
        grid, barrel = window.barrel.grid, window.barrel_stage
        stretch = Stretch(barrel, grid, self.soaks)
        margins = self.core(barrel, window.cavity, window.mold).margin(grid)
        broken = broken_shares(barrel.set_point_margins(grid))
        return {
            "alone": stretch.chances(),
            "together": stretch.chances_with(holds({"": margins})),
            "core": chance({"": margins}),
            **{name: share[:, 0] for name, share in broken.items()},
        }

    def _ends(
        self, barrel: Barrel, grid: Any, chances: Any, best: int
    ) -> tuple[float, float] | None:
        """Ends of the window: not beyond the heater or the fumes, and not too narrow to set."""
        broken = broken_shares(barrel.set_point_margins(grid))
        by_place = {name: share[:, 0] for name, share in broken.items()}
        return barrel_ends(grid, chances, best, self.confidence, by_place)

    def coarse_stretch(self, barrel: Barrel) -> Stretch:
        """Where each sample works, among a few set points and soaks."""
        return Stretch(barrel, _COARSE_BARREL_GRID, self._some_soaks)

    def coarse_best(self, core: Core, stretch: Stretch | None = None) -> tuple[float, float, float]:
        """Best chance [-] among a few set points [K] and soaks [s], and where that is."""
        stretch = self.coarse_stretch(core.barrel) if stretch is None else stretch
        coarse = stretch.chances()
        best = divmod(int(coarse.argmax()), coarse.shape[1])
        cool = chances_that_cool(core, stretch, _COARSE_BARREL_GRID, coarse, best)
        if cool is not None:
            coarse, best = cool, divmod(int(cool.argmax()), cool.shape[1])
        i, k = best
        return float(coarse[i, k]), float(_COARSE_BARREL_GRID[i]), float(self._some_soaks[k])

    def shot(self, state: State, t_melt: Any) -> Shot:
        """The shot of the blend in one state, at the temperature of its charge [K]."""
        return charge(self.bench, self.material.blend, state, self.geometry, self.ram, t_melt)

    def coarse_margins(self, barrel: Barrel) -> tuple[Any, dict[str, Any]]:
        """A few set points (t,) [K], and the margins there at some of the soaks, (t, k, s)."""
        return _COARSE_BARREL_GRID, barrel.margins(_COARSE_BARREL_GRID, self._some_soaks)

    @property
    def _some_soaks(self) -> Any:
        return self.soaks[1::2]

    # -- every moisture ----------------------------------------------------------------------

    def target(self, now: float) -> MoistureTarget:
        """The moisture that maximizes barrel chance times the share inside the moisture limits.

        Worked out once, as a window is.
        """
        if now not in self._targets:
            self._targets[now] = self._target(now)
        return self._targets[now]

    def _target(self, now: float) -> MoistureTarget:
        grid = self._moisture_grid(now)
        barrel_chances, stacked = at_moistures(self, grid)
        inside = chance(stacked)
        product = barrel_chances * inside
        if product.max() < _NOTHING_WORKS:  # then what pellets and part bear is all there is to say
            product = inside
        best = best_index(product, _TARGET_SAME)
        ends = unbroken(grid, product, best, _TARGET_BAND * float(product[best]))
        low, high = ends if ends else (grid[best], grid[best])
        return MoistureTarget(
            low=float(low),
            best=float(grid[best]),
            high=float(high),
            limits=_moisture_limits(grid, stacked, best),
            grid=grid,
            barrel_chances=barrel_chances,
            moisture_chances=inside,
        )

    def _moisture_grid(self, now: float) -> Any:
        """Moistures from nearly dry to where the isotherm ends, one percent apart at the most."""
        top = float(np.median(self.material.isotherm.moisture(np.full(self.bench.count, 0.85))))
        return np.linspace(0.03, min(max(top, 0.12), 0.30), 14)


def _of_mold(cavity: Cavity, t_mold: float) -> dict[str, Any]:
    """Margins of the part in a mold at one temperature [K], each (s,)."""
    return {name: margin[0] for name, margin in cavity.margins(np.array([t_mold])).items()}


def _barrel_limits(barrel: Barrel, grid: Any, best: float, soak: float) -> list[Limit]:
    """Where each limit binds along the set point, and how often it breaks at the best."""
    at_best = barrel.margins(np.array([best]), np.array([soak]))
    broken = {name: float(share[0, 0]) for name, share in broken_shares(at_best).items()}
    found = [
        Limit(name, side, at if np.isfinite(at) else None, broken[name])
        for name, (side, at) in sorted(median_limits(barrel, grid, np.array([soak])).items())
    ]
    return sorted(found, key=lambda limit: -limit.broken_share)


def _moisture_limits(grid: Any, margins: dict[str, Any], best: int) -> list[Limit]:
    shares = broken_shares(margins)
    found = []
    for name in sorted(margins):
        side = "low" if name in DRY_SIDE else "high"
        middle = float(np.quantile(crossing(grid, margins[name], side), 0.5, method="nearest"))
        found.append(
            Limit(name, side, middle if np.isfinite(middle) else None, float(shares[name][best]))
        )
    return sorted(found, key=lambda limit: -limit.broken_share)
