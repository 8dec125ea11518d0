"""What would open a closed window or lift a stop: every lever tried, on the same draws."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any, NamedTuple

from moldwin.base.draws import Draws
from moldwin.base.quantities import Quantity
from moldwin.inputs.errors import InputError
from moldwin.inputs.job import Job
from moldwin.inputs.read_job import read_job
from moldwin.stages.bench import Bench
from moldwin.window.levers import COSTS, Lever, Step, levers_of
from moldwin.window.stop_levers import stop_levers
from moldwin.window.stops import Quick, quick_look, shares_of, stopping, stops
from moldwin.window.windows import BarrelWindow, Setup

__all__ = ["Change", "find_remedies"]

#: Pairs worth a full window, the cheapest of those that open it.
_MOST_PAIRS = 3
#: How often the smallest opening setting is halved down.
_HALVINGS = 4
#: A change that does not open the window is worth a line from this much chance on.
_WORTH_SAYING = 0.05


@dataclass(frozen=True)
class Change:
    """Steps taken together, and the window they give.

    ``before`` is the best chance without them; ``stops`` what stops the job with them all the same,
    ``lifts`` whether something stopped it and no longer does.
    """

    steps: tuple[Step, ...]
    window: BarrelWindow
    before: float
    stops: tuple[str, ...] = ()
    lifts: bool = False

    @property
    def set(self) -> dict[str, Any]:
        """Every ``--set`` of the steps."""
        return {key: value for step in self.steps for key, value in step.set.items()}

    @property
    def cost(self) -> str:
        """The dearest step's cost."""
        return max((step.cost for step in self.steps), key=COSTS.index)

    @property
    def opens(self) -> bool:
        """Whether the window is open and nothing stops the job."""
        return self.window.open and not self.stops


class _Remembered(Draws):
    """Draws that work out each number once: every try asks for nearly all the same ones."""

    def __init__(self, plain: Draws) -> None:
        super().__init__(plain.seed, plain.count, spread=plain.spread, spreads=plain.spreads)
        self._scores = dict(plain._scores)
        self._values: dict[tuple[Quantity, str | None], Any] = {}

    def samples(self, quantity: Quantity, column: str | None = None) -> Any:
        """As of the plain draws; what a measurement moves is a copy, which is plain again."""
        key = quantity, column
        if key not in self._values:
            self._values[key] = super().samples(quantity, column)
        return self._values[key]


@dataclass
class _Search:
    """Combinations of steps, each setting looked at once, all on one bench."""

    setup: Setup
    bench: Bench
    job: Job
    before: BarrelWindow
    stopped: tuple[str, ...]
    known: dict[tuple[str, ...], Quick] = field(default_factory=dict)

    def made(self, steps: tuple[Step, ...]) -> tuple[Setup, float] | None:
        """The setup and moisture with the steps taken; ``None`` where that job is impossible."""
        try:
            job = read_job(self.job, _sets(steps), library=self.bench.library)
        except InputError:
            return None
        changed = Setup(self.bench.with_job(job), self.setup.confidence)
        return changed, float(job.pellets.moisture or 0.0)

    def look(self, steps: tuple[Step, ...]) -> Quick:
        """Coarse chance and stops with the steps taken, hopeless where they cannot be."""
        key = _sets(steps)
        if key not in self.known:
            made = self.made(steps)
            self.known[key] = quick_look(*made) if made else Quick(0.0, {"impossible": 1.0})
        return self.known[key]

    def left(self, shares: Mapping[str, float]) -> tuple[str, ...]:
        """What still stops the job; what did has to hold as often as is asked of a window."""
        again = [c for c in self.stopped if shares.get(c, 0.0) > 1.0 - self.setup.confidence]
        return tuple(dict.fromkeys([*stopping(shares), *again]))

    def lifts(self, steps: tuple[Step, ...]) -> bool:
        """Whether nothing stops the job any more."""
        return not self.left(self.look(steps).shares)

    def opens(self, steps: tuple[Step, ...]) -> bool:
        """Whether the coarse chance reaches what is asked, and nothing stops the job."""
        return self.lifts(steps) and self.look(steps).chance >= self.setup.confidence

    def helps(self, chance: float) -> bool:
        """Whether a chance without a stop is worth saying."""
        return bool(self.stopped) or chance >= self.before.chance + _WORTH_SAYING

    def change(self, steps: tuple[Step, ...]) -> Change | None:
        """The whole window with the steps taken."""
        made = self.made(steps)
        if made is None:
            return None
        setup, nominal = made
        window = setup.window(nominal)
        left = self.left(shares_of(setup, window))
        lifts = bool(self.stopped) and not left
        return Change(steps, window.barrel, self.before.chance, left, lifts)


