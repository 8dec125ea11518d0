"""What random makers know of themselves, as they would write it down for the advisor."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

STARCHES = ("corn-starch", "potato-starch", "cassava-starch", "wheat-starch")
#: Amylose of those starches in percent: textbook middles, from memory.
AMYLOSE = np.array([26.0, 20.0, 18.0, 26.0])
#: Deepest charge a hand press is loaded with, as dense melt, in bores (assumed).
_DEEPEST = 2.5


@dataclass(frozen=True)
class Known:
    """What makers have measured, one entry per maker, in the units of a job file."""

    starch: Any  # index into STARCHES
    starch_moisture_pct: Any
    starch_g: Any
    glycerol_g: Any
    seaweed_g: Any
    seaweed_moisture_pct: Any
    washed: Any
    moisture_pct: Any
    moisture_u_pct: Any
    bulk_g_cm3: Any
    bore_mm: Any
    force_kn: Any
    capacity_cm3: Any
    nozzle_mm: Any
    nozzle_length_mm: Any
    heater_max_c: Any
    heater_u_c: Any
    sealed: Any
    mold_max_c: Any
    gate_mm: Any
    runner_cm3: Any
    runner_mm: Any
    length_mm: Any
    width_mm: Any
    thickness_mm: Any
    room_c: Any
    humidity_pct: Any
    altitude_m: Any

    def __len__(self) -> int:
        return len(self.starch)

    def take(self, index: Any) -> Known:
        """The makers at ``index``, which may name one several times."""
        return Known(**{f.name: getattr(self, f.name)[index] for f in fields(self)})


def makers(rng: np.random.Generator, count: int) -> Known:
    """Random makers: their presses, parts and rooms range as a workshop's might (assumed)."""

    def uniform(low: float, high: float, digits: int = 1) -> Any:
        return rng.uniform(low, high, count).round(digits)

    starch_g = uniform(200, 500, 0)
    wet = uniform(10, 14.5)
    dry_g = starch_g * (1 - wet / 100)
    with_seaweed = rng.random(count) < 0.3
    seaweed_g = np.where(with_seaweed, (dry_g * rng.uniform(0.1, 0.8, count)).round(0), 0.0)
    glycerol_g = (dry_g * rng.uniform(0.0, 0.4, count)).round(0)
    bore = uniform(12, 30)
    force = np.exp(rng.uniform(np.log(1.5), np.log(12.0), count)).round(1)
    force = np.minimum(force, 60.0 * np.pi / 4 * bore**2 / 1e3).round(1)  # at most 60 MPa
    thickness = uniform(1.5, 4.0)
    runner = uniform(0.2, 0.8, 2)
    most = _DEEPEST * np.pi / 4 * (bore / 10) ** 3 - runner  # cm³
    length, width = uniform(20, 90, 0), np.where(rng.random(count) < 0.6, 1.0, 3.0)
    width = (width * rng.uniform(8, 14, count)).round(0)
    small = np.minimum(1.0, most / (length * width * thickness / 1e3))
    length = np.maximum(20.0, np.floor(length * np.sqrt(small)))
    width = np.maximum(5.0, np.floor(np.minimum(width, 1e3 * most / (length * thickness))))
    shot = length * width * thickness / 1e3 + runner
    known = Known(
        starch=rng.integers(0, len(STARCHES), count),
        starch_moisture_pct=wet,
        starch_g=starch_g,
        glycerol_g=glycerol_g,
        seaweed_g=seaweed_g,
        seaweed_moisture_pct=uniform(7, 13),
        washed=rng.random(count) < 0.5,
        moisture_pct=uniform(4, 17),
        moisture_u_pct=rng.choice([0.5, 0.8, 1.0, 1.5], count),
        bulk_g_cm3=uniform(0.40, 0.75, 2),
        bore_mm=bore,
        force_kn=force,
        capacity_cm3=(shot * rng.uniform(2.2, 4.0, count)).round(1),
        nozzle_mm=uniform(2.0, 5.0),
        nozzle_length_mm=uniform(5, 20, 0),
        heater_max_c=rng.choice([180.0, 200.0, 220.0, 250.0], count),
        heater_u_c=rng.choice([3.0, 5.0, 8.0], count),
        sealed=rng.random(count) < 0.6,
        mold_max_c=rng.choice([60.0, 90.0, 120.0], count),
        gate_mm=(thickness * rng.uniform(0.5, 1.0, count)).round(1),
        runner_cm3=runner,
        runner_mm=runner,  # follows the nozzle, below
        length_mm=length,
        width_mm=width,
        thickness_mm=thickness,
        room_c=uniform(17, 27, 0),
        humidity_pct=uniform(30, 70, 0),
        altitude_m=np.where(rng.random(count) < 0.8, 100.0, 1200.0),
    )
    # drilled as wide as the nozzle, and no drill is thinner than 4 mm (assumed)
    return replace(known, runner_mm=np.maximum(4.0, known.nozzle_mm))


