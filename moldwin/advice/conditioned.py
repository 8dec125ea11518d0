"""The jar as an answer: which source, how much of it, how long, to which mass, what is quicker."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from moldwin.advice.faster import Faster, Route, levers, mold_days, routes
from moldwin.advice.heating import not_for_the_press
from moldwin.advice.sharing import PRACTICE, SOME
from moldwin.base.draws import DEFAULT_COUNT, DEFAULT_SEED
from moldwin.base.percentiles import Triple, in_words, triple
from moldwin.base.remarks import Remark, weightiest_first
from moldwin.inputs.jar_weighings import JarWeighings
from moldwin.inputs.job import Job
from moldwin.learn.jar_lesson import jar_target, learn_from_jar
from moldwin.learn.weighed import Lesson
from moldwin.stages.bench import Bench
from moldwin.stages.conditioning import WAYS, Conditioning, told
from moldwin.stages.humidity_sources import NoSource, Source
from moldwin.stages.jar_plan import JarPlan, plan_jar
from moldwin.stages.jar_stage import DAY, JarStage, Run, even_time
from moldwin.stages.state import Material
from moldwin.window.windows import Setup

__all__ = ["BETWEEN_ROWS", "COUNT", "SCHEMA", "ConditionAdvice", "Course", "condition_job"]

SCHEMA = "moldwin.conditioning/1"
#: The full problem is solved for this many samples, what-ifs for fewer: speed.
COUNT, _WHAT_IF_COUNT = 512, 128
#: Longer than this the clock alone will not do (judgment). [days]
TOO_LONG = 30.0
_SOME_ROWS = 14
#: Steps of the course from one row of its table to the next: for pictures.
BETWEEN_ROWS = 4


@dataclass(frozen=True)
class Course:
    """The jar day by day, shape (n,): mass of the pellets [kg], moisture wet basis [kg/kg]."""

    days: Any
    mass: list[Triple]
    mean: Any
    skin: Any
    heart: Any

    def to_dict(self) -> dict[str, Any]:
        """As plain data, in g and %."""
        return {
            "days": [float(day) for day in self.days],
            "mass_g": [
                {"low": 1e3 * m.low, "likely": 1e3 * m.likely, "high": 1e3 * m.high}
                for m in self.mass
            ],
            "moisture_pct": (100.0 * self.mean).tolist(),
            "skin_pct": (100.0 * self.skin).tolist(),
            "heart_pct": (100.0 * self.heart).tolist(),
        }


@dataclass(frozen=True)
class ConditionAdvice:
    """Everything the page of ``moldwin condition`` shows; SI inside, days for times."""

    job: str
    now: float
    target: float
    target_given: bool
    there: bool
    temperature: float
    plan: JarPlan
    way: Conditioning
    without: dict[str, Triple]
    course: Course
    even: Triple
    reaches: float
    short: float
    mass: float
    mass_given: bool
    tray: float | None
    mold: float
    routes: list[Route]
    faster: list[Faster]
    count: int
    warnings: list[Remark] = field(default_factory=list)
    learned: Lesson[JarStage] | None = None
    not_for_the_press: str | None = None
    bundled: bool = False
    overrides: tuple[str, ...] = ()

    @property
    def clock_alone(self) -> bool:
        """Whether waiting is a plan at all."""
        return self.way.days["days_90"].likely <= TOO_LONG

    def to_dict(self) -> dict[str, Any]:
        """The object that ``moldwin condition --json`` prints."""
        charge = self.plan.charge
        grams = {
            name: None if value is None else 1e3 * value
            for name, value in (
                ("water_g", charge.water),
                ("salt_g", charge.salt),
                ("glycerol_g", charge.glycerol),
                ("water_left_g", charge.end),
            )
        }
        return {
            "schema": SCHEMA,
            "job": self.job,
            **self.way.to_dict(),
            "now_pct": 100.0 * self.now,
            "target_pct": 100.0 * self.target,
            "at_target": self.there,
            "temperature_c": self.temperature - 273.15,
            "clock_alone": self.clock_alone,
            "pellets_take_g": 1e3 * self.plan.moved,
            "weigh_out": grams,
            "sources": [_told(source) for source in self.plan.sources],
            "reaches_target_share": self.reaches,
            "ends_short_share": self.short,
            "days_even": self.even.to_dict(),
            "days_90_without": {name: days.to_dict() for name, days in self.without.items()},
            "course": self.course.to_dict(),
            "mold_days": self.mold,
            "routes": [route.to_dict() for route in self.routes],
            "faster": [change.to_dict() for change in self.faster],
            "measured": None if self.learned is None else self.learned.to_dict(),
            "samples": self.count,
            "not_for_the_press": self.not_for_the_press,
            "warnings": [remark.to_dict() for remark in self.warnings],
        }


def condition_job(
    job: Job,
    *,
    to: float | None = None,
    source: str | None = None,
    bath_water: float | None = None,
    measured: JarWeighings | None = None,
    seed: int = DEFAULT_SEED,
    count: int = COUNT,
) -> ConditionAdvice:
    """From the moisture now to the target, in full.

    Parameters
    ----------
    job : Job
        A job read before. [-]
    to : float, optional
        Target, wet basis; left out, the best moisture to mold at. [kg/kg]
    source : str, optional
        Name or formula of the source that is to be used. [-]
    bath_water : float, optional
        Water in the jar's source, where it is there already. [kg]
    measured : JarWeighings, optional
        The jar weighed on the way; the draws are moved by it. [SI]
    seed, count : int
        Of the draws. [-]

    Returns
    -------
    ConditionAdvice
        [SI]

    Raises
    ------
    InputError
        A source that does not reach the target, a jar without enough water, weighings that cannot
        be of these pellets.
    """
    now = float(job.pellets.moisture or 0.0)
    target, there = jar_target(job, to, seed)
    bench = Bench(job, seed=seed, count=count)
    stage = JarStage(bench, Material(bench), now)
    plan = plan_jar(stage, target, source=source, bath_water=bath_water)
    learned = None
    if measured is not None:
        learned = learn_from_jar(stage, plan, target, measured)
        stage = learned.stage
    run = stage.run(plan.bath, target, stopped=plan.by_mass)
    days = {name: triple(run.time_to(share) / DAY) for name, share in WAYS.items()}
    without = _without(stage, plan, target)
    way = told(stage, plan, days, min(without, key=lambda name: without[name].likely))
    even = triple(even_time(run) / DAY)
    return ConditionAdvice(
        job=job.title or (job.path.name if job.path else "untitled job"),
        now=now,
        target=target,
        target_given=to is not None,
        there=there,
        temperature=stage.t,
        plan=plan,
        way=way,
        without=without,
        course=_course(stage, run, days, even),
        even=even,
        reaches=_reaches(stage, run, target),
        short=_short(stage, run, target),
        mass=stage.mass,
        mass_given=job.pellets.mass is not None,
        tray=job.jar.tray,
        mold=mold_days(_dampest(stage, plan, target)),
        routes=[] if there else routes(stage, plan, target),
        faster=[] if there else _faster(stage, plan, target, seed, learned),
        count=count,
        warnings=weightiest_first(_remarks(stage, plan, target)),
        learned=learned,
        not_for_the_press=not_for_the_press(Setup(Bench(job, seed=seed, count=DEFAULT_COUNT))),
        bundled=job.bundled,
        overrides=bench.library.overrides(),
    )


def _without(stage: JarStage, plan: JarPlan, target: float) -> dict[str, Triple]:
    """Days to 90 % with each resistance taken away."""
    end, stopped = plan.source.activity, plan.by_mass
    found = {}
    for name in ("air", "pellet", "bath"):
        run = stage.without(name, plan.bath, target, end, stopped=stopped)
        found[name] = triple(run.time_to(0.9) / DAY)
    return found


def _dampest(stage: JarStage, plan: JarPlan, target: float) -> float:
    """The highest humidity that pellets meet in the jar: over its source, or their own. [-]"""
    own = (float(np.median(stage.activity_at(w))) for w in (stage.now.nominal, target))
    return max(plan.source.activity, *own)


def _reaches(stage: JarStage, run: Run, target: float) -> float:
    """Share of samples that come within half a percent of the target."""
    w = stage.material.at(target).w_water
    end = run.x_goal / (1.0 + run.x_goal)
    return float(np.mean(np.abs(end - w) <= 0.005))


def _short(stage: JarStage, run: Run, target: float) -> float:
    """Share of samples in which the source ends before the target, by a tenth of the way."""
    way = stage.way_to(target)
    return float(np.mean(np.abs(run.x_goal - run.x_start) < 0.9 * np.abs(way)))


def _course(stage: JarStage, run: Run, days: dict[str, Triple], even: Triple) -> Course:
    """Day by day, or in longer steps where it takes long, until it is all but there and even."""
    ends = [end for end in (days["days_99"].likely, even.likely) if np.isfinite(end)]
    longest = max(ends, default=30.0)
    step = next(s for s in (0.25, 0.5, 1, 2, 5, 10, 20, 50, 100, 1e9) if longest <= s * _SOME_ROWS)
    last = int(np.ceil(longest / step)) if longest > 0 else 0
    at = step / BETWEEN_ROWS * np.arange(last * BETWEEN_ROWS + 1)
    rows = {name: np.stack([run.at(name, DAY * day) for day in at]) for name in _PARTS}
    wet = {name: np.median(x / (1.0 + x), axis=1) for name, x in rows.items()}
    mass = [triple(stage.mass * (1.0 + x) / (1.0 + run.x_start)) for x in rows["mean"]]
    return Course(at, mass, wet["mean"], wet["skin"], wet["heart"])


_PARTS = ("mean", "skin", "heart")


def _faster(
    stage: JarStage, plan: JarPlan, target: float, seed: int, learned: Lesson[JarStage] | None
) -> list[Faster]:
    """Every change on the same few draws, with the same source kept at the same target."""
    now = stage.now.nominal
    few = Bench(stage.bench.job, seed=seed, count=_WHAT_IF_COUNT, library=stage.bench.library)
    if learned is not None:
        few = stage.bench

    def again(job: Job) -> Triple:
        bench = few.with_job(job)
        there = JarStage(bench, Material(bench), now)
        try:
            same = plan_jar(there, target, source=plan.source.name)
        except NoSource:  # warmer, a salt may end short of the target
            return Triple(np.inf, np.inf, np.inf)
        run = there.run(same.bath, target, stopped=same.by_mass)
        return triple(run.time_to(0.9) / DAY)

    return levers(stage, again)


def _remarks(stage: JarStage, plan: JarPlan, target: float) -> list[Remark]:
    said = []
    source, now = plan.source, stage.now.nominal
    if source.oxidizer:
        said.append(
            Remark(
                "oxidizer",
                "caution",
                f"{source.words}: this salt feeds fire. Keep it apart from dry starch, fiber and"
                " dust, and choose another source if you can.",
                "conditioning",
                PRACTICE,
            )
        )
    limit = stage.bench.typical("room", "mold_growth_aw")
    if plan.dry_first:
        said.append(
            Remark(
                "mold-growth",
                "caution",
                f"At {100 * now:.0f} % the pellets are too wet to lie in a jar: mold is quicker"
                " than still air, and gel above 20 % water crystallizes. Dry them in an oven or in"
                " moving air first: moldwin dry.",
                "conditioning",
                "Forssell 1997 (read) for crystals; the rest is judgment",
            )
        )
    damp = float(np.mean(stage.activity_at(target) > limit))
    if damp >= SOME:
        said.append(
            Remark(
                "mold-growth",
                "caution",
                f"At {100 * target:.1f} % the pellets may be damp enough for mold to grow"
                f" ({in_words(damp)}): use them within two days, or keep them cold.",
                "conditioning",
                "none below 0.60, storage at or below 0.65 (read); days above are judgment",
            )
        )
    if stage.t < 313.15:
        said.append(
            Remark(
                "extrapolated",
                "info",
                f"Diffusivity in starch is known from 40 °C up; {stage.t - 273.15:.0f} °C and the"
                " plasticizer are taken on with a factor 10 either way. Weigh the jar on the way"
                " and give the weighings with --measured: the forecast narrows.",
                "conditioning",
                "Litchfield & Okos 1992, range from memory; spread assumed",
            )
        )
    return said


def _told(source: Source) -> dict[str, Any]:
    return {
        "name": source.name,
        "formula": source.formula,
        "humidity_pct": 100.0 * source.activity,
        "lands_pct": 100.0 * source.lands,
        "fitness": source.fitness,
        "oxidizer": source.oxidizer,
        "safety": source.safety,
        "known_here": not source.outside,
    }
