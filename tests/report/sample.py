"""A full answer made by hand: no figure in it was computed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from moldwin.advice.answer import (
    Advice,
    Assumption,
    Barrel,
    BarrelLimit,
    Measurement,
    MoistureAdvice,
    MoistureLimit,
    MoldAdvice,
    Remedy,
    Settings,
    ShotAdvice,
    Situation,
)
from moldwin.base.percentiles import Triple
from moldwin.base.remarks import Remark

LIMITS = [
    BarrelLimit("weld", "low", 117.6, 0.21),
    BarrelLimit("browning", "high", 158.2, 0.14),
    BarrelLimit("fill", "low", 112.0, 0.06),
    BarrelLimit("heater", "high", 220.0, 0.0),
]
OPEN = Barrel(121.4, 134.8, 158.9, 0.7, 0.7432, True, LIMITS)
CLOSED = Barrel(None, 141.0, None, 0.7, 0.4123, False, LIMITS)
HOPELESS = Barrel(None, None, None, 0.7, 0.083, False, LIMITS)

AS_IT_IS = Situation(
    tg_c=Triple(29.6, 35.2, 41.8),
    barrel=OPEN,
    soak_s=262.0,
    mold=MoldAdvice(38.0, 61.0, 83.0),
    cooling_s=43.0,
    shot=ShotAdvice(2.31, 2.71, Triple(3.061, 3.142, 3.22), 12.4, Triple(2.1, 4.2, 6.4)),
)
SETTINGS = Settings(11.0, 134.8, 262.0, 700.0, 61.0, 43.0, 3.142)
CONDITIONING = {
    "humidity_pct": 57.4,
    "source": "saturated NaBr slurry",
    "days_50": {"low": 1.2, "likely": 2.4, "high": 9.0},
    "days_90": {"low": 4.0, "likely": 9.3, "high": None},
    "days_99": {"low": 8.0, "likely": 19.0, "high": None},
    "bottleneck": "pellet",
    "stop_mass_g": 124.08,
    "stop_scale_g": 166.08,
}
REMEDIES = [
    Remedy(
        "add 40 g glycerol",
        "opens 120 to 141 °C",
        {"ingredient.glycerol.mass_g": 140.0},
        120.0,
        141.0,
        0.78,
        "low",
    ),
    Remedy(
        "seal the nozzle",
        "raises the chance to 0.5",
        {"press.sealed_nozzle": True, "title": "a b"},
        None,
        None,
        0.5,
        "medium",
    ),
]
WARNINGS = [
    Remark("dust", "info", "Keep powder away from flames. " * 6, "blend", "common practice"),
    Remark("steam", "caution", "Steam from 128 °C on: keep the nozzle shut.", "melting", "IF97"),
]
ASSUMPTIONS = [
    Assumption("press.weld_offset", 40.0, "K", "assumed", "our own choice"),
    Assumption("corn-starch.tg_dry", 523.15, "K", "read", "a book"),
    Assumption("corn-starch.density", 1500.0, "kg/m3", "memory", "recalled"),
    Assumption("shot", None, "", "missing", "no [part] in the job"),
]


def sample(**changes: Any) -> Advice:
    """The answer, changed where asked."""
    advice = Advice(
        job="Bars from the spring batch",
        now=AS_IT_IS,
        after_conditioning=None,
        settings=SETTINGS,
        moisture=MoistureAdvice(
            10.0, 9.4, 11.0, 12.6, [MoistureLimit("sticky", "high", 14.6, 0.09)]
        ),
        conditioning=None,
        service={"moisture_pct": None, "tg_c": None, "state": "glassy", "size_change_pct": -0.4},
        remedies=[],
        measure_next=[
            Measurement("a bend test", "warm a strip", "blend.softening_c", 41.6, 22.3, 45.0)
        ],
        warnings=WARNINGS,
        assumptions=ASSUMPTIONS,
    )
    return replace(advice, **changes)


def conditioned(**changes: Any) -> Advice:
    """The same, where conditioning comes first."""
    wetter = replace(AS_IT_IS, barrel=replace(OPEN, chance=0.91, best_c=127.0))
    first = {
        "now": replace(AS_IT_IS, barrel=CLOSED),
        "after_conditioning": wetter,
        "conditioning": CONDITIONING,
        "conditioning_leads": True,
    }
    return sample(**{**first, **changes})


def hopeless(**changes: Any) -> Advice:
    """The same, where nobody should heat."""
    cold = replace(AS_IT_IS, barrel=HOPELESS, soak_s=None)
    first = {"now": cold, "settings": None, "heat": False, "remedies": REMEDIES}
    return sample(**{**first, **changes})