def job(known: Known, i: int) -> dict[str, Any]:
    """The job of maker ``i`` as the advisor reads it."""

    def of(name: str) -> float:
        return float(getattr(known, name)[i])

    rows = [
        {
            "card": STARCHES[int(known.starch[i])],
            "mass_g": of("starch_g"),
            "moisture_pct": of("starch_moisture_pct"),
            "moisture_u_pct": 0.7,
        }
    ]
    if known.glycerol_g[i] > 0:
        rows.append({"card": "glycerol", "mass_g": of("glycerol_g"), "moisture_pct": 0.0})
    if known.seaweed_g[i] > 0:
        rows.append(
            {
                "card": "brown-seaweed-powder",
                "mass_g": of("seaweed_g"),
                "moisture_pct": of("seaweed_moisture_pct"),
                "moisture_u_pct": 1.0,
            }
        )
    return {
        "title": f"maker {i}",
        "ingredient": rows,
        "blend": {"cooked": True, "washed": bool(known.washed[i])},
        "pellets": {
            "moisture_pct": of("moisture_pct"),
            "moisture_u_pct": of("moisture_u_pct"),
            "shape": "cylinder",
            "diameter_mm": 3.0,
            "length_mm": 4.0,
            "mass_g": 150.0,
            "bulk_density_g_cm3": of("bulk_g_cm3"),
        },
        "press": {
            "plunger_diameter_mm": of("bore_mm"),
            "force_kn": of("force_kn"),
            "barrel_capacity_cm3": of("capacity_cm3"),
            "nozzle_diameter_mm": of("nozzle_mm"),
            "nozzle_length_mm": of("nozzle_length_mm"),
            "heater_max_c": of("heater_max_c"),
            "heater_u_c": of("heater_u_c"),
            "sealed_nozzle": bool(known.sealed[i]),
        },
        "mold": {
            "material": "aluminum",
            "temperature_max_c": of("mold_max_c"),
            "gate_thickness_mm": of("gate_mm"),
            "cavities": 1,
            "runner_volume_cm3": of("runner_cm3"),
            "runner_diameter_mm": of("runner_mm"),
        },
        "part": {
            "solid": [
                {
                    "shape": "plate",
                    "length_mm": of("length_mm"),
                    "width_mm": of("width_mm"),
                    "thickness_mm": of("thickness_mm"),
                }
            ],
            # gated at one end, as the second press fills it
            "flow_length_mm": of("length_mm"),
        },
        "room": {
            "temperature_c": of("room_c"),
            "humidity_pct": of("humidity_pct"),
            "altitude_m": of("altitude_m"),
        },
        "jar": {"slurry_area_cm2": 60.0, "air_gap_cm": 4.0, "bed_area_cm2": 60.0},
        "scale": {"resolution_g": 0.1},
    }
