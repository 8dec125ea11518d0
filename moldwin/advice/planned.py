"""The plan as an answer: what is known, the next trials with their gain and cost, and the sheet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from moldwin.advice.advise import HOPELESS
from moldwin.advice.remarks import remarks
from moldwin.advice.situation import Found, celsius, find
from moldwin.base.draws import DEFAULT_COUNT, DEFAULT_SEED, Draws
from moldwin.inputs.cards import library_for
from moldwin.inputs.job import Job
from moldwin.learn.designs import DesignPoint, design
from moldwin.learn.effort import Effort, effort_of, evenings_of
from moldwin.learn.evidence import trial_evidence
from moldwin.learn.job_then import job_then
from moldwin.learn.planning import Plan, PlannedTrial, plan_trials, spread_of
from moldwin.learn.possible import Ground, Possible
from moldwin.learn.posterior import posterior
from moldwin.learn.trial_sheet import SheetRow
from moldwin.learn.trials import Trial
from moldwin.stages.bench import Bench
from moldwin.window.windows import Setup

__all__ = ["SCHEMA", "PlanAdvice", "PlanRow", "plan_job"]

SCHEMA = "moldwin.plan/1"
#: A stop of these is one of a set point: the plan keeps away from it by itself.
_OF_A_SETTING = ("fume",)


@dataclass(frozen=True)
class PlanRow:
    """One trial to do.

    Parameters
    ----------
    setting : Possible
        What to set, and how likely it is good. [SI]
    cooling : float or None
        From pressing to opening the mold. [s]
    effort : Effort
        What it costs on top of those before it. [-]
    charge : float or None
        To load; None where no part is described. [kg]
    spread, best_chance : float or None
        Expected after it and those before it: spread of the window's ends [K], chance of the best
        setting; None for a design. [-]
    glycerol : float or None
        Of the dry polymer, where a design changes it. [kg/kg]
    job_tables : str
        The changed job of a design; empty for the job at hand. [JSON]
    """

    setting: Possible
    cooling: float | None
    effort: Effort
    charge: float | None
    spread: float | None = None
    best_chance: float | None = None
    glycerol: float | None = None
    job_tables: str = ""

    @property
    def sheet(self) -> SheetRow:
        """The row to take to the press."""
        return SheetRow(
            moisture_pct=round(100.0 * self.setting.moisture, 1),
            barrel_c=round(self.setting.barrel - 273.15, 1),
            soak_s=self.setting.soak,
            mold_c=round(self.setting.mold - 273.15, 1),
            charge_g=None if self.charge is None else round(1e3 * self.charge, 2),
            cooling_s=None if self.cooling is None else float(round(self.cooling)),
            job_tables=self.job_tables,
        )


@dataclass(frozen=True)
class PlanAdvice:
    """A plan with its job.

    Parameters
    ----------
    job : str
        The job's title, or the name of its file. [-]
    ground : Ground
        What was looked at. [-]
    rows : tuple of PlanRow
        The trials, in order. [-]
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
        Why there is nothing to try; empty where there is. [-]
    bundled : bool
        True where the job is the example that ships with the package. [-]
    overrides : tuple of str
        The user's own cards that won over shipped ones. [-]
    """

    job: str
    ground: Ground
    rows: tuple[PlanRow, ...]
    spread: float
    best_chance: float
    aim: str
    design: str
    left_out: tuple[PlanRow, ...]
    learned_from: tuple[int, ...]
    why_none: str
    bundled: bool = False
    overrides: tuple[str, ...] = ()

    @property
    def only_to_learn(self) -> bool:
        """True where the advice would not heat yet: what is tried will most likely fail."""
        return self.ground.best.barrel_chance < HOPELESS

    @property
    def evenings(self) -> int:
        """Evenings at the press, jars included."""
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
                "best": _setting(self.ground.best),
            },
            "only_to_learn": self.only_to_learn,
            "trials": [_row(row) for row in self.rows],
            "evenings": self.evenings,
            "grams": self.grams,
            "wait_days": self.wait,
            "looked_at": len(self.ground.settings),
            "screened": dict(
                sorted(Counter(o.screened for o in self.ground.settings if o.screened).items())
            ),
            "left_out": [_row(row) | {"why": row.setting.screened} for row in self.left_out],
            "why_none": self.why_none or None,
        }


def plan_job(
    job: Job,
    trials: Sequence[Trial] = (),
    folder: str | Path = ".",
    *,
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
        Told how many settings of how many have been looked at. [-]

    Returns
    -------
    PlanAdvice
        The plan; with no trials, why.
    """
    setup, used = _learned(job, trials, folder, seed, count, confidence)
    points: list[DesignPoint] = []
    if shape:
        ground, points = design(setup, shape)
        plan = Plan(ground, "", spread_of(ground), ground.best.chance, ())
    else:
        plan = plan_trials(setup, wanted, aim=aim, tick=tick)
    why = _why_none(setup, plan.ground)
    sheets = _Rows(setup)
    rows, left_out = [], []
    if not why:
        rows = sheets.chosen(plan.trials) if not shape else sheets.design(points, Path(folder))
        left_out = [row for row in rows if row.setting.screened]
        rows = [row for row in rows if not row.setting.screened]
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
        why_none=why,
        bundled=job.bundled,
        overrides=setup.bench.library.overrides(),
    )


