"""Makers who learn from their own trials: each writes down what the hidden press showed.

The advisor hears only what a maker would note: how far the part filled, its color, bubbles, whether
it stuck or cracked. It never sees the truth behind them.
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np

from moldwin.advice.advise import advise
from moldwin.advice.situation import find
from moldwin.inputs.job import Job
from moldwin.inputs.read_job import read_job
from moldwin.learn.evidence import Evidence
from moldwin.learn.outcomes import Seen, Setting
from moldwin.learn.planning import plan_trials
from moldwin.learn.possible import Possible, possible_trials
from moldwin.learn.posterior import posterior
from moldwin.stages.bench import Bench
from moldwin.window.windows import Setup
from tests.second_press.barrel import soak
from tests.second_press.filling import fill
from tests.second_press.hidden import Truth, truths
from tests.second_press.known import Known, job, makers
from tests.second_press.press import Settings, good, shoot
from tests.second_press.trial import successes

__all__ = ["Learned", "Learner", "learn", "witness"]

TRIALS = 3
#: A maker opens no sooner, where the page gives no cooling time.
_LONG_COOLING_S = 120.0
#: A ram that comes to its end before the part is full: the next charge is larger by this.
_MORE_CHARGE = 1.2
#: Color is minded between honey and toffee, steps 2 and 3 of five; it rises at a constant rate
#: (maize grits, read), and an eye is off by a quarter of a step (assumed).
_COLOR_MINDED, _EYE = 2.5, 0.25
#: How well a maker tells the share that filled (assumed).
_SHARE_READ = 0.03


@dataclass(frozen=True)
class Learner:
    """What became of one maker: good at the n-th trial, or by the setting advised after them.

    ``spoiled`` names what was wrong with each part that was pressed.
    """

    good_at: tuple[bool, ...]
    afterward: bool
    spoiled: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True)
class Learned:
    """Shares of the makers whom any setting serves whose part is good by then."""

    makers: int
    served: int
    first: float
    second: float
    third: float
    afterward: float
    missed: tuple[tuple[tuple[str, ...], ...], ...] = ()


def learn(
    count: int, *, seed: int = 20, draws: int = 512, processes: int = 1, aim: str = "part"
) -> Learned:
    """Makers ask, press, note, learn and press again, up to three times."""
    rng = np.random.default_rng(seed)
    known = makers(rng, count)
    truth = truths(rng, known)
    one = partial(_learner, known, truth, draws=draws, aim=aim)
    if processes == 1:
        found = [one(i) for i in range(count)]
    else:
        with ProcessPoolExecutor(processes) as pool:
            found = list(pool.map(one, range(count), chunksize=4))
    by = np.array([[any(f.good_at[: n + 1]) for n in range(TRIALS)] for f in found])
    after = by[:, -1] | np.array([f.afterward for f in found])
    served = successes(known, truth).any(axis=0) | after
    first, second, third = (float(share) for share in by[served].mean(axis=0))
    return Learned(
        makers=count,
        served=int(served.sum()),
        first=first,
        second=second,
        third=third,
        afterward=float(after[served].mean()),
        missed=tuple(f.spoiled for f, lost in zip(found, served & ~after, strict=True) if lost),
    )


def witness(
    known: Known, truth: Truth, settings: Settings, rng: np.random.Generator
) -> tuple[Seen, dict[str, Any]]:
    """One shot of one maker: what the maker notes, and the hidden verdict."""
    verdict = {name: bool(v[0]) for name, v in shoot(known, truth, settings).items()}
    share, dose = _share_and_dose(known, truth, settings)
    color = np.clip(_COLOR_MINDED * dose + _EYE * rng.standard_normal(), 0.0, 5.0)
    share = float(np.clip(share + _SHARE_READ * rng.standard_normal(), 0.0, 0.99))
    # whose ram came to its end knows that it was the charge, and blames no stiff melt
    spent = verdict["little-charge"]
    foamed, blistered = verdict["spat"], verdict["bubbles"] or verdict["puffed"]
    seen = Seen(
        filled=None if spent else not verdict["short"],
        fill=None if spent else (share if verdict["short"] else 1.0),
        color=float(np.round(color)),
        bubbles="all" if foamed else ("heart" if blistered else "none"),
        stuck=verdict["bent"],
        cracked=verdict["cracked"],
    )
    return seen, verdict


def _share_and_dose(known: Known, truth: Truth, settings: Settings) -> tuple[float, float]:
    """How far it filled and how much it browned, by the very steps of `shoot`."""
    off = truth.moisture_off + np.where(settings.conditioned, truth.reaching_off, 0.0)
    w = np.clip(settings.moisture_pct / 100.0 + off, 0.005, 0.4)
    t_set = np.minimum(np.round(settings.barrel_c), known.heater_max_c) + 273.15
    soaked = soak(known, truth, w / (1.0 - w), t_set, settings.soak_s)
    mold = np.minimum(settings.mold_c, known.mold_max_c) + 273.15
    filled = fill(known, truth, soaked, mold, settings.charge_g / 1e3)
    return float(filled.share[0]), float(soaked.dose[0])


class _Maker:
    """One maker with a notebook."""

    def __init__(self, known: Known, truth: Truth, i: int, draws: int) -> None:
        at = np.array([i])
        self.known, self.truth = known.take(at), truth.take(at)
        self.rng = np.random.default_rng([i, 4])
        self.tables = job(known, i)
        self.draws = draws
        self.job: Job = read_job(self.tables)
        self.bench = Bench(self.job, count=draws)
        self.setup = Setup(self.bench)
        self.more_charge = 1.0
        self.spoiled: list[tuple[str, ...]] = []
        self.notes: list[tuple[int, int, Setting, Seen]] = []

    def advised(self) -> Settings | None:
        """What the page says before any trial; None where it says do not heat."""
        answer = advise(self.tables, count=self.draws)
        s = answer.settings
        if s is None or s.barrel_c is None:
            return None
        leads = answer.conditioning_leads and answer.after_conditioning is not None
        cooling = _LONG_COOLING_S if s.cooling_s is None else s.cooling_s
        numbers = (s.barrel_c, s.soak_s, s.mold_c, cooling, s.charge_g)
        return _settings(s.moisture_pct, leads, *(float(x or 0.0) for x in numbers))

    def planned(self, aim: str) -> Settings | None:
        """The next trial by plan; None where there is nothing to try."""
        trials = plan_trials(self.setup, 1, aim=aim).trials
        return self._of(trials[0].setting) if trials else None

    def best(self) -> Settings | None:
        """The setting most likely good by all that is known now."""
        ground = possible_trials(self.setup)
        return self._of(ground.best) if ground.open else None

    def press(self, settings: Settings) -> bool:
        """Shoot once, note what is seen; whether the part is good."""
        more = replace(settings, charge_g=settings.charge_g * self.more_charge)
        seen, verdict = witness(self.known, self.truth, more, self.rng)
        if verdict["little-charge"]:
            self.more_charge *= _MORE_CHARGE
        setting = Setting(
            moisture=float(settings.moisture_pct[0]) / 100.0,
            barrel=float(settings.barrel_c[0]) + 273.15,
            soak=float(settings.soak_s[0]),
            mold=float(settings.mold_c[0]) + 273.15,
            cooling=float(settings.cooling_s[0]),
        )
        self.notes.append((len(self.notes) + 1, 0, setting, seen))
        self.spoiled.append(tuple(name for name, broken in verdict.items() if broken))
        return bool(good({name: np.array([v]) for name, v in verdict.items()})[0])

    def learn(self) -> None:
        """Move the draws by all notes."""
        evidence = Evidence([self.job], self.notes, self.bench.library)
        prior = Bench(self.job, count=self.draws).draws
        found = posterior(prior, evidence.columns(prior), evidence.logs)
        self.setup = Setup(evidence.bench(0, found.draws))

    def _of(self, one: Possible) -> Settings:
        cooling = find(self.setup, one.moisture).cooling
        return _settings(
            100.0 * one.moisture,
            one.wait > 0.0,
            one.barrel - 273.15,
            one.soak,
            one.mold - 273.15,
            _LONG_COOLING_S if cooling is None else cooling,
            1e3 * one.charge,
        )


def _learner(known: Known, truth: Truth, i: int, *, draws: int, aim: str) -> Learner:
    maker = _Maker(known, truth, i, draws)
    good_at: list[bool] = []
    for n in range(TRIALS):
        if n == 0:
            settings = maker.advised() or maker.planned(aim)
        else:  # after the last trial there is none to learn for
            settings = maker.planned(aim) if n < TRIALS - 1 else maker.best()
        if settings is None:
            break
        good_at.append(maker.press(settings))
        if good_at[-1]:
            break
        maker.learn()
    afterward = any(good_at)
    if good_at and not afterward:
        settings = maker.best()
        afterward = settings is not None and maker.press(settings)
    good_at += [False] * (TRIALS - len(good_at))
    return Learner(tuple(good_at), afterward, tuple(maker.spoiled))


def _settings(moisture: float | None, conditioned: bool, *rest: float) -> Settings:
    return Settings(
        np.array([moisture], dtype=float),
        np.array([conditioned]),
        *(np.array([value]) for value in rest),
    )