def find_remedies(
    setup: Setup, target: float, *, only: Collection[str] | None = None
) -> list[Change]:
    """Changes that open the window and lift what stops the job, or help the most where none does.

    For each lever the smallest setting that does it. Where no lever alone is enough, all pairs are
    tried, and the cheapest that do it are made as small as they can be. Never three together:
    who changes three things at once learns nothing from what comes out.

    Soak is no lever of its own: every set point of every change is judged at its best soak already.

    Parameters
    ----------
    setup : Setup
        The job as it is. [-]
    target : float
        The moisture to mold at, wet basis. [kg/kg]
    only : collection of str, optional
        Names of the levers that may be tried. [-]

    Returns
    -------
    list of Change
        The cheapest first. What does not open the window is listed only where nothing does. [-]
    """
    now = setup.window(float(setup.bench.job.pellets.moisture or 0.0))
    bench = setup.bench.with_draws(_Remembered(setup.bench.fresh_draws))
    search = _Search(setup, bench, setup.bench.job, now.barrel, stops(setup, now))
    every = [*levers_of(setup, target), *stop_levers(setup, now, search.stopped)]
    levers = [lever for lever in every if only is None or lever.name in only]
    found = [_alone(search, lever) for lever in levers]
    if not _opening(found):
        found += _paired(search, levers)
    useful = _opening(found) or [
        change
        for change in found
        if change and not change.stops and search.helps(change.window.chance)
    ]
    return sorted(useful, key=lambda c: (COSTS.index(c.cost), len(c.steps), -c.window.chance))


def _opening(found: list[Change | None]) -> list[Change]:
    return [change for change in found if change and change.opens]


def _sets(steps: tuple[Step, ...]) -> tuple[str, ...]:
    """The ``--set`` words of the steps."""
    return tuple(f"{k}={_toml(v)}" for step in steps for k, v in step.set.items())


# ----------------------------------------------------------------------------- one lever


def _alone(search: _Search, lever: Lever) -> Change | None:
    """The smallest step of one lever that opens the window, else as far as it helps most."""
    least = _lifting(search, (), lever)
    if least is None:
        return None
    if search.opens((lever.at(1.0),)) or (search.stopped and search.opens((lever.at(least),))):
        return _opened(search, (), lever)
    step = (lever.at(least if search.stopped else 1.0),)
    return search.change(step) if search.helps(search.look(step).chance) else None


def _lifting(search: _Search, others: tuple[Step, ...], lever: Lever) -> float | None:
    """The smallest reach of a lever, on top of others, with which nothing stops the job."""
    if not search.stopped:
        return 0.0
    if not search.lifts((*others, lever.at(1.0))):
        return None
    return _smallest_reach(lambda r: search.lifts((*others, lever.at(r))), lever)


def _opened(search: _Search, others: tuple[Step, ...], lever: Lever) -> Change | None:
    """The smallest opening setting of a lever on top of others, checked on the full window.

    A lever that lifts a stop may close the window again when it is pulled farther, so that the
    smallest lifting reach goes first. The full window is finer than the search's: a setting that
    only just opened there is widened until it opens here.
    """
    reach = _lifting(search, others, lever) or 0.0
    if not search.stopped or not search.opens((*others, lever.at(reach))):
        reach = _smallest_reach(lambda r: search.opens((*others, lever.at(r))), lever)
    change = None
    for _ in range(3):
        change = search.change((*others, lever.at(reach)))
        if change is None or change.opens:
            return change
        reach = min(1.0, reach + 0.5**_HALVINGS)
    return change


def _smallest_reach(opens: Callable[[float], bool], lever: Lever) -> float:
    """Halve down to the smallest reach that still opens; 1 is known to."""
    if lever.all_or_nothing:
        return 1.0
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if opens(middle) else (middle, high)
    return high


# --------------------------------------------------------------------------- two levers


class _Pair(NamedTuple):
    """Two levers, the cheaper first, and what they give with both as far as they go."""

    cheap: Lever
    dear: Lever
    look: Quick

    @property
    def steps(self) -> tuple[Step, ...]:
        return self.cheap.at(1.0), self.dear.at(1.0)


def _paired(search: _Search, levers: list[Lever]) -> list[Change | None]:
    """The cheapest pairs that open the window; where none does, the one that helps the most."""
    by_cost = sorted(levers, key=_cost)
    pairs = [
        _Pair(cheap, dear, search.look((cheap.at(1.0), dear.at(1.0))))
        for cheap, dear in combinations(by_cost, 2)
    ]
    free = [pair for pair in pairs if not search.left(pair.look.shares)]
    opening = [pair for pair in free if pair.look.chance >= search.setup.confidence]
    opening.sort(key=lambda pair: (_cost(pair.dear), _cost(pair.cheap), -pair.look.chance))
    if opening:
        return [_smallest(search, pair.cheap, pair.dear) for pair in opening[:_MOST_PAIRS]]
    if not free:
        return []
    return [search.change(max(free, key=lambda pair: pair.look.chance).steps)]


def _smallest(search: _Search, cheap: Lever, dear: Lever) -> Change | None:
    """Both as small as they can be: the dearer as far as the cheaper allows, then the cheaper."""
    whole = cheap.at(1.0)
    reach = _smallest_reach(lambda r: search.opens((whole, dear.at(r))), dear)
    return _opened(search, (dear.at(reach),), cheap)


def _cost(lever: Lever) -> int:
    return COSTS.index(lever.at(1.0).cost)


def _toml(value: Any) -> str:
    """A value as ``--set`` reads it back."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:g}" if isinstance(value, float) else str(value)
