"""Drying as an answer: how long, how warm at most, to which mass."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from moldwin.advice.conditioned import Course
from moldwin.advice.heating import not_for_the_press
from moldwin.advice.oven_reading import learn_from_oven
from moldwin.advice.sharing import SOME
from moldwin.base.draws import DEFAULT_COUNT, DEFAULT_SEED
from moldwin.base.percentiles import Triple, in_words, share, triple
from moldwin.base.remarks import Remark, weightiest_first
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.jar_weighings import JarWeighings
from moldwin.inputs.job import Job
from moldwin.learn.weighed import Lesson
from moldwin.stages.bench import Bench
from moldwin.stages.drying import HOUR, Drying, Oven, coolest_that_dries
from moldwin.stages.state import Material
from moldwin.window.aim import aim
from moldwin.window.windows import Setup

__all__ = ["SCHEMA", "DryAdvice", "Layer", "OvenRow", "dry_job"]

SCHEMA = "moldwin.drying/1"
_COUNT = 512
#: Nobody dries pellets warmer than this unasked: glycerol leaves (judgment). [K]
_WARMEST = 333.15
#: Ovens that are looked at, and how closely the warmest that is safe is found. [K]
_LADDER = (30.0, 40.0, 50.0, 60.0, 80.0, 105.0)
_HOTTEST, _CLOSE = 413.15, 1.0
#: Glycerol lost that is worth a word. [kg/kg]
_GLYCEROL = 0.02
#: A heap, and how alike two layers must be to tell only one of them. [m, -]
_HEAP, _ALIKE = 0.05, 0.2
_ROWS = 9
_STEPS = (0.25, 0.5, 1, 2, 3, 6, 12, 24, 48, 120, 240, 480, 960)


@dataclass(frozen=True)
class OvenRow:
    """One temperature of the air: what it does. Shares are of the samples or of the substance."""

    t: float
    hours: Triple
    never: float
    fuses_now: float
    fuses_dry: float
    glycerol: Triple
    browning: Triple
    chance: float

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "oven_c": self.t - 273.15,
            "hours_to_target": self.hours.to_dict(),
            "never_share": self.never,
            "fuse_share_now": self.fuses_now,
            "fuse_share_at_target": self.fuses_dry,
            "glycerol_lost_pct": _percent(self.glycerol),
            "browning_used_pct": _percent(self.browning),
            "chance": self.chance,
        }


@dataclass(frozen=True)
class Layer:
    """The same pellets spread otherwise: depth [m], area [m2], hours to the target."""

    words: str
    depth: float
    area: float
    hours: Triple

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "how": self.words,
            "depth_mm": 1e3 * self.depth,
            "area_cm2": 1e4 * self.area,
            "hours_to_target": self.hours.to_dict(),
        }


@dataclass(frozen=True)
class DryAdvice:
    """What the page of ``moldwin dry`` shows; kelvin, kg and fractions, hours for times."""

    job: str
    now: float
    target: float
    t: float
    t_given: bool
    hours: dict[str, Triple]
    hours_to_target: Triple
    never: float
    limit_now: Triple
    limit_target: Triple
    final: Triple | None
    stop_mass: float | None
    stop_scale: float | None
    tray: float | None
    mass_given: bool
    glycerol: Triple
    glycerol_share: Triple
    confidence: float
    chance: float
    warmest: float | None
    ovens: list[OvenRow]
    layers: list[Layer]
    course: Course
    warnings: list[Remark] = field(default_factory=list)
    learned: Lesson[Oven] | None = None
    not_for_the_press: str | None = None
    bundled: bool = False
    overrides: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """The object that ``moldwin dry --json`` prints."""
        stop, scale = self.stop_mass, self.stop_scale
        return {
            "schema": SCHEMA,
            "job": self.job,
            "now_pct": 100.0 * self.now,
            "target_pct": 100.0 * self.target,
            "temperature_c": self.t - 273.15,
            "temperature_given": self.t_given,
            **{name: hours.to_dict() for name, hours in self.hours.items()},
            "hours_to_target": self.hours_to_target.to_dict(),
            "never_share": self.never,
            "limit_now_c": _celsius(self.limit_now),
            "limit_target_c": _celsius(self.limit_target),
            "stop_mass_g": None if stop is None else 1e3 * stop,
            "stop_scale_g": None if scale is None else 1e3 * scale,
            "glycerol_lost_g": {k: 1e3 * v for k, v in self.glycerol.to_dict().items()},
            "glycerol_lost_pct": _percent(self.glycerol_share),
            "confidence": self.confidence,
            "chance": self.chance,
            "warmest_safe_c": None if self.warmest is None else self.warmest - 273.15,
            "ovens": [row.to_dict() for row in self.ovens],
            "layers": [layer.to_dict() for layer in self.layers],
            "course": self.course.to_dict(),
            "measured": None if self.learned is None else self.learned.to_dict(),
            "not_for_the_press": self.not_for_the_press,
            "warnings": [remark.to_dict() for remark in self.warnings],
        }


def dry_job(
    job: Job,
    *,
    to: float | None = None,
    t: float | None = None,
    measured: JarWeighings | None = None,
    confidence: float = 0.7,
    seed: int = DEFAULT_SEED,
    count: int = _COUNT,
) -> DryAdvice:
    """From the moisture now down to a target.

    Parameters
    ----------
    job : Job
        A job read before. [-]
    to : float, optional
        Target, wet basis; left out, the best moisture to mold at. [kg/kg]
    t : float, optional
        Of oven or air; left out, as warm as is safe at this confidence, or warmer where cooler air
        would not dry them; at most 60 °C. [K]
    measured : JarWeighings, optional
        The tray weighed on the way, at ``t``; the draws are moved by it. [SI]
    confidence : float, optional
        Share of samples in which nothing may fuse, brown or lose glycerol. [-]
    seed, count : int
        Of the draws. [-]

    Returns
    -------
    DryAdvice
        [SI]

    Raises
    ------
    InputError
        A target that is not drier than the pellets; weighings that cannot be of these pellets, or
        of no known temperature.
    """
    now = float(job.pellets.moisture or 0.0)
    setup = Setup(Bench(job, seed=seed, count=DEFAULT_COUNT))
    target = _target(setup, to, now)
    bench = Bench(job, seed=seed, count=count)
    oven = Oven(bench, Material(bench), now)
    learned = None
    if measured is not None:
        if t is None:
            message = "say how warm the oven was while they were weighed"
            raise InputError([Fault("--oven-c", "", message)])
        learned = learn_from_oven(oven, target, t, measured)
        oven = learned.stage
    bench, material = oven.bench, oven.material
    room = float(np.median(material.room_t))
    rungs = sorted({room, *(273.15 + c for c in _LADDER if 273.15 + c > room + 3.0)})
    ovens = [_row(oven.dry(target, rung), target) for rung in rungs]
    warmest = _warmest(oven, target, ovens, confidence)
    used = t if t is not None else _chosen(bench, material, target, room, warmest)
    found = oven.dry(target, used)
    if t is not None:
        ovens = [*(row for row in ovens if abs(row.t - t) > 0.5), _row(found, target)]
    mass, tray = job.pellets.mass, job.jar.tray
    stop = None
    if mass is not None:
        stop = mass * (1.0 - now) / (1.0 - target) - triple(found.glycerol).likely
    return DryAdvice(
        job=job.title or (job.path.name if job.path else "untitled job"),
        now=now,
        target=target,
        t=used,
        t_given=t is not None,
        hours={f"hours_{n}": triple(time / HOUR) for n, time in found.times.items()},
        hours_to_target=triple(found.to_target / HOUR),
        never=share(~np.isfinite(found.to_target)),
        limit_now=triple(found.limit_now),
        limit_target=triple(found.limit_target),
        final=None if mass is None else triple(found.final),
        stop_mass=stop,
        stop_scale=stop + tray if stop is not None and tray is not None else None,
        tray=tray,
        mass_given=mass is not None,
        glycerol=triple(found.glycerol),
        glycerol_share=triple(found.glycerol_share),
        confidence=confidence,
        chance=share(found.harmless),
        warmest=warmest,
        ovens=sorted(ovens, key=lambda row: row.t),
        layers=_layers(oven, target, used),
        course=_course(oven, found),
        warnings=_remarks(used, found, target),
        learned=learned,
        not_for_the_press=not_for_the_press(setup),
        bundled=job.bundled,
        overrides=bench.library.overrides(),
    )


def _target(setup: Setup, to: float | None, now: float) -> float:
    target = aim(setup, setup.target(now), now) if to is None else to
    if target < now:
        return target
    place, key, whose = "--to-moisture-pct", "", "are to hold"
    if to is None:
        place, key = str(setup.bench.job.path or "job"), "pellets.moisture_pct"
        whose = "the advised target is"
    message = (
        f"the pellets hold {100 * now:.1f} % water and {whose} {100 * target:.1f} %: nothing to "
        "dry; moldwin condition wets them, --to-moisture-pct asks for less water"
    )
    raise InputError([Fault(place, key, message)])


def _row(found: Drying, target: float) -> OvenRow:
    return OvenRow(
        t=found.t,
        hours=triple(found.to_target / HOUR),
        never=share(~np.isfinite(found.to_target)),
        fuses_now=share(found.margins["fuse"] <= 0.0),
        fuses_dry=share(found.margins["fuse"] + found.limit_target - found.limit_now <= 0.0),
        glycerol=triple(found.glycerol_share),
        browning=triple(found.browning),
        chance=share(found.harmless),
    )


def _warmest(oven: Oven, target: float, rows: list[OvenRow], confidence: float) -> float | None:
    """Warmest air in which, from the room's up, this share of samples comes to no harm. [K]"""
    unsafe = next((row.t for row in rows if row.chance < confidence), _HOTTEST)
    cooler = [row.t for row in rows if row.t < unsafe]
    if not cooler:
        return None
    safe = cooler[-1]
    while unsafe - safe > _CLOSE:
        middle = 0.5 * (safe + unsafe)
        harmless = share(oven.dry(target, middle).harmless) >= confidence
        safe, unsafe = (middle, unsafe) if harmless else (safe, middle)
    return safe


