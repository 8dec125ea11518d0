"""Jobs put together from the table of keys: values anywhere that is allowed, and at the ends."""

from __future__ import annotations

import random
from typing import Any

from moldwin.inputs.files import shipped
from moldwin.inputs.job_keys import KEYS, PELLET_SHAPES, SOLID_SHAPES, JobKey
from moldwin.inputs.read_job import check_job

__all__ = ["random_job", "without_faults"]

_CARDS = tuple(sorted(path.stem for path in shipped("material_cards").glob("*.toml")))
_POLYMERS = ("corn-starch", "potato-starch", "sodium-alginate", "brown-seaweed-powder", "agar")
_SOURCES = tuple(sorted(p.stem for p in (shipped("material_cards") / "humidity").glob("*.toml")))
_MOLDS = tuple(sorted(p.stem for p in (shipped("material_cards") / "mold").glob("*.toml")))
#: Of these a job may state one only, or they contradict each other at random.
_ODD = ("force_kn", "melt_pressure_mpa", "lever_force_n", "lever_ratio", "gauge_mpa",
        "jack_piston_diameter_mm", "weighings", "mesh", "mesh_unit", "moisture_guessed",
        "spreader_diameter_mm")  # fmt: skip


def _number(key: JobKey, rng: random.Random) -> float:
    way = rng.random()
    if way < 0.12:
        return key.low if not key.above else key.low + 1e-9 * (key.high - key.low)
    if way < 0.2:
        return key.high
    if way < 0.6 and key.low >= 0.0:  # over the powers of ten
        low = max(key.low, 1e-6 * key.high)
        return low * (key.high / low) ** rng.random()
    return rng.uniform(key.low, key.high)


def _value(key: JobKey, rng: random.Random) -> Any:
    if key.kind == "number":
        return _number(key, rng)
    if key.kind == "integer":
        return rng.choice((int(key.low), int(key.high), rng.randint(int(key.low), int(key.high))))
    if key.kind == "boolean":
        return rng.random() < 0.5
    if key.kind == "choice":
        return rng.choice(key.choices)
    if key.kind == "texts":
        return rng.sample(_SOURCES, rng.randint(1, 3))
    return rng.choice(_MOLDS) if key.key == "material" else "x"


def _section(section: str, rng: random.Random, share: float) -> dict[str, Any]:
    return {
        key.key: _value(key, rng)
        for key in KEYS
        if key.section == section and key.key not in _ODD and rng.random() < share
    }


def _row(card: str, rng: random.Random) -> dict[str, Any]:
    row: dict[str, Any] = {"card": card, "mass_g": 10.0 ** rng.uniform(-3.0, 5.0)}
    if rng.random() < 0.5:
        row["moisture_pct"] = rng.choice((0.0, 5.0, 12.0, 60.0, 99.0, rng.uniform(0.0, 100.0)))
    return row


def _solid(rng: random.Random) -> dict[str, Any]:
    shape = rng.choice(tuple(SOLID_SHAPES))
    sizes = {key: 10.0 ** rng.uniform(-2.0, 3.0) for key in SOLID_SHAPES[shape]}
    return {"shape": shape, **sizes, **({"subtract": True} if rng.random() < 0.2 else {})}


def _press(rng: random.Random, share: float) -> dict[str, Any]:
    made = _section("press", rng, share)
    way = rng.choice(("force_kn", "melt_pressure_mpa", ""))
    if way:
        made[way] = 10.0 ** rng.uniform(-2.0, 2.6)
    return made


def _pellets(rng: random.Random, share: float) -> dict[str, Any]:
    made = _section("pellets", rng, share)
    shape = rng.choice(tuple(PELLET_SHAPES))
    made["moisture_pct"] = rng.choice((0.0, 60.0, rng.uniform(0.0, 20.0), rng.uniform(1.0, 60.0)))
    wanted = PELLET_SHAPES[shape]
    sizes = {key: 10.0 ** rng.uniform(-1.3, 1.69) for key in wanted}
    for key in ("diameter_mm", "length_mm", "thickness_mm"):
        made.pop(key, None)
    return {**made, "shape": shape, **sizes}


def random_job(rng: random.Random) -> dict[str, Any]:
    """A job's tables: most are allowed, many are strange, some contradict themselves."""
    share = rng.choice((0.15, 0.5, 0.9))
    cards = [rng.choice(_POLYMERS), *rng.sample(_CARDS, rng.randint(0, 5))]
    made: dict[str, Any] = {"ingredient": [_row(card, rng) for card in cards]}
    makers = {"pellets": _pellets, "press": _press}
    for section in (
        "pot",
        "blend",
        "sheet",
        "oven",
        "press",
        "mold",
        "room",
        "jar",
        "use",
        "scale",
    ):
        if rng.random() < 0.7:
            made[section] = makers.get(section, lambda r, s, n=section: _section(n, r, s))(
                rng, share
            )
    made["pellets"] = _pellets(rng, share)
    if rng.random() < 0.6:
        made["part"] = {"solid": [_solid(rng) for _ in range(rng.randint(1, 3))]}
    elif rng.random() < 0.5:
        made["part"] = _section("part", rng, 0.9)
    return {name: section for name, section in made.items() if section}


def without_faults(job: dict[str, Any], tries: int = 4) -> dict[str, Any]:
    """The job without the keys complained of, so that more of the odd ones are allowed."""
    for _ in range(tries):
        faults = check_job(job)
        if not faults:
            break
        for fault in faults:
            _remove(job, fault.key.split("."))
    return job


def _remove(where: Any, path: list[str]) -> None:
    head, *rest = path
    at: Any = int(head) if isinstance(where, list) and head.isdigit() else head
    inside = where[at] if isinstance(where, list) and isinstance(at, int) else None
    if isinstance(where, dict):
        inside = where.get(at)
    if rest and isinstance(inside, dict | list):
        _remove(inside, rest)
    elif isinstance(where, dict):
        where.pop(at, None)
