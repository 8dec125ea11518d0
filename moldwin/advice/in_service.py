"""The part in service as an answer: place by place, how long it takes, what fiber does."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from moldwin.advice.advise import CONFIDENCE
from moldwin.advice.at_home import at_home, most_common
from moldwin.advice.chosen import choose
from moldwin.advice.in_service_remarks import service_remarks
from moldwin.advice.situation import Found
from moldwin.base.draws import DEFAULT_COUNT, DEFAULT_SEED
from moldwin.base.percentiles import Triple, share, triple
from moldwin.base.remarks import Remark
from moldwin.inputs.job import Job
from moldwin.stages.bench import Bench
from moldwin.stages.fiber import longest_fiber, thickens
from moldwin.stages.in_use import BRITTLENESS, STATES, Home, PartThere, places, size_change
from moldwin.stages.part_moisture import Settling, settling
from moldwin.window.windows import Setup

__all__ = ["SCHEMA", "FiberAdvice", "PlaceAdvice", "ServiceAdvice", "TestBar", "service_job"]

SCHEMA = "moldwin.service/1"
#: What ``[use]`` may say: fields of the job, keys of its file.
_USE = {
    "humidity_low": "humidity_low_pct",
    "humidity_high": "humidity_high_pct",
    "temperature_low": "temperature_low_c",
    "temperature_high": "temperature_high_c",
    "time": "weeks",
}
_DAY, _WEEK = 86400.0, 604800.0
#: ISO 291: 23 °C and 50 % humidity, 88 h at least (read).
_ISO_T, _ISO_HUMIDITY, _ISO_TIME = 296.15, 0.50, 88.0 * 3600.0
#: What makes a part brittle or stiff that is worth naming: kelvin, and crystalline share.
_WORTH_K, _WORTH_CRYSTALS = 2.0, 0.02


@dataclass(frozen=True)
class PlaceAdvice:
    """The part at home in one place; percent, °C and MPa.

    ``above_tg`` is temperature less glass transition [K]; ``colder`` what makes it as brittle as if
    it were so much colder [K]; ``crystals`` those gained in
    the weeks, as a share of the polymer [-].
    """

    name: str
    humidity_pct: float
    temperature_c: float
    moisture_pct: Triple
    tg_c: Triple
    above_tg: Triple
    state: str
    states: dict[str, float]
    modulus_mpa: Triple
    modulus_later_mpa: Triple
    strength_mpa: Triple
    strength_later_mpa: Triple
    brittleness: str
    brittle: dict[str, float]
    colder: dict[str, float]
    crystals: float
    size_pct: Triple
    mass_pct: Triple
    mold_growth: float
    sticky: float
    soft: float

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "place": self.name,
            "humidity_pct": self.humidity_pct,
            "temperature_c": self.temperature_c,
            "moisture_pct": self.moisture_pct.to_dict(),
            "tg_c": self.tg_c.to_dict(),
            "above_tg_k": self.above_tg.to_dict(),
            "state": self.state,
            "state_shares": self.states,
            "modulus_mpa": self.modulus_mpa.to_dict(),
            "modulus_later_mpa": self.modulus_later_mpa.to_dict(),
            "strength_mpa": self.strength_mpa.to_dict(),
            "strength_later_mpa": self.strength_later_mpa.to_dict(),
            "brittleness": self.brittleness,
            "brittleness_shares": self.brittle,
            "as_if_colder_k": self.colder,
            "crystals_pct_of_polymer": 100.0 * self.crystals,
            "size_change_pct": self.size_pct.to_dict(),
            "mass_change_pct": self.mass_pct.to_dict(),
            "mold_growth_share": self.mold_growth,
            "sticky_share": self.sticky,
            "soft_share": self.soft,
        }


@dataclass(frozen=True)
class TestBar:
    """How far a bar of this wall comes in the standard's shortest time, and how long it takes.

    ``done`` is the share of its way [-], ``days_90`` the time for nine tenths of it [days].
    """

    __test__ = False  # a bar to test, not a test

    done: Triple
    days_90: Triple

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "temperature_c": _ISO_T - 273.15,
            "humidity_pct": 100.0 * _ISO_HUMIDITY,
            "hours_least": _ISO_TIME / 3600.0,
            "done_share": self.done.to_dict(),
            "days_90": self.days_90.to_dict(),
        }


@dataclass(frozen=True)
class FiberAdvice:
    """What the added fiber does in this room; shares and ratios without unit, lengths in mm."""

    names: tuple[str, ...]
    mass_share: float
    volume_share: Triple
    water: Triple
    stiffens: Triple
    strengthens: Triple
    thickens: Triple
    length_mm: Triple
    critical_mm: Triple
    longest_mm: Triple
    passage: str
    scorch_c: Triple

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "names": list(self.names),
            "mass_share_pct": 100.0 * self.mass_share,
            "volume_share_pct": _percent(self.volume_share).to_dict(),
            "water_pct_of_dry": _percent(self.water).to_dict(),
            "times_stiffer": self.stiffens.to_dict(),
            "times_stronger": self.strengthens.to_dict(),
            "times_thicker_melt": self.thickens.to_dict(),
            "length_mm": self.length_mm.to_dict(),
            "critical_length_mm": self.critical_mm.to_dict(),
            "longest_mm": self.longest_mm.to_dict(),
            "narrowest": self.passage,
            "scorch_c": self.scorch_c.to_dict(),
        }


@dataclass(frozen=True)
class ServiceAdvice:
    """What the page of ``moldwin service`` shows.

    ``room`` is the very ``service`` object of ``moldwin advise``; ``assumed`` the keys of ``[use]``
    that the job leaves out.
    """

    job: str
    room: dict[str, Any]
    molded_pct: float
    weeks: float
    assumed: tuple[str, ...]
    wall_mm: float
    wall_given: bool
    places: list[PlaceAdvice]
    days: dict[str, Triple]
    season_days: Triple
    swing_pct: Triple
    bar: TestBar
    leaches: Triple
    fiber: FiberAdvice | None
    warnings: list[Remark] = field(default_factory=list)
    bundled: bool = False
    overrides: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """The object that ``moldwin service --json`` prints."""
        return {
            "schema": SCHEMA,
            "job": self.job,
            **self.room,
            "molded_at_pct": self.molded_pct,
            "weeks": self.weeks,
            "assumed": [f"use.{key}" for key in self.assumed],
            "places": [place.to_dict() for place in self.places],
            "wall_mm": self.wall_mm,
            **{name: time.to_dict() for name, time in self.days.items()},
            "season_days_90": self.season_days.to_dict(),
            "season_size_change_pct": self.swing_pct.to_dict(),
            "test_bar": self.bar.to_dict(),
            "water_resistant": False,
            "leaches_pct_of_dry": _percent(self.leaches).to_dict(),
            "fiber": None if self.fiber is None else self.fiber.to_dict(),
            "warnings": [remark.to_dict() for remark in self.warnings],
        }


def service_job(
    job: Job,
    *,
    seed: int = DEFAULT_SEED,
    count: int = DEFAULT_COUNT,
    confidence: float = CONFIDENCE,
) -> ServiceAdvice:
    """The part where it will live.

    Parameters
    ----------
    job : Job
        A job read before. [-]
    seed, count : int
        Of the draws; the same as those of `advise` give the same ``service`` object. [-]
    confidence : float, optional
        Chance asked of the window in which the part is molded, as that of `advise`. [-]

    Returns
    -------
    ServiceAdvice
        In the units of the page.
    """
    setup = Setup(Bench(job, seed=seed, count=count), confidence)
    bench, material, geometry = setup.bench, setup.material, setup.geometry
    chosen = choose(setup).found
    molded = chosen.window.state
    home = Home(bench, material, molded)
    parts = [home.at(place) for place in places(bench)]
    dry, now, damp = parts
    way = settling(bench, material, geometry, (molded.w_water, *_air(now)), _ISO_TIME)
    season = settling(bench, material, geometry, (dry.w_water, *_air(damp)), _ISO_TIME)
    iso = (molded.w_water, _ISO_HUMIDITY, _ISO_T)
    swing = size_change(bench, material.blend, dry.w_water, damp.w_water)
    blend = material.blend
    return ServiceAdvice(
        job=job.title or (job.path.name if job.path else "untitled job"),
        room=at_home(setup, chosen),
        molded_pct=100.0 * molded.nominal,
        weeks=home.time / _WEEK,
        assumed=tuple(key for field, key in _USE.items() if getattr(job.use, field) is None),
        wall_mm=1e3 * geometry.thickest,
        wall_given=geometry.given,
        places=[_place(part) for part in parts],
        days=_days(way),
        season_days=_days(season)["days_90"],
        swing_pct=triple(100.0 * swing),
        bar=_bar(settling(bench, material, geometry, iso, _ISO_TIME)),
        leaches=triple(blend.plasticizer + blend.salt + np.zeros(bench.count)),
        fiber=_fiber(setup, chosen, now),
        warnings=service_remarks(setup, chosen, parts),
        bundled=job.bundled,
        overrides=bench.library.overrides(),
    )


def _air(part: PartThere) -> tuple[Any, Any]:
    return part.place.humidity, part.place.t


def _place(part: PartThere) -> PlaceAdvice:
    place, margins, brittleness = part.place, part.margins, part.brittleness
    pushed = {name: float(np.median(kelvin)) for name, kelvin in part.pushed.items()}
    crystals = float(np.median(part.crystals))
    return PlaceAdvice(
        name=place.name,
        humidity_pct=100.0 * float(np.median(place.humidity)),
        temperature_c=float(np.median(place.t)) - 273.15,
        moisture_pct=triple(100.0 * part.w_water),
        tg_c=triple(part.tg - 273.15),
        above_tg=triple(place.t - part.tg),
        state=most_common(part.state),
        states={name: share(part.state == name) for name in STATES},
        modulus_mpa=triple(1e-6 * part.modulus),
        modulus_later_mpa=triple(1e-6 * part.modulus_later),
        strength_mpa=triple(1e-6 * part.strength),
        strength_later_mpa=triple(1e-6 * part.strength_later),
        brittleness=most_common(brittleness),
        brittle={name: share(brittleness == name) for name in BRITTLENESS},
        colder={name: kelvin for name, kelvin in pushed.items() if kelvin >= _WORTH_K},
        crystals=crystals if crystals >= _WORTH_CRYSTALS else 0.0,
        size_pct=triple(100.0 * part.size),
        mass_pct=triple(100.0 * part.mass),
        mold_growth=share(margins["mold-growth"] <= 0.0),
        sticky=share(margins["sticky"] <= 0.0),
        soft=share(margins["soft-part"] <= 0.0),
    )


def _days(way: Settling) -> dict[str, Triple]:
    return {name: triple(time / _DAY) for name, time in way.times.items()}


def _bar(way: Settling) -> TestBar:
    return TestBar(triple(way.asked), _days(way)["days_90"])


def _fiber(setup: Setup, chosen: Found, now: PartThere) -> FiberAdvice | None:
    bench, blend, fiber = setup.bench, setup.material.blend, now.fiber
    if fiber is None:
        return None
    plain = now.matrix_modulus
    longest, passage = longest_fiber(bench, setup.geometry)
    scorch = [bench.of(e.card, "scorch_t") for e in blend.fibrous if e.card.role == "fiber"]
    return FiberAdvice(
        names=fiber.names,
        mass_share=float(np.median(fiber.mass_share)),
        volume_share=triple(fiber.phi),
        water=triple(fiber.water),
        stiffens=triple(now.modulus / plain),
        strengthens=triple(now.strength / now.matrix_strength),
        thickens=triple(thickens(bench, blend, chosen.window.state)),
        length_mm=triple(1e3 * fiber.length),
        critical_mm=triple(1e3 * fiber.critical_length(now.matrix_strength)),
        longest_mm=triple(1e3 * longest),
        passage=passage,
        scorch_c=triple(np.min(scorch, axis=0) - 273.15),
    )


def _percent(part: Triple) -> Triple:
    return Triple(100.0 * part.low, 100.0 * part.likely, 100.0 * part.high)
