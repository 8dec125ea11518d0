"""The next experiments: those that teach the most, chosen one after the other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from moldwin.learn.effort import Effort, effort_of
from moldwin.learn.gains import (
    StraightLines,
    Tells,
    expected_best_chance,
    expected_success,
    reweighed,
    told_by,
)
from moldwin.learn.outcomes import Foreseen, Foresight, Setting, log_likelihood, simulate
from moldwin.learn.possible import Ground, Possible, possible_trials
from moldwin.window.windows import Setup

__all__ = ["AIMS", "Beside", "Plan", "PlannedTest", "PlannedTrial", "plan_trials", "spread_of"]

#: ``window``: know the ends of the barrel window; ``part``: a good part soon.
AIMS = ("window", "part")

#: Samples taken for the truth, one after the other.
_TRUTHS = 64
#: Samples that are weighed by what the truths show; the chances of a setting come from all.
_WEIGHED = 1024
#: Experiments that bring this share of the most that any brings are as good: of these the one that
#: costs least is taken, and then the one most likely to be good (assumed).
_AS_GOOD = 0.9
#: A measurement that takes away less than this share of what is unknown is not worth an evening.
_WORTH = 0.01


@dataclass(frozen=True)
class Beside:
    """A measurement beside the press.

    Parameters
    ----------
    name : str
        To find it again. [-]
    minutes : float
        It takes. [min]
    tells : Tells
        What would be read. [any]
    days : float
        To wait for the reading. [days]
    """

    name: str
    minutes: float
    tells: Tells
    days: float = 0.0


@dataclass(frozen=True)
class PlannedTrial:
    """One trial of a plan.

    ``spread`` and ``best_chance`` are those expected after this trial and the ones before it.

    Parameters
    ----------
    setting : Possible
        What to set, and the chance that it is good. [SI]
    spread : float
        Standard deviation left of the ends of the barrel window. [K]
    best_chance : float
        Chance of the setting that then looks best. [-]
    effort : Effort
        What it costs on top of the trials before it. [-]
    """

    setting: Possible
    spread: float
    best_chance: float
    effort: Effort


@dataclass(frozen=True)
class PlannedTest:
    """One measurement beside the press; the numbers as of a `PlannedTrial`.

    Parameters
    ----------
    name : str
        Of the measurement. [-]
    spread, best_chance : float
        Expected after it. [K], [-]
    effort : Effort
        What it costs. [-]
    """

    name: str
    spread: float
    best_chance: float
    effort: Effort


@dataclass(frozen=True)
class Plan:
    """The next experiments.

    Parameters
    ----------
    ground : Ground
        What was looked at. [-]
    aim : str
        One of `AIMS`. [-]
    spread, best_chance : float
        Now: standard deviation of the ends of the barrel window [K], chance of the best setting.
    steps : tuple of PlannedTrial and PlannedTest
        In order; empty where nothing may be tried. [-]
    """

    ground: Ground
    aim: str
    spread: float
    best_chance: float
    steps: tuple[PlannedTrial | PlannedTest, ...]

    @property
    def trials(self) -> tuple[PlannedTrial, ...]:
        """Those at the press."""
        return tuple(step for step in self.steps if isinstance(step, PlannedTrial))


def plan_trials(
    setup: Setup,
    count: int = 4,
    *,
    aim: str = "window",
    among: Sequence[Possible] | None = None,
    beside: Sequence[Beside] = (),
    tick: Callable[[int, int], None] | None = None,
) -> Plan:
    """Choose experiments, each the best beside those already chosen.

    Parameters
    ----------
    setup : Setup
        The job, its draws moved by what is known already. [-]
    count : int
        How many. [-]
    aim : str
        ``"window"`` ranks by what is left of the spread of the window's ends, ``"part"`` by the
        chance that the trial or the best setting after it gives a good part. [-]
    among : sequence of Possible, optional
        Only these settings, such as those of a design, or none; left out, all that may be tried,
        and for the window also what teaches though its part stays short. [-]
    beside : sequence of Beside
        Measurements beside the press, ranked with the trials. [-]
    tick : callable, optional
        Told how many experiments of how many have been looked at. [-]

    Returns
    -------
    Plan
        The experiments; the same seed gives the same.

    Raises
    ------
    ValueError
        An aim that there is not, or a count below 1.

    Notes
    -----
    Outcomes, their likelihoods and the verdict behind every chance come from the margins of the
    advice. Greedy choice: for gains that grow ever more slowly it keeps at least 63 % of what the
    best batch would bring (Nemhauser, Wolsey & Fisher 1978, from memory).
    """
    if aim not in AIMS:
        raise ValueError(f"aim must be one of {', '.join(AIMS)}, got {aim!r}")
    if count < 1:
        raise ValueError(f"count must be at least 1 trial, got {count}")
    ground = possible_trials(setup, wide=aim == "window")
    if among is None:
        among = ground.teaching if aim == "window" else ground.open
    choice = _Choice(setup, ground, [*among, *beside], aim, tick)
    steps = [step for _ in range(count) if (step := choice.next()) is not None]
    return Plan(
        ground=ground,
        aim=aim,
        spread=spread_of(ground),
        best_chance=ground.best.chance,
        steps=tuple(steps),
    )


def spread_of(ground: Ground) -> float:
    """Standard deviation of the ends of the barrel window, both taken together. [K]"""
    return float(np.sqrt(ground.edges.var(axis=0).mean()))


class _Choice:
    """Experiments with what each would tell; the batch as it grows."""

    def __init__(
        self,
        setup: Setup,
        ground: Ground,
        experiments: Sequence[Possible | Beside],
        aim: str,
        tick: Callable[[int, int], None] | None,
    ) -> None:
        self.ground, self.experiments, self.aim = ground, list(experiments), aim
        self.seed = setup.bench.draws.seed
        rng = np.random.default_rng(self.seed)
        self.some = rng.permutation(setup.bench.count)[:_WEIGHED]
        self.truths = np.arange(min(_TRUTHS, len(self.some) // 2))
        works = ground.works if ground.open else ground.best.works[None].astype(float)
        self.works = works[:, self.some]
        self.lines = StraightLines(ground.edges[self.some])
        self.chosen: list[int] = []
        self.known: Any = np.zeros((len(self.truths), len(self.some)))
        self._foresight = Foresight(setup)
        self._logs: dict[int, Any] = {}
        self.tells = []
        for i, one in enumerate(self.experiments):
            self.tells.append(self._told_by(one))
            if aim == "part":
                self._would_show(i)
            if tick is not None:
                tick(i + 1, len(self.experiments))

    def _told_by(self, one: Possible | Beside) -> Tells:
        if isinstance(one, Beside):
            return one.tells.of_some(self.some)
        return told_by(_of_some(self._foresight.at(_setting(one), short=False), self.some))

    def _would_show(self, i: int) -> Any:
        """Log-likelihood at every sample of what each truth shows, shape (m, s). [-]"""
        if i not in self._logs:
            one = self.experiments[i]
            # the same luck for every experiment: they are compared, not throws of dice
            rng = np.random.default_rng([self.seed, 1])
            if isinstance(one, Beside):
                self._logs[i] = _reading_logs(self.tells[i], self.truths, rng)
            else:
                foreseen = _of_some(self._foresight.at(_setting(one)), self.some)
                shown = [simulate(foreseen, int(k), rng) for k in self.truths]
                logs = [log_likelihood(foreseen, seen) for seen in shown]
                self._logs[i] = np.array(logs, dtype=np.float32)
        return self._logs[i]

    def next(self) -> PlannedTrial | PlannedTest | None:
        """The best of the experiments beside those chosen before; None where none is worth it."""
        now = self._left(None)
        left = {i: self._left(i) for i in range(len(self.experiments)) if i not in self.chosen}
        left = {i: value for i, value in left.items() if self._worth(i, now, value)}
        if not left:
            return None
        enough = now - _AS_GOOD * max(now - min(left.values()), 0.0)
        as_good = [i for i, value in left.items() if value <= enough] or list(left)
        best = min(as_good, key=lambda i: (*self._trouble(i), i))
        effort = self._effort(best)
        self.chosen.append(best)
        self.known = self.known + self._would_show(best)
        self.lines.learn(self.tells[best])
        spread = float(np.sqrt(self.lines.variance.mean()))
        chance = expected_best_chance(reweighed(self.known, self.truths), self.works)
        one = self.experiments[best]
        if isinstance(one, Beside):
            return PlannedTest(one.name, spread, chance, effort)
        return PlannedTrial(one, spread, chance, effort)

    def _left(self, i: int | None) -> float:
        """What there is to be gained after one more or none: spread, or chance to fail. [K], [-]"""
        if self.aim == "window":
            variance = self.lines.variance if i is None else self.lines.left(self.tells[i])
            return float(np.sqrt(variance.mean()))
        known, good = self.known, np.zeros(len(self.truths))
        if i is not None:
            known = known + self._would_show(i)
            one = self.experiments[i]
            if isinstance(one, Possible):
                good = one.works[self.some[self.truths]]
        return 1.0 - expected_success(reweighed(known, self.truths), self.works, good)

    def _worth(self, i: int, now: float, left: float) -> bool:
        return isinstance(self.experiments[i], Possible) or left <= (1.0 - _WORTH) * now

    def _effort(self, i: int) -> Effort:
        one = self.experiments[i]
        if isinstance(one, Beside):
            return Effort(one.minutes, one.days, 0.0, hot=False)
        chosen = (self.experiments[k] for k in self.chosen)
        return effort_of(one, [other for other in chosen if isinstance(other, Possible)])

    def _trouble(self, i: int) -> tuple[float, float]:
        """Whole days until it is done, for half an hour decides nothing; then chance to fail."""
        one, effort = self.experiments[i], self._effort(i)
        fails = 0.0 if isinstance(one, Beside) else 1.0 - one.chance
        return float(np.ceil(effort.wait + effort.evenings)), fails


def _setting(one: Possible) -> Setting:
    return Setting(one.moisture, one.barrel, one.soak, one.mold)


def _reading_logs(tells: Tells, truths: Any, rng: np.random.Generator) -> Any:
    """Log-likelihood at every sample of what would be read, were each truth true, (m, s)."""
    spread = np.sqrt(tells.noise)[:, None]
    read = tells.values[:, truths] + spread * rng.standard_normal((len(spread), len(truths)))
    off = (read[:, :, None] - tells.values[:, None, :]) / spread[:, :, None]
    return -0.5 * (off**2).sum(axis=0)


def _of_some(foreseen: Foreseen, some: Any) -> Foreseen:
    """What is foreseen for some of the samples."""

    def of(value: Any) -> Any:
        if isinstance(value, dict):
            return {name: of(part) for name, part in value.items()}
        return value[some] if isinstance(value, np.ndarray) and value.ndim else value

    return replace(foreseen, **{f.name: of(getattr(foreseen, f.name)) for f in fields(foreseen)})
