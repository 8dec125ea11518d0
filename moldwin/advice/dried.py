"""Drying as an answer: how long, how warm at most, to which mass."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from moldwin.base.draws import DEFAULT_COUNT, DEFAULT_SEED
from moldwin.base.percentiles import Triple, in_words, share, triple
from moldwin.base.remarks import Remark, weightiest_first
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.job import Job
from moldwin.stages.bench import Bench
from moldwin.stages.drying import Drying, coolest_that_dries, dry
from moldwin.stages.state import Material
from moldwin.window.windows import Setup

__all__ = ["SCHEMA", "DryAdvice", "dry_job"]

SCHEMA = "moldwin.drying/1"
_COUNT = 512
#: Nobody dries pellets warmer than this unasked: it browns and glycerol leaves (judgment). [K]
_WARMEST = 333.15
#: From here pellets may brown while they dry for hours (judgment). [K]
_BROWNS = 383.15
#: Glycerol lost that is worth a word. [kg/kg]
_GLYCEROL = 0.02


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
    glycerol: Triple
    glycerol_share: Triple
    warnings: list[Remark] = field(default_factory=list)
    bundled: bool = False

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
            "glycerol_lost_pct": {k: 100 * v for k, v in self.glycerol_share.to_dict().items()},
            "warnings": [remark.to_dict() for remark in self.warnings],
        }


def dry_job(
    job: Job,
    *,
    to: float | None = None,
    t: float | None = None,
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
        Of oven or air; left out, as warm as few pellets fuse at, or warmer where cooler air would
        not dry them; at most 60 °C. [K]
    seed, count : int
        Of the draws. [-]

    Returns
    -------
    DryAdvice
        [SI]

    Raises
    ------
    InputError
        A target that is not drier than the pellets.
    """
    now = float(job.pellets.moisture or 0.0)
    target = to
    if target is None:
        target = Setup(Bench(job, seed=seed, count=DEFAULT_COUNT)).target(now).best
    if target >= now:
        message = (
            f"the pellets hold {100 * now:.1f} % water and are to hold {100 * target:.1f} %: "
            "nothing to dry; moldwin condition wets them"
        )
        raise InputError([Fault("--to-moisture-pct", "", message)])
    bench = Bench(job, seed=seed, count=count)
    material = Material(bench)
    room = float(np.median(material.room_t))
    limit = material.at(now).tg + 10.0
    warmest = float(np.quantile(limit, 0.2))
    used = t
    if used is None:
        used = max(warmest, room, coolest_that_dries(bench, material, target))
        used = min(used, _WARMEST)
    found = dry(bench, material, now, target, used)
    never = share(~np.isfinite(found.to_target))
    mass, tray = job.pellets.mass, job.jar.tray
    lost = triple(found.glycerol_share)
    stop = None
    if mass is not None:
        stop = mass * (1.0 - now) / (1.0 - target) - triple(found.glycerol).likely
    return DryAdvice(
        job=job.title or (job.path.name if job.path else "untitled job"),
        now=now,
        target=target,
        t=used,
        t_given=t is not None,
        hours={f"hours_{n}": triple(time / 3600.0) for n, time in found.times.items()},
        hours_to_target=triple(found.to_target / 3600.0),
        never=never,
        limit_now=triple(found.limit_now),
        limit_target=triple(found.limit_target),
        final=None if mass is None else triple(found.final),
        stop_mass=stop,
        stop_scale=stop + tray if stop is not None and tray is not None else None,
        glycerol=triple(found.glycerol),
        glycerol_share=lost,
        warnings=_remarks(used, found, lost, never, target),
        bundled=job.bundled,
    )


def _remarks(t: float, found: Drying, lost: Triple, never: float, target: float) -> list[Remark]:
    said = []
    fuses = share(t > found.limit_now)
    if fuses >= 0.1:
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
    if lost.high >= _GLYCEROL:
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
    if t >= _BROWNS:
        said.append(
            Remark(
                "degradation",
                "caution",
                f"At {t - 273.15:.0f} °C starch and seaweed may brown while they dry for hours.",
                "drying",
                "judgment",
            )
        )
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