def _chosen(
    bench: Bench, material: Material, target: float, room: float, warmest: float | None
) -> float:
    """As warm as is safe, warmer where cooler air would not dry them; whole degrees. [K]"""
    used = max(warmest or room, room, coolest_that_dries(bench, material, target))
    return max(math.floor(min(used, _WARMEST) - 273.15) + 273.15, room)


def _layers(oven: Oven, target: float, t: float) -> list[Layer]:
    """The pellets as the job spreads them, one deep, in a heap, and under a fan."""
    bench, stage = oven.bench, oven.stage
    job = bench.job
    own = float(np.median(stage.jar.bed_depth))
    volume = own * float(np.median(stage.jar.bed_area))
    single = 2.0 * stage.pellet.half
    changes = [(f"as now, {1e3 * own:.0f} mm deep", own, job)]
    for words, depth in (("one pellet deep", single), ("in a heap of 50 mm", _HEAP)):
        if abs(depth / own - 1.0) > _ALIKE:
            jar = replace(job.jar, bed_area=None, bed_depth=depth)
            changes.append((words, depth, replace(job, jar=jar)))
    if not job.jar.fan:
        jar = replace(job.jar, bed_area=None, bed_depth=min(single, own), fan=True)
        changes.append(("one pellet deep, with a fan", min(single, own), replace(job, jar=jar)))
    found = []
    for words, depth, changed in changes:
        again = bench.with_job(changed)
        there = Oven(again, Material(again), stage.now.nominal).dry(target, t)
        found.append(Layer(words, depth, volume / depth, triple(there.to_target / HOUR)))
    return found


