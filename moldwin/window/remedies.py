"""What would open a closed window: every lever tried by recomputing, on the same draws."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any, NamedTuple

from moldwin.inputs.errors import InputError
from moldwin.inputs.job import Job
from moldwin.inputs.read_job import read_job
from moldwin.window.levers import COSTS, Lever, Step, levers_of
from moldwin.window.windows import BarrelWindow, Setup

__all__ = ["Change", "find_remedies"]

_MOST_COMBINED = 4
_MOST_PAIRS = 3
#: Reaches tried when levers are combined, and how often the smallest opening one is halved down.
_REACHES = (0.5, 1.0)
_HALVINGS = 4
#: A change that does not open the window is worth a line from this much chance on.
_WORTH_SAYING = 0.05


@dataclass(frozen=True)
class Change:
    """Steps taken together, and the window they give."""

    steps: tuple[Step, ...]
    window: BarrelWindow
    before: float

    @property
    def set(self) -> dict[str, Any]:
        """Every ``--set`` of the steps."""
        return {key: value for step in self.steps for key, value in step.set.items()}

    @property
    def cost(self) -> str:
        """The dearest step's cost."""
        return max((step.cost for step in self.steps), key=COSTS.index)


@dataclass
class _Search:
    """Chances of combinations of steps, each setting computed once."""

    setup: Setup
    job: Job
    base: tuple[Step, ...]
    known: dict[tuple[str, ...], float] = field(default_factory=dict)

    def sets(self, steps: tuple[Step, ...]) -> tuple[str, ...]:
        """The ``--set`` words of the steps, on top of the base."""
        every = (*self.base, *steps)
        return tuple(f"{k}={_toml(v)}" for step in every for k, v in step.set.items())

    def made(self, steps: tuple[Step, ...]) -> tuple[Setup, float] | None:
        """The setup and moisture with the steps taken; ``None`` where that job is impossible."""
        try:
            job = read_job(self.job, self.sets(steps))
        except InputError:
            return None
        changed = Setup(self.setup.bench.with_job(job), self.setup.confidence)
        return changed, float(job.pellets.moisture or 0.0)

    def chance(self, steps: tuple[Step, ...]) -> float:
        """Best barrel chance with the steps taken, 0 where they cannot be."""
        key = self.sets(steps)
        if key not in self.known:
            made = self.made(steps)
            self.known[key] = made[0].quick_chance(made[1]) if made else 0.0
        return self.known[key]

    def opens(self, steps: tuple[Step, ...]) -> bool:
        """Whether the coarse chance reaches what is asked."""
        return self.chance(steps) >= self.setup.confidence

    def change(self, steps: tuple[Step, ...], before: float) -> Change | None:
        """The whole window with the steps taken."""
        made = self.made(steps)
        if made is None:
            return None
        return Change((*self.base, *steps), made[0].window(made[1]).barrel, before)


def find_remedies(
    setup: Setup,
    before: float,
    target: float,
    *,
    conditioned: bool = False,
    only: Collection[str] | None = None,
) -> list[Change]:
    """Changes that open the window, or raise its chance the most where none does.

    For each lever the smallest setting that opens the window. Where no lever alone is enough, all
    pairs are tried, and the cheapest that open it are made as small as they can be. Where no pair
    is enough, the step that helps most is kept and others are taken on top, up to four together.

    Soak is no lever of its own: every set point of every change is judged at its best soak already.

    Parameters
    ----------
    setup : Setup
        The job as it is. [-]
    before : float
        Its best chance. [-]
    target : float
        The moisture to mold at, wet basis. [kg/kg]
    conditioned : bool
        Conditioning to the target comes first in any case; every change is then on top of it. [-]
    only : collection of str, optional
        Names of the levers that may be tried. [-]

    Returns
    -------
    list of Change
        The cheapest first. What does not open the window is listed only where nothing does. [-]
    """
    levers = [v for v in levers_of(setup, target) if only is None or v.name in only]
    base: tuple[Step, ...] = ()
    if conditioned:
        base = tuple(lever.at(1.0) for lever in levers if lever.name == "moisture")
        levers = [lever for lever in levers if lever.name != "moisture"]
    search = _Search(setup, setup.bench.job, base)
    found = [_alone(search, lever, before) for lever in levers]
    if not _opening(found):
        found += _paired(search, levers, before)
    if not _opening(found):
        found.append(_combined(search, levers, before))
    useful = _opening(found) or [
        c for c in found if c and c.window.chance >= before + _WORTH_SAYING
    ]
    return sorted(useful, key=lambda c: (COSTS.index(c.cost), len(c.steps), -c.window.chance))


