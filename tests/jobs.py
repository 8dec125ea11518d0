"""Jobs made in a test: the published 70/20/10 compound on a small press, with changes."""

from __future__ import annotations

import copy
from typing import Any

from moldwin.inputs.files import shipped
from moldwin.inputs.read_job import read_job
from moldwin.stages.bench import Bench
from moldwin.window.windows import Setup

__all__ = ["BAR", "DRY", "EXAMPLES", "KELP", "bench_of", "change", "dry", "job", "row", "setup_of"]

EXAMPLES = tuple(sorted(shipped("examples").glob("*.toml")))
BAR, DRY, KELP = (
    shipped("examples") / f"{name}.toml"
    for name in ("starch-glycerol-bar", "dry-starch-no-glycerol", "kelp-plant-labels")
)

_JOB: dict[str, Any] = {
    "ingredient": [
        {"card": "corn-starch", "mass_g": 400, "moisture_pct": 12.5},
        {"card": "glycerol", "mass_g": 100, "moisture_pct": 0},
    ],
    "pellets": {
        "moisture_pct": 10,
        "moisture_u_pct": 0.5,
        "shape": "cylinder",
        "diameter_mm": 3,
        "length_mm": 4,
        "mass_g": 120,
        "bulk_density_g_cm3": 0.7,
    },
    "press": {
        "plunger_diameter_mm": 16,
        "force_kn": 6,
        "barrel_capacity_cm3": 6,
        "nozzle_diameter_mm": 3,
        "nozzle_length_mm": 10,
        "heater_max_c": 220,
        "heater_u_c": 4,
        "sealed_nozzle": True,
        "clamp_kn": 10,
    },
    "mold": {"temperature_max_c": 110, "runner_volume_cm3": 0.4},
    "part": {"specimen": "ISO 527-2 1BA"},
    "room": {"temperature_c": 21, "humidity_pct": 48},
    "jar": {"slurry_area_cm2": 60, "air_gap_cm": 4, "bed_area_cm2": 60},
}


def row(card: str, mass_g: float, moisture_pct: float | None = None, **more: Any) -> dict[str, Any]:
    """One row of a recipe."""
    given = {} if moisture_pct is None else {"moisture_pct": moisture_pct}
    return {"card": card, "mass_g": mass_g, **given, **more}


def dry(**masses_g: float) -> list[dict[str, Any]]:
    """A recipe of water-free ingredients, named with underscores."""
    return [row(name.replace("_", "-"), mass, 0) for name, mass in masses_g.items()]


def job(**sections: Any) -> dict[str, Any]:
    """The compound on its press; each section given replaces one, ``None`` leaves it out."""
    made = copy.deepcopy(_JOB)
    for name, section in sections.items():
        if section is None:
            made.pop(name, None)
        else:
            made[name] = copy.deepcopy(section)
    return made


def change(section: str, **keys: Any) -> dict[str, Any]:
    """A section of the compound's job with some keys changed; ``None`` leaves one out."""
    made = {**_JOB[section], **keys}
    return {key: value for key, value in made.items() if value is not None}


def bench_of(source: Any, sets: Any = (), **options: Any) -> Bench:
    """A bench for a job, on few samples unless told otherwise."""
    return Bench(read_job(source, sets), **{"count": 512, **options})


def setup_of(source: Any, sets: Any = (), **options: Any) -> Setup:
    """A job made ready, on few samples unless told otherwise."""
    return Setup(bench_of(source, sets, **options))