def _course(oven: Oven, found: Drying) -> Course:
    """Hour by hour until the target, or in longer steps where it takes long."""
    longest = triple(found.to_target / HOUR).likely
    longest = longest if math.isfinite(longest) else 30.0 * 24.0
    step = next((s for s in _STEPS if longest <= s * _ROWS), _STEPS[-1])
    hours = step * np.arange(min(math.ceil(longest / step), 4 * _ROWS) + 1)
    curve = found.curve
    at = np.searchsorted(curve.times, HOUR * hours, side="right").clip(1, len(curve.times) - 1)
    way = (HOUR * hours - curve.times[at - 1]) / (curve.times[at] - curve.times[at - 1])
    rows = {
        name: (1.0 - way) * values[:, at - 1] + way * values[:, at]
        for name, values in (("mean", curve.mean), ("skin", curve.skin), ("heart", curve.heart))
    }
    wet = {name: np.median(x / (1.0 + x), axis=0) for name, x in rows.items()}
    mass = oven.stage.dry_mass[:, None] * (1.0 + rows["mean"])
    mass = mass - oven.glycerol_lost(HOUR * hours[:, None], found.t).T
    return Course(hours / 24.0, [triple(m) for m in mass.T], wet["mean"], wet["skin"], wet["heart"])


def _remarks(t: float, found: Drying, target: float) -> list[Remark]:
    said = []
    fuses, browns = (share(found.margins[name] <= 0.0) for name in ("fuse", "browning"))
    if fuses >= SOME:
        said.append(
            Remark(
                "pellets-fuse",
                "caution",
                f"Pellets this moist may fuse at {t - 273.15:.0f} °C ({in_words(fuses)}): start"
                " cooler, spread thin, turn them, and warm up as they dry.",
                "drying",
                "glass transition plus 10 to 20 K (assumed)",
            )
        )
    if share(found.glycerol_share > _GLYCEROL) >= SOME:
        lost = triple(found.glycerol_share)
        said.append(
            Remark(
                "glycerol-read-as-water",
                "caution",
                f"{100 * lost.likely:.1f} % (up to {100 * lost.high:.0f} %) of the glycerol may"
                " leave with the water: the scale reads that as water too. Dry cooler.",
                "drying",
                "Cammenga 1977; activity and film assumed",
            )
        )
    if browns >= SOME:
        said.append(
            Remark(
                "degradation",
                "caution",
                f"At {t - 273.15:.0f} °C drying may use up a tenth or more of the time until starch"
                f" and seaweed brown ({in_words(browns)}): less is left for the press.",
                "drying",
                "the press's browning clock, taken on below 120 °C (assumed)",
            )
        )
    never = share(~np.isfinite(found.to_target))
    if never > 0.05:
        said.append(
            Remark(
                "extrapolated",
                "caution",
                f"This air may be too damp to reach {100 * target:.1f} % ({in_words(never)}):"
                " warm it.",
                "drying",
                "the blend's isotherm, moved at most 35 K",
            )
        )
    return weightiest_first(said)


def _celsius(kelvin: Triple) -> dict[str, float]:
    return {name: value - 273.15 for name, value in kelvin.to_dict().items()}


def _percent(part: Triple) -> dict[str, float]:
    return {name: 100.0 * value for name, value in part.to_dict().items()}