def _learned(
    job: Job,
    trials: Sequence[Trial],
    folder: str | Path,
    seed: int,
    count: int,
    confidence: float,
) -> tuple[Setup, tuple[int, ...]]:
    """The job on draws that know of the trials, and which these are.

    Without trials the cards are used as the advice uses them, fits included; with trials, the cards
    from before any fit, so that no trial counts twice.
    """
    bench = Bench(job, seed=seed, count=count)
    if not trials:
        return Setup(bench, confidence), ()
    library = library_for(job.folder, fits="behind")
    evidence = trial_evidence(trials, folder, library)
    if not len(evidence):
        return Setup(bench, confidence), ()
    prior = Draws(seed, count)
    found = posterior(prior, evidence.columns(prior), evidence.logs)
    bench = Bench(job, seed=seed, count=count, library=library).with_draws(found.draws)
    return Setup(bench, confidence), tuple(evidence.numbers)


def _why_none(setup: Setup, ground: Ground) -> str:
    """Why nothing is to be tried: a stop of the blend itself, or nothing that could work."""
    found = find(setup, ground.best.moisture)
    for remark in remarks(setup, found, None):
        if remark.severity == "stop" and remark.code not in _OF_A_SETTING:
            return remark.message
    if ground.open:
        return ""
    if ground.best.screened:
        return f"at the best setting looked at {ground.best.screened}"
    return "no setting has a fair chance"


class _Rows:
    """Rows of the sheet; shot and cooling are those that the advice gives at each moisture."""

    def __init__(self, setup: Setup) -> None:
        self._setup = setup
        self._found: dict[tuple[float, float], Found] = {}

    def chosen(self, trials: Sequence[PlannedTrial]) -> list[PlanRow]:
        return [
            self._row(t.setting, t.effort, spread=t.spread, best_chance=t.best_chance)
            for t in trials
        ]

    def design(self, points: Sequence[DesignPoint], folder: Path) -> list[PlanRow]:
        rows: list[PlanRow] = []
        before: list[Possible] = []
        for point in points:
            tables = job_then(point.job, folder).text if point.new_batch else ""
            effort = effort_of(point.setting, before)
            setup = self._setup
            if point.new_batch:
                setup = Setup(setup.bench.with_job(point.job), setup.confidence)
            rows.append(
                self._row(point.setting, effort, setup, glycerol=point.glycerol, job_tables=tables)
            )
            if not point.setting.screened:
                before.append(point.setting)
        return rows

    def _row(
        self, setting: Possible, effort: Effort, setup: Setup | None = None, **more: Any
    ) -> PlanRow:
        setup = setup or self._setup
        key = (more.get("glycerol") or 0.0, setting.moisture)
        if key not in self._found:
            self._found[key] = find(setup, setting.moisture)
        load = setting.charge if setup.geometry.given else None
        return PlanRow(setting, self._found[key].cooling, effort, load, **more)


def _row(row: PlanRow) -> dict[str, Any]:
    sheet = row.sheet
    return {
        **_setting(row.setting),
        "cooling_s": sheet.cooling_s,
        "charge_g": sheet.charge_g,
        "spread_after_k": row.spread,
        "best_chance_after": row.best_chance,
        "minutes": row.effort.minutes,
        "evenings": row.effort.evenings,
        "wait_days": row.effort.wait,
        "grams": row.effort.grams,
        "glycerol_g_per_100g_dry_polymer": None if row.glycerol is None else 100.0 * row.glycerol,
    }


def _setting(one: Possible) -> dict[str, Any]:
    return {
        "moisture_pct": 100.0 * one.moisture,
        "barrel_c": celsius(one.barrel),
        "soak_s": one.soak,
        "mold_c": celsius(one.mold),
        "chance": one.chance,
        "barrel_chance": one.barrel_chance,
    }
