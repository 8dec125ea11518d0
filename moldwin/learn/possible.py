"""Which settings a maker can try: within reach, past no stop, and not plainly going to fail."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from moldwin.stages.conditioning import condition
from moldwin.stages.melting import HIGH_LIMITS, LOW_LIMITS
from moldwin.stages.shot import charge
from moldwin.window import judge
from moldwin.window.edges import crossing
from moldwin.window.judge import broken_shares, chance
from moldwin.window.windows import FUMES_STOP, Setup, Window

__all__ = ["Ground", "Possible", "Tried", "own_edges", "possible_trials", "settings_at"]

#: Set points tried on either side of the best of a moisture. [K]
_BESIDE = np.arange(-40.0, 41.0, 10.0)
#: For learning alone: every so far from where pellets hardly soften to the heater's end. [K]
_COLDEST, _STEP = 353.15, 10.0
#: And soaks from the shortest that warms a charge to one nobody is hurried by. [s]
_LONG = 1200.0
#: Share of samples that heat must not harm for a trial that only teaches: a short part comes out
#: clean, a burnt one is scraped out (assumed).
_HARMLESS = 0.5
#: Soaks are told to ten seconds: nobody times a charge more closely.
_SOAK_DIGITS = -1
#: Moistures closer than this are one: no scale and no jar tells them apart. [kg/kg]
_SAME_MOISTURE = 0.008
#: Conditioning that takes longer is out of reach for a trial (assumed). [days]
_LONGEST_WAIT = 45.0
#: A setting with less than this share of the best chance fails plainly (assumed). [-]
_PLAINLY = 0.25
#: Where fewer samples than this work at the best setting, there is nothing to try yet (assumed).
_NOTHING = 0.02
#: More samples than this may not foam out of an open barrel, unless at its best more do (assumed).
_SPITS = 0.2
#: What mold growth says of pellets in store is no reason against a shot this week.
_OF_THE_STORE = ("mold-growth",)
_FAILS = "it would plainly fail"


@dataclass(frozen=True)
class Possible:
    """One setting that may be tried; SI, kelvin and mass fractions.

    Parameters
    ----------
    moisture, barrel, soak, mold : float
        Pellets, wet basis [kg/kg], set point [K], soak [s], mold [K].
    barrel_chance : float
        Chance that every barrel limit holds, as the advice would say of this setting. [-]
    works : array of bool, shape (s,)
        Samples whose part is good: barrel limits and moisture limits both hold. [-]
    charge : float
        Pellets to load, likely value. [kg]
    wait : float
        Until the pellets are there, nine tenths of the way, likely value; 0 as they are. [days]
    bears : float
        Share of samples that neither brown, scorch, fume nor foam there. [-]
    screened : str
        Why it is not to be tried; empty where it may be. [-]
    """

    moisture: float
    barrel: float
    soak: float
    mold: float
    barrel_chance: float
    works: Any
    charge: float
    wait: float
    bears: float = 1.0
    screened: str = ""

    @property
    def chance(self) -> float:
        """Chance of a good part. [-]"""
        return float(np.mean(self.works))


#: A setting with the share of samples that each barrel limit breaks. [-]
Tried = tuple[Possible, dict[str, float]]


@dataclass(frozen=True)
class Ground:
    """All settings looked at, and what is to be learned.

    Parameters
    ----------
    settings : tuple of Possible
        Moisture by moisture. [-]
    best : Possible
        The one whose part is most likely good. [-]
    edges : array, shape (s, 2)
        Each sample's own barrel window at the best moisture and soak: low and high end. [K]
    most_steam : float
        Share of samples that steam may spoil in a trial. [-]
    wider : tuple of Possible
        Settings looked at only for what they teach. [-]
    """

    settings: tuple[Possible, ...]
    best: Possible
    edges: Any
    most_steam: float
    wider: tuple[Possible, ...] = ()

    @property
    def open(self) -> tuple[Possible, ...]:
        """Those that may be tried."""
        return tuple(one for one in self.settings if not one.screened)

    @property
    def teaching(self) -> tuple[Possible, ...]:
        """Those that may be tried to learn: a part that only stays short tells how it flows."""
        if self.best.screened:
            return self.open
        seen = {(o.moisture, o.barrel, o.soak): o for o in (*self.wider, *self.settings)}
        return tuple(o for o in seen.values() if not o.screened or _only_short(o))

    @property
    def works(self) -> Any:
        """1 where a setting that may be tried works for a sample, shape (g, s). [-]"""
        works = [one.works for one in self.open]
        return np.array(works, dtype=float).reshape(len(works), len(self.best.works))

    def screen(self, tried: Tried) -> Possible:
        """A setting with the reason why it is not to be tried, where there is one."""
        one, broken = tried
        return replace(one, screened=_why_not(one, broken, self.best.chance, self.most_steam))


def possible_trials(setup: Setup, *, wide: bool = False) -> Ground:
    """Every setting worth a look: moistures in reach, each with set points and soaks of its own.

    Margins and verdict are those of the advice, on the same draws.

    Parameters
    ----------
    setup : Setup
        The job, its draws moved by what is known already. [-]
    wide : bool
        Look also at settings far from the best, for what they teach. [-]

    Returns
    -------
    Ground
        The settings; with ``screened`` where one is not to be tried.

    Examples
    --------
    >>> from moldwin.inputs.read_job import read_job
    >>> from moldwin.stages.bench import Bench
    >>> ground = possible_trials(Setup(Bench(read_job(None), count=256)))
    >>> ground.best in ground.open, len(ground.open) > 20
    (True, True)
    """
    now = float(setup.bench.job.pellets.moisture or 0.0)
    found: list[Tried] = []
    wider: list[Tried] = []
    windows: dict[float, Window] = {}
    for nominal, wait in _moistures(setup, now):
        window = windows[nominal] = setup.window(nominal)
        at = window.barrel.best + _BESIDE
        soaks = [*setup.soaks[::2], window.barrel.soak]
        found += settings_at(setup, window, at, soaks, wait)
        if wide:
            at = np.arange(_COLDEST, setup.hottest, _STEP)
            soaks = [setup.soaks[0], window.barrel.soak, max(setup.soaks[-1], _LONG)]
            wider += settings_at(setup, window, at, soaks, wait)
    # where all of them fume, one has to be named all the same; it stays screened
    left = [one for one in found if not _fumes(one[1])] or found
    best, broken = max(left, key=lambda one: (one[0].chance, -one[0].wait))
    edges = own_edges(setup, windows[best.moisture], best.soak)
    ground = Ground((), best, edges, _most_steam(setup, broken))
    return replace(
        ground,
        settings=tuple(ground.screen(one) for one in found),
        wider=tuple(ground.screen(one) for one in wider),
        best=ground.screen((best, broken)),
    )


def settings_at(
    setup: Setup, window: Window, barrels: Any, soaks: Any, wait: float = 0.0
) -> list[Tried]:
    """Every pair of set point and soak at one moisture, by the margins of the advice.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    window : Window
        Of that moisture. [-]
    barrels, soaks : array, shapes (t,) and (k,)
        Rounded to whole °C and ten seconds; set points beyond the heater are left out. [K], [s]
    wait : float
        For the pellets to have that moisture. [days]

    Returns
    -------
    list of Possible and dict
        Each with the share of samples that every barrel limit breaks; none is screened. [-]
    """
    barrel, stage = window.barrel, window.barrel_stage
    grid = np.unique(np.round(np.asarray(barrels) - 273.15) + 273.15)
    grid = grid[(grid >= barrel.grid[0]) & (grid <= setup.hottest + 1e-6)]
    soaks = np.unique(np.round(soaks, _SOAK_DIGITS))
    if grid.size == 0:
        return []
    margins = stage.margins(grid, soaks)
    of_part = {n: m for n, m in window.part_margins.items() if n not in _OF_THE_STORE}
    works, chances = judge.holds(margins | of_part), chance(margins)
    bears = np.broadcast_to(
        chance({name: margins[name] for name in HIGH_LIMITS if name in margins}), chances.shape
    )
    shares = {n: np.broadcast_to(s, chances.shape) for n, s in broken_shares(margins).items()}
    load = float(np.median(_charge(setup, window)))
    return [
        (
            Possible(
                moisture=window.state.nominal,
                barrel=float(t_set),
                soak=float(soak),
                mold=window.mold.best,
                barrel_chance=float(chances[i, k]),
                works=works[i, k],
                charge=load,
                wait=wait,
                bears=float(bears[i, k]),
            ),
            {name: float(share[i, k]) for name, share in shares.items()},
        )
        for i, t_set in enumerate(grid)
        for k, soak in enumerate(soaks)
    ]


def own_edges(setup: Setup, window: Window, soak: float) -> Any:
    """Low and high end of each sample's own barrel window.

    An end that the heater does not reach, or that no set point meets, lies at the end of the grid.

    Parameters
    ----------
    setup : Setup
        The job and its draws. [-]
    window : Window
        Of one moisture. [SI]
    soak : float
        In the hot barrel. [s]

    Returns
    -------
    array, shape (s, 2)
        Both ends. [K]
    """
    grid = window.barrel.grid[window.barrel.grid <= setup.hottest + 1e-6]
    margins = window.barrel_stage.margins(grid, np.array([soak]))
    shape = np.broadcast_shapes(*(np.shape(m) for m in margins.values()))

    def of(names: tuple[str, ...], side: str) -> Any:
        worst = np.minimum.reduce([np.broadcast_to(margins[n], shape)[:, 0] for n in names])
        return np.clip(crossing(grid, worst, side), grid[0], grid[-1])

    low = of(tuple(n for n in LOW_LIMITS if n in margins), "low")
    high = of(tuple(n for n in HIGH_LIMITS if n in margins and n != "heater"), "high")
    return np.stack([low, high], axis=1)


def _moistures(setup: Setup, now: float) -> list[tuple[float, float]]:
    """Moistures to try with the wait for each: as they are, then the target and its band."""
    target = setup.target(now)
    state = setup.material.at(now)
    found = [(now, 0.0)]
    for nominal in (target.best, target.low, target.high):
        nominal = round(nominal, 3)
        if min(abs(nominal - other) for other, _ in found) < _SAME_MOISTURE:
            continue
        way = condition(setup.bench, setup.material, state, setup.material.at(nominal))
        wait = way.days["days_90"].likely
        if np.isfinite(wait) and wait <= _LONGEST_WAIT:
            found.append((nominal, float(wait)))
    return found


def _charge(setup: Setup, window: Window) -> Any:
    """Mass to load at the best set point of a moisture, shape (s,). [kg]"""
    t_melt = window.barrel_stage.true_temperature(np.array([window.barrel.best]))[0, 0]
    blend = setup.material.blend
    return charge(setup.bench, blend, window.state, setup.geometry, setup.ram, t_melt).charge


def _fumes(broken: dict[str, float]) -> bool:
    return broken.get("fumes", 0.0) >= FUMES_STOP


def _most_steam(setup: Setup, broken_at_best: dict[str, float]) -> float:
    """Share of samples that steam may spoil: any where the nozzle is sealed and holds it back."""
    if setup.bench.job.press.sealed_nozzle:
        return 1.0
    return max(_SPITS, broken_at_best["steam"])


def _why_not(one: Possible, broken: dict[str, float], best: float, steam: float) -> str:
    """Why a setting is not to be tried; empty where it may be."""
    if _fumes(broken):
        return "the plasticizer may give off fumes"
    if broken["steam"] > steam:
        return "steam may blow the charge out of the open barrel"
    if best < _NOTHING or one.chance < _PLAINLY * best:
        return _FAILS
    return ""


def _only_short(one: Possible) -> bool:
    return one.screened == _FAILS and one.bears >= _HARMLESS
