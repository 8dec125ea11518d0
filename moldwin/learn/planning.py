"""The next trials: those that teach the most, chosen one after the other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from moldwin.learn.effort import Effort, effort_of
from moldwin.learn.gains import (
    expected_best_chance,
    expected_success,
    expected_variance,
    reweighed,
)
from moldwin.learn.outcomes import Foreseen, Foresight, Setting, log_likelihood, simulate
from moldwin.learn.possible import Ground, Possible, possible_trials
from moldwin.window.windows import Setup

__all__ = ["AIMS", "Plan", "PlannedTrial", "plan_trials", "spread_of"]

#: ``window``: know the ends of the barrel window; ``part``: a good part soon.
AIMS = ("window", "part")

#: Samples taken for the truth, one after the other.
_TRUTHS = 64
#: Samples that are weighed by what the truths show; the chances of a setting come from all.
_WEIGHED = 1024
#: What trials leave unknown is the same for the choice where it is this close, as a share of the
#: least: then the one that costs least is taken, and of these the one most likely to be good.
_SAME = 0.05


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
class Plan:
    """The next trials.

    Parameters
    ----------
    ground : Ground
        What was looked at. [-]
    aim : str
        One of `AIMS`. [-]
    spread, best_chance : float
        Now: standard deviation of the ends of the barrel window [K], chance of the best setting.
    trials : tuple of PlannedTrial
        In order; empty where nothing may be tried. [-]
    """

    ground: Ground
    aim: str
    spread: float
    best_chance: float
    trials: tuple[PlannedTrial, ...]


def plan_trials(
    setup: Setup,
    count: int = 4,
    *,
    aim: str = "window",
    among: Sequence[Possible] | None = None,
    tick: Callable[[int, int], None] | None = None,
) -> Plan:
    """Choose trials, each the best beside those already chosen.

    Parameters
    ----------
    setup : Setup
        The job, its draws moved by what is known already. [-]
    count : int
        How many trials. [-]
    aim : str
        ``"window"`` ranks by what is left of the spread of the window's ends, ``"part"`` by the
        chance that the trial or the best setting after it gives a good part. [-]
    among : sequence of Possible, optional
        Only these settings, such as those of a design; left out, all that may be tried. [-]
    tick : callable, optional
        Told how many settings of how many have been looked at. [-]

    Returns
    -------
    Plan
        The trials; the same seed gives the same.

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
    ground = possible_trials(setup)
    choice = _Choice(setup, ground, ground.open if among is None else tuple(among), aim, tick)
    trials = [choice.next() for _ in range(min(count, len(choice.settings)))]
    return Plan(
        ground=ground,
        aim=aim,
        spread=spread_of(ground),
        best_chance=ground.best.chance,
        trials=tuple(trials),
    )


def spread_of(ground: Ground) -> float:
    """Standard deviation of the ends of the barrel window, both taken together. [K]"""
    return float(np.sqrt(ground.edges.var(axis=0).mean()))


class _Choice:
    """Settings with what each would show to every imagined truth; the batch as it grows."""

    def __init__(
        self,
        setup: Setup,
        ground: Ground,
        settings: tuple[Possible, ...],
        aim: str,
        tick: Callable[[int, int], None] | None,
    ) -> None:
        self.ground, self.settings, self.aim = ground, settings, aim
        self.seed = setup.bench.draws.seed
        rng = np.random.default_rng(self.seed)
        self.some = rng.permutation(setup.bench.count)[:_WEIGHED]
        self.truths = np.arange(min(_TRUTHS, len(self.some) // 2))
        self.edges = ground.edges[self.some]
        self.works = ground.works[:, self.some]
        self.chosen: list[int] = []
        self.known: Any = np.zeros((len(self.truths), len(self.some)))
        foresight = Foresight(setup)
        self.logs = []
        for done, one in enumerate(settings, 1):
            self.logs.append(self._would_show(foresight, one))
            if tick is not None:
                tick(done, len(settings))

    def _would_show(self, foresight: Foresight, one: Possible) -> Any:
        """Log-likelihood at every sample of what each truth shows, shape (m, s). [-]"""
        setting = Setting(one.moisture, one.barrel, one.soak, one.mold)
        foreseen = _of_some(foresight.at(setting), self.some)
        # the same luck at every setting: trials are compared, not throws of dice
        rng = np.random.default_rng([self.seed, 1])
        shown = [simulate(foreseen, int(i), rng) for i in self.truths]
        return np.array([log_likelihood(foreseen, seen) for seen in shown], dtype=np.float32)

    def next(self) -> PlannedTrial:
        """The best of the settings beside those chosen before."""
        left = {i: self._left(i) for i in range(len(self.settings)) if i not in self.chosen}
        least = min(left.values())
        as_good = [i for i, value in left.items() if value <= (1.0 + _SAME) * least]
        before = [self.settings[i] for i in self.chosen]
        efforts = {i: effort_of(self.settings[i], before) for i in as_good}
        best = min(as_good, key=lambda i: (_trouble(efforts[i]), -self.settings[i].chance, i))
        weights = self._after(best)
        self.chosen.append(best)
        self.known = self.known + self.logs[best]
        return PlannedTrial(
            self.settings[best],
            spread=float(np.sqrt(expected_variance(weights, self.edges).mean())),
            best_chance=expected_best_chance(weights, self.works),
            effort=efforts[best],
        )

    def _after(self, i: int) -> Any:
        """Weights of the samples after what each truth shows in this trial too. [-]"""
        return reweighed(self.known + self.logs[i], self.truths)

    def _left(self, i: int) -> float:
        """What a trial leaves to be gained: spread of the window's ends, or chance to fail. [-]"""
        weights = self._after(i)
        if self.aim == "window":
            return float(np.sqrt(expected_variance(weights, self.edges).mean()))
        good = self.settings[i].works[self.some[self.truths]]
        return 1.0 - expected_success(weights, self.works, good)


def _of_some(foreseen: Foreseen, some: Any) -> Foreseen:
    """What is foreseen for some of the samples."""

    def of(value: Any) -> Any:
        if isinstance(value, dict):
            return {name: of(part) for name, part in value.items()}
        return value[some] if isinstance(value, np.ndarray) and value.ndim else value

    return replace(foreseen, **{f.name: of(getattr(foreseen, f.name)) for f in fields(foreseen)})


def _trouble(effort: Effort) -> float:
    """Days until a trial is done, in whole ones: half an hour more or less decides nothing."""
    return float(np.ceil(effort.wait + effort.evenings))