def _opening(found: list[Change | None]) -> list[Change]:
    return [change for change in found if change and change.window.open]


def _paired(search: _Search, levers: list[Lever], before: float) -> list[Change | None]:
    """The cheapest pairs that open the window where no lever alone does."""
    by_cost = sorted(levers, key=_cost)
    pairs = [_Pair(*two, search.chance(_far(two))) for two in combinations(by_cost, 2)]
    opening = [pair for pair in pairs if pair.chance >= search.setup.confidence]
    opening.sort(key=lambda pair: (_cost(pair.dear), _cost(pair.cheap), -pair.chance))
    return [_smallest(search, pair.cheap, pair.dear, before) for pair in opening[:_MOST_PAIRS]]


class _Pair(NamedTuple):
    """Two levers that together open the window, and the chance with both as far as they go."""

    cheap: Lever
    dear: Lever
    chance: float


def _far(levers: Iterable[Lever]) -> tuple[Step, ...]:
    return tuple(lever.at(1.0) for lever in levers)


def _smallest(search: _Search, cheap: Lever, dear: Lever, before: float) -> Change | None:
    """Both as small as they can be: the dearer as far as the cheaper allows, then the cheaper."""
    whole = cheap.at(1.0)
    reach = _smallest_reach(lambda r: search.opens((whole, dear.at(r))), dear)
    return _opened(search, (dear.at(reach),), cheap, before)


def _cost(lever: Lever) -> int:
    return COSTS.index(lever.at(1.0).cost)


def _alone(search: _Search, lever: Lever, before: float) -> Change | None:
    """The smallest step of one lever that opens the window, else as far as it goes."""
    far = lever.at(1.0)
    if not search.opens((far,)):
        helps = search.chance((far,)) >= before + _WORTH_SAYING
        return search.change((far,), before) if helps else None
    return _opened(search, (), lever, before)


def _opened(
    search: _Search, others: tuple[Step, ...], lever: Lever, before: float
) -> Change | None:
    """The smallest opening setting of a lever on top of others, checked on the full window.

    The full window is finer than the search's: a setting that only just opened there is widened
    until it opens here.
    """
    reach = _smallest_reach(lambda r: search.opens((*others, lever.at(r))), lever)
    change = None
    for _ in range(3):
        change = search.change((*others, lever.at(reach)), before)
        if change is None or change.window.open:
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


def _combined(search: _Search, levers: list[Lever], before: float) -> Change | None:
    """Add the step that helps most until the window opens."""
    taken: tuple[Step, ...] = ()
    by_name = {lever.name: lever for lever in levers}
    for _ in range(min(_MOST_COMBINED, len(levers))):
        used = {step.lever for step in taken}
        free = [lever for lever in levers if lever.name not in used]
        tries = [(*taken, lever.at(reach)) for lever in free for reach in _REACHES]
        if not tries:
            break
        taken = max(tries, key=search.chance)
        if search.opens(taken):
            needed = _thinned(search, taken)
            return _opened(search, needed[:-1], by_name[needed[-1].lever], before)
    return search.change(taken, before) if len(taken) > 1 else None


def _thinned(search: _Search, taken: tuple[Step, ...]) -> tuple[Step, ...]:
    """Without the steps that turn out not to be needed."""
    for step in taken:
        fewer = tuple(other for other in taken if other is not step)
        if fewer and search.opens(fewer):
            return _thinned(search, fewer)
    return taken


def _toml(value: Any) -> str:
    """A value as ``--set`` reads it back."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:g}" if isinstance(value, float) else str(value)
