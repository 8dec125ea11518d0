"""The plan as an answer: what is known, the next experiments with gain and cost, the sheet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from moldwin.advice.bench_tests import BenchTest, bench_tests
from moldwin.advice.chosen import Chosen, choose
from moldwin.advice.heating import stops_among, why_not
from moldwin.advice.plan_rows import MeasureRow, PlanRow, Rows, setting_to_dict
from moldwin.advice.remarks import remarks
from moldwin.base.draws import DEFAULT_COUNT, DEFAULT_SEED, Draws
from moldwin.inputs.cards import Library, library_for
from moldwin.inputs.job import Job
from moldwin.learn.designs import DesignPoint, design
from moldwin.learn.effort import evenings_of
from moldwin.learn.evidence import trial_evidence
from moldwin.learn.gains import Tells
from moldwin.learn.planning import Beside, Plan, plan_trials, spread_of
from moldwin.learn.possible import Ground
from moldwin.learn.posterior import posterior
from moldwin.learn.trials import Trial, short_ids
from moldwin.stages.bench import Bench
from moldwin.window.remedies import Change, find_remedies
from moldwin.window.windows import Setup

__all__ = ["SCHEMA", "Cold", "PlanAdvice", "plan_job"]

SCHEMA = "moldwin.plan/1"
#: Another material than ours, where it is a stop: what is read of it nothing here explains.
_OTHER = "not-polysaccharide"
#: Readings of these keys need the press, if only its empty barrel.
_AT_THE_PRESS = ("press.", "trial.soak_s")
#: Changes told, the cheapest.
_CHANGES = 3


@dataclass(frozen=True)
class Cold:
    """Where the advice says do not heat.

    Parameters
    ----------
    why : str
        What it says. [-]
    changes : tuple of Change
        What would let it heat, the cheapest first; empty where nothing tried does. [-]
    measure : bool
        Whether measurements without the press still tell something. [-]
    """

    why: str
    changes: tuple[Change, ...]
    measure: bool = True


@dataclass(frozen=True)
class PlanAdvice:
    """A plan with its job.

    Parameters
    ----------
    job : str
        The job's title, or the name of its file. [-]
    ground : Ground
        What was looked at. [-]
    rows : tuple of PlanRow and MeasureRow
        The experiments, in order. [-]
    spread, best_chance : float
        As things are known now. [K], [-]
    aim : str
        What the trials were chosen for; empty for a design. [-]
    design : str
        Its shape; empty where trials were chosen. [-]
    left_out : tuple of PlanRow
        Points of a design that are not to be tried. [-]
    learned_from : tuple of int
        Numbers of the trials that are counted already. [-]
    why_none : str
        Why there is nothing to do; empty where there is. [-]
    cold : Cold or None
        Where the advice says do not heat: then nothing is pressed. [-]
    at_hand : float or None
        Pellets there are. [kg]
    bundled : bool
        True where the job is the example that ships with the package. [-]
    overrides : tuple of str
        The user's own cards that won over shipped ones. [-]
    """

    job: str
    ground: Ground
    rows: tuple[PlanRow | MeasureRow, ...]
    spread: float
    best_chance: float
    aim: str
    design: str
    left_out: tuple[PlanRow, ...]
    learned_from: tuple[int, ...]
    why_none: str
    cold: Cold | None = None
    at_hand: float | None = None
    bundled: bool = False
    overrides: tuple[str, ...] = ()

    @property
    def pressed(self) -> tuple[PlanRow, ...]:
        """The trials at the press."""
        return tuple(row for row in self.rows if isinstance(row, PlanRow))

    @property
    def evenings(self) -> int:
        """Evenings, jars included."""
        return evenings_of([row.effort for row in self.rows])

    @property
    def grams(self) -> float:
        """Pellets for all of them. [g]"""
        return sum(row.effort.grams for row in self.rows)

    @property
    def wait(self) -> float:
        """Days until the last pellets have their moisture, all jars started at once."""
        return max((row.effort.wait for row in self.rows), default=0.0)

    def to_dict(self) -> dict[str, Any]:
        """The object that ``moldwin plan --json`` prints."""
        return {
            "schema": SCHEMA,
            "job": self.job,
            "aim": self.aim or None,
            "design": self.design or None,
            "learned_from": list(self.learned_from),
            "now": {
                "spread_k": self.spread,
                "best_chance": self.best_chance,
                "best": setting_to_dict(self.ground.best),
            },
            "heat": self.cold is None,
            "why_not_heat": None if self.cold is None else self.cold.why,
            "change_first": [] if self.cold is None else [_change(c) for c in self.cold.changes],
            "trials": [row.to_dict() for row in self.rows],
            "evenings": self.evenings,
            "grams": self.grams,
            "wait_days": self.wait,
            "looked_at": len(self.ground.settings),
            "screened": dict(
                sorted(Counter(o.screened for o in self.ground.settings if o.screened).items())
            ),
            "left_out": [row.to_dict() | {"why": row.setting.screened} for row in self.left_out],
            "why_none": self.why_none or None,
        }


def plan_job(
    job: Job,
    trials: Sequence[Trial] = (),
    folder: str | Path = ".",
    *,
    others: Sequence[Trial] = (),
    wanted: int = 4,
    aim: str = "window",
    shape: str = "",
    seed: int = DEFAULT_SEED,
    count: int = DEFAULT_COUNT,
    confidence: float = 0.7,
    tick: Callable[[int, int], None] | None = None,
) -> PlanAdvice:
    """The next trials for one job.

    Parameters
    ----------
    job : Job
        A job read before. [-]
    trials : sequence of Trial
        Trials of this very material, which are learned from first. [-]
    folder : str or pathlib.Path
        The book's. [-]
    others : sequence of Trial
        Those in the book of another lot or recipe: what they taught of the press counts. [-]
    wanted : int
        How many trials. [-]
    aim : str
        As in `moldwin.learn.planning.plan_trials`. [-]
    shape : str
        A design of `moldwin.learn.designs.DESIGNS` instead; empty for chosen trials. [-]
    seed, count : int
        Of the draws; the same seed gives the same plan. [-]
    confidence : float
        Chance asked of a window, 0.5 to 0.99. [-]
    tick : callable, optional
        Told how far it has come: so much of so much. [-]

    Returns
    -------
    PlanAdvice
        The plan; with no trials, why.
    """
    fitting, choosing = _halves(tick) if trials else (None, tick)
    library = library_for(job.folder, fits="behind", others=short_ids(others))
    setup, used = _learned(job, trials, folder, library, seed, count, confidence, fitting)
    looked = choose(setup)
    cold = _cold(setup, looked)
    if cold is None and used:
        cold = _stopped_before(Setup(Bench(job, seed=seed, count=count), confidence))
    points: list[DesignPoint] = []
    tests = _tests(setup, looked, cold)
    if shape:
        ground, points = design(setup, shape)
        plan = Plan(ground, "", spread_of(ground), ground.best.chance, ())
    else:
        beside = [_beside(test, count) for test in tests.values()]
        among = None if cold is None else ()
        plan = plan_trials(setup, wanted, aim=aim, among=among, beside=beside, tick=choosing)
    sheets = Rows(setup, tests)
    rows: list[PlanRow | MeasureRow] = []
    left_out: list[PlanRow] = []
    if not shape:
        rows = sheets.chosen(plan.steps)
    elif cold is None:
        every = sheets.design(points, Path(folder))
        left_out = [row for row in every if row.setting.screened]
        rows = [row for row in every if not row.setting.screened]
    return PlanAdvice(
        job=job.title or (job.path.name if job.path else "untitled job"),
        ground=plan.ground,
        rows=tuple(rows),
        spread=plan.spread,
        best_chance=plan.best_chance,
        aim=plan.aim,
        design=shape,
        left_out=tuple(left_out),
        learned_from=used,
        why_none="" if rows else _why_none(plan.ground, cold),
        cold=cold,
        at_hand=job.pellets.mass,
        bundled=job.bundled,
        overrides=setup.bench.library.overrides(),
    )


def _halves(
    tick: Callable[[int, int], None] | None,
) -> tuple[Callable[[float], None] | None, Callable[[int, int], None] | None]:
    """The way to go parted in two: the trials fitted, then the next ones chosen."""
    if tick is None:
        return None, None

    def choosing(done: int, total: int) -> None:
        tick(100 + round(100.0 * done / max(total, 1)), 200)

    return lambda share: tick(round(100.0 * share), 200), choosing


def _learned(
    job: Job,
    trials: Sequence[Trial],
    folder: str | Path,
    library: Library,
    seed: int,
    count: int,
    confidence: float,
    told: Callable[[float], None] | None,
) -> tuple[Setup, tuple[int, ...]]:
    """The job on draws that know of the trials, and which these are.

    Without trials the cards are used as the advice uses them, fits included; with trials, the cards
    from before any fit, so that no trial counts twice.
    """
    bench = Bench(job, seed=seed, count=count)
    if not trials:
        return Setup(bench, confidence), ()
    evidence = trial_evidence(trials, folder, library)
    if not len(evidence):
        return Setup(bench, confidence), ()
    prior = Draws(seed, count)
    found = posterior(prior, evidence.columns(prior), evidence.logs, told)
    bench = Bench(job, seed=seed, count=count, library=library).with_draws(found.draws)
    return Setup(bench, confidence), tuple(evidence.numbers)


def _cold(setup: Setup, looked: Chosen) -> Cold | None:
    """What the advice says against heating, by its own rule; None where it heats."""
    window = looked.found.window
    said = remarks(setup, looked.found, None)
    why = why_not(window, said)
    if why is None:
        return None
    other = any(remark.code == _OTHER for remark in stops_among(said))
    changes = find_remedies(setup, looked.target.best, only=("leave out",) if other else None)
    return Cold(why, tuple(changes[:_CHANGES]), measure=not other)


def _stopped_before(setup: Setup) -> Cold | None:
    """A stop that the advice shows while it does not know of the trials yet."""
    looked = choose(setup)
    cold = _cold(setup, looked) if stops_among(remarks(setup, looked.found, None)) else None
    if cold is None:
        return None
    words = " If your trials have shown otherwise, `moldwin fit` them first and ask it again."
    return replace(cold, why=cold.why + words)


def _why_none(ground: Ground, cold: Cold | None) -> str:
    """Why there is nothing to do."""
    if cold is not None:
        return cold.why
    if ground.best.screened:
        return f"at the best setting looked at {ground.best.screened}"
    return "no setting has a fair chance"


def _tests(setup: Setup, looked: Chosen, cold: Cold | None) -> dict[str, BenchTest]:
    """Measurements beside the press's trials; where nobody should heat, those far from it."""
    if cold is not None and not cold.measure:
        return {}
    tests = [test for test in bench_tests(setup, looked.found.window) if not test.hot]
    if cold is not None:
        tests = [test for test in tests if not test.key.startswith(_AT_THE_PRESS)]
    return {test.what: test for test in tests}


def _beside(test: BenchTest, count: int) -> Beside:
    values = np.array([np.broadcast_to(reading, (count,)) for reading, _ in test.readings])
    noise = np.array([u**2 for _, u in test.readings])
    return Beside(test.what, test.minutes, Tells(values, noise), test.days)


def _change(change: Change) -> dict[str, Any]:
    return {
        "change": " and ".join(step.words for step in change.steps),
        "set": change.set,
        "chance": change.window.chance,
        "cost": change.cost,
    }
