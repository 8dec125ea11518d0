"""The spread gel as an answer: how thick it dries, how long that takes, when it tears."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from moldwin.advice.film_help import Help, film_remarks, helps
from moldwin.base.draws import DEFAULT_SEED
from moldwin.base.percentiles import Triple, share, triple
from moldwin.base.remarks import Remark
from moldwin.inputs.job import Job
from moldwin.stages.bench import Bench
from moldwin.stages.sheet import HOUR, Drying, SheetAir, WetSheet, wet_basis
from moldwin.stages.tearing import learned_order, tearing

__all__ = ["SCHEMA", "FilmAdvice", "Flake", "Stage", "TornSheets", "film_job"]

SCHEMA = "moldwin.film/1"
_COUNT = 256
#: Masses are told of so much where the job does not say how large the sheet is. [m2]
_AREA = 0.01
#: The strip whose edges are told of when it curls. [m]
STRIP = 0.1
#: Pieces are cut so many times as wide as they are thick, between these ends, and no wider than
#: this share of the barrel (judgment). [-, m, -]
_ASPECT, _LEAST_EDGE, _MOST_EDGE, _OF_BARREL = 3.0, 0.003, 0.008, 1 / 3


@dataclass(frozen=True)
class Stage:
    """One stage of the drying: hours from the start, mean moisture [kg/kg], mass of sheet [kg]."""

    hours: Triple
    moisture: Triple
    mass: Triple

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "hours": self.hours.to_dict(),
            "moisture_pct": _scaled(self.moisture, 100.0),
            "mass_g": _scaled(self.mass, 1e3),
        }


@dataclass(frozen=True)
class Flake:
    """How to break the sheet up: edge and thickness [m], and the moisture it bends at [kg/kg]."""

    edge: float
    thickness: Triple
    bends_above: Triple
    snaps_when_dry: float

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "edge_mm": 1e3 * self.edge,
            "thickness_mm": _scaled(self.thickness, 1e3),
            "bends_above_moisture_pct": _scaled(self.bends_above, 100.0),
            "snaps_when_dry_share": self.snaps_when_dry,
        }


@dataclass(frozen=True)
class TornSheets:
    """What sheets that tore or held have taught: spreads [m]."""

    torn: float | None
    whole: float | None
    before: Triple
    inside: bool

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "torn_mm": None if self.torn is None else 1e3 * self.torn,
            "whole_mm": None if self.whole is None else 1e3 * self.whole,
            "tear_mm_before": _scaled(self.before, 1e3),
            "inside": self.inside,
        }


@dataclass(frozen=True)
class FilmAdvice:
    """What the page of ``moldwin film`` shows; meters, kg and fractions, hours for times."""

    job: str
    spread: float
    spread_given: bool
    water_given: bool
    area: float
    area_given: bool
    plate: str | None
    air: SheetAir
    air_t: float
    humidity: float
    wet_water: Triple
    dry: float
    dry_free: float
    free_shrink: float
    block_left: float
    hours: Triple
    store: Triple
    never_stored: float
    stages: dict[str, Stage]
    flux: Triple
    t_wet: Triple
    bottleneck: str
    tear: Triple
    tear_chance: float
    lets_go: Triple
    curl_peeled: Triple
    curl_dry: Triple
    flake: Flake
    gel_for: float | None
    sheets: TornSheets | None
    helps: list[Help]
    warnings: list[Remark] = field(default_factory=list)
    assumptions: list[dict[str, Any]] = field(default_factory=list)
    bundled: bool = False
    overrides: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """The object that ``moldwin film --json`` prints."""
        return {
            "schema": SCHEMA,
            "job": self.job,
            "spread_mm": 1e3 * self.spread,
            "spread_given": self.spread_given,
            "water_given": self.water_given,
            "area_cm2": 1e4 * self.area,
            "area_given": self.area_given,
            "air_c": self.air_t - 273.15,
            "humidity_pct": 100.0 * self.humidity,
            "fan": self.air.fan,
            "gel_water_pct": _scaled(self.wet_water, 100.0),
            "dry_mm": 1e3 * self.dry,
            "dry_free_mm": 1e3 * self.dry_free,
            "free_shrink_pct": 100.0 * self.free_shrink,
            "block_volume_left_pct": 100.0 * self.block_left,
            "hours": self.hours.to_dict(),
            "hours_to_store": self.store.to_dict(),
            "never_stored_share": self.never_stored,
            "stages": {name: stage.to_dict() for name, stage in self.stages.items()},
            "evaporation_g_m2_h": _scaled(self.flux, 3.6e6),
            "wet_surface_c": {k: v - 273.15 for k, v in self.t_wet.to_dict().items()},
            "bottleneck": self.bottleneck,
            "tear_mm": _scaled(self.tear, 1e3),
            "tear_chance": self.tear_chance,
            "lets_go_mm": _scaled(self.lets_go, 1e3),
            "curl_when_peeled_1_m": self.curl_peeled.to_dict(),
            "curl_when_dry_1_m": self.curl_dry.to_dict(),
            "flake": self.flake.to_dict(),
            "gel_for_sheets": self.gel_for,
            "sheets": None if self.sheets is None else self.sheets.to_dict(),
            "helps": [each.to_dict() for each in self.helps],
            "warnings": [remark.to_dict() for remark in self.warnings],
            "assumptions": self.assumptions,
        }


def film_job(
    job: Job,
    *,
    air: SheetAir = SheetAir(),  # noqa: B008
    torn: float | None = None,
    whole: float | None = None,
    seed: int = DEFAULT_SEED,
    count: int = _COUNT,
) -> FilmAdvice:
    """From the spread gel to the dry sheet.

    Parameters
    ----------
    job : Job
        A job read before. [-]
    air : SheetAir, optional
        The air over the sheet; left out, the room's, still. [-]
    torn, whole : float, optional
        Wet spread of a sheet of this recipe that tore in this air, and of one that stayed whole;
        left out, the job's. [m]
    seed, count : int
        Of the draws. [-]

    Returns
    -------
    FilmAdvice
        [SI]
    """
    bench = Bench(job, seed=seed, count=count)
    sheet = WetSheet(bench)
    drying, tears = sheet.drying(air), tearing(sheet, air)
    torn, whole = torn or job.sheet.torn, whole or job.sheet.whole
    order, sheets = np.arange(count), None
    if torn is not None or whole is not None:
        scatter = float(np.median(bench.typical("sheet", "tear_scatter")))
        before = triple(tears.spread)
        order, inside = learned_order(tears.spread, torn, whole, scatter)
        sheets = TornSheets(torn, whole, before, inside)
    told = _Told(order)
    area = job.sheet.area or _AREA
    shrunk = sheet.free_shrinkage(drying.x_end)
    dry = told.triple(sheet.thickness(drying.x_end))
    stored = told(drying.store)
    warnings = film_remarks(sheet, drying, tears, air, order, sheets is not None)
    return FilmAdvice(
        job=job.title or (job.path.name if job.path else "untitled job"),
        spread=told.triple(sheet.spread).likely,
        spread_given=job.sheet.spread is not None,
        water_given=sheet.pot.poured_given,
        area=area,
        area_given=job.sheet.area is not None,
        plate=job.sheet.plate,
        air=air,
        air_t=told.triple(sheet.room_t).likely if air.t is None else air.t,
        humidity=told.triple(drying.a_air).likely,
        wet_water=told.triple(wet_basis(sheet.x_wet)),
        dry=dry.likely,
        dry_free=told.triple(sheet.spread * (1.0 - shrunk)).likely,
        free_shrink=told.triple(shrunk).likely,
        block_left=told.triple((1.0 - shrunk) ** 3).likely,
        hours=told.triple(drying.dry / HOUR),
        store=told.triple(stored / HOUR),
        never_stored=share(~np.isfinite(stored)),
        stages=_stages(sheet, drying, told, area),
        flux=told.triple(drying.flux),
        t_wet=told.triple(drying.t_wet),
        bottleneck="air" if np.median(told(drying.dry - 2.0 * drying.wet_for)) < 0.0 else "sheet",
        tear=told.triple(tears.spread),
        tear_chance=share(told(tears.spread) < told(sheet.spread)),
        lets_go=told.triple(tears.lets_go),
        curl_peeled=told.triple(sheet.curl(drying, drying.peel)),
        curl_dry=told.triple(sheet.curl(drying, drying.dry)),
        flake=_flake(sheet, drying, told, dry),
        gel_for=_gel_for(sheet, area),
        sheets=sheets,
        helps=helps(sheet, drying, tears, air, order),
        warnings=warnings,
        assumptions=_assumptions(bench),
        bundled=job.bundled,
        overrides=bench.library.overrides(),
    )


class _Told:
    """The draws that are told of: all of them, or those that a torn sheet has left."""

    def __init__(self, order: Any) -> None:
        self._order = order

    def __call__(self, samples: Any) -> Any:
        return (samples + np.zeros(len(self._order)))[self._order]

    def triple(self, samples: Any) -> Triple:
        return triple(self(samples))


def _stages(sheet: WetSheet, drying: Drying, told: _Told, area: float) -> dict[str, Stage]:
    """Wet, firm enough to peel, and dry: when, how moist, and what the sheet then weighs."""
    dry_mass = area * sheet.dry_per_area
    found = {}
    spread = np.zeros_like(drying.dry)
    for name, time in (("wet", spread), ("peel", drying.peel), ("dry", drying.dry)):
        x = drying.mean_at(time)
        mass = told.triple(dry_mass * (1.0 + x))
        found[name] = Stage(told.triple(time / HOUR), told.triple(wet_basis(x)), mass)
    return found


def _flake(sheet: WetSheet, drying: Drying, told: _Told, dry: Triple) -> Flake:
    press = sheet.bench.job.press
    bore = press.barrel_diameter or press.plunger_diameter
    widest = _MOST_EDGE if bore is None else min(_MOST_EDGE, _OF_BARREL * bore)
    edge = float(np.clip(_ASPECT * dry.likely, min(_LEAST_EDGE, widest), widest))
    snaps = share(told(drying.x_end) < told(sheet.x_glass))
    return Flake(edge, dry, told.triple(wet_basis(sheet.x_glass)), snaps)


def _gel_for(sheet: WetSheet, area: float) -> float | None:
    """For how many such sheets the pot's gel is enough; None where the job does not say."""
    job = sheet.bench.job
    if not sheet.pot.poured_given or job.sheet.area is None or job.sheet.spread is None:
        return None
    return float(np.median(sheet.pot.sheet / (area * sheet.wet_per_area)))


def _assumptions(bench: Bench) -> list[dict[str, Any]]:
    """Numbers of the sheet that nobody measured, in the order of the alphabet."""
    return [
        {
            "name": used.name,
            "value": used.value,
            "unit": used.unit,
            "status": used.status,
            "source": used.source,
        }
        for name, used in sorted(bench.used.items())
        if used.status != "measured" and name.startswith(("sheet.", "pot.", "room."))
    ]


def _scaled(of: Triple, scale: float) -> dict[str, float]:
    return {name: scale * value for name, value in of.to_dict().items()}
