"""A moisture from weighings as plain data: what was lost, what of it was glycerol, how sure."""

from __future__ import annotations

import math
from typing import Any

from moldwin.base.percentiles import Triple
from moldwin.inputs.write_job import Written
from moldwin.stages.weighing import Dish, MoistureReading
from moldwin.stages.weighing_methods import GENTLER_WAYS, METHODS

__all__ = ["MOISTURE_SCHEMA", "moisture_data"]

MOISTURE_SCHEMA = "moldwin.moisture/1"

_ZERO_C = 273.15
_AN_HOUR = 3600.0


def moisture_data(reading: MoistureReading, written: Written | None = None) -> dict[str, Any]:
    """Everything a reading says.

    Parameters
    ----------
    reading : MoistureReading
        The moisture of a batch. [SI]
    written : Written, optional
        What a job file took up. [-]

    Returns
    -------
    dict
        Plain data with a schema name; percent of the wet mass unless said otherwise. [as named]
    """
    return {
        "schema": MOISTURE_SCHEMA,
        "wet_pct": 100.0 * reading.wet,
        "dry_pct": 100.0 * reading.dry,
        "u_pct": 100.0 * reading.wet_u,
        "dry_u_pct": 100.0 * reading.dry_u,
        "glycerol_part_pct": _percent(reading.glycerol),
        "loss_pct": 100.0 * reading.loss,
        "intervals": {
            "wet_pct": _triple(reading.wet_band),
            "dry_pct": _triple(reading.dry_band),
            "glycerol_part_pct": _triple(reading.glycerol_band),
        },
        "resolution_g": 1e3 * reading.resolution,
        "settling": _settling(reading),
        "samples": [_dish(dish) for dish in reading.dishes],
        "method": {
            "name": reading.method.name,
            "nearest": reading.method.nearest,
            "departs": list(reading.method.departs),
            "standards": dict(METHODS),
        },
        "instead": _instead(reading),
        "next": list(reading.asks),
        "warnings": [remark.to_dict() for remark in reading.remarks],
        "assumptions": _assumptions(reading),
        "written": None if written is None else _written(written),
    }


def _settling(reading: MoistureReading) -> dict[str, Any]:
    tail, tail_u = reading.tail or (None, None)
    return {
        "state": reading.state,
        "rest_pct": 100.0 * reading.rest if reading.tail else None,
        "tail_pct_per_h": None if tail is None else _AN_HOUR * 100.0 * tail,
        "tail_u_pct_per_h": None if tail_u is None else _AN_HOUR * 100.0 * tail_u,
        "tail_fits_estimate": reading.tail_fits,
    }


def _dish(dish: Dish) -> dict[str, Any]:
    return {
        "sample": dish.name,
        "minutes": None if math.isnan(dish.time) else dish.time / 60.0,
        "loss_pct": 100.0 * dish.loss,
        "wet_pct": 100.0 * dish.wet,
        "glycerol_part_pct": _percent(dish.glycerol),
        "state": dish.state,
    }


def _instead(reading: MoistureReading) -> list[dict[str, Any]]:
    """Ways that take less glycerol for water; empty where nothing is misread."""
    if not reading.remarks:
        return []
    cooler = [
        {
            "way": "a cooler oven, for as long as lets the water go as far",
            "oven_c": way.temperature - _ZERO_C,
            "minutes": way.time / 60.0,
            "glycerol_part_pct": 100.0 * way.glycerol,
            "room_air_water_activity": way.a_water,
        }
        for way in reading.gentler
    ]
    nothing = dict.fromkeys(("oven_c", "minutes", "glycerol_part_pct", "room_air_water_activity"))
    return [*cooler, *({"way": way, **nothing} for way in GENTLER_WAYS)]


def _assumptions(reading: MoistureReading) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = [
        {
            "name": number.name,
            "value": number.value,
            "unit": number.unit,
            "status": number.status,
            "source": number.source,
        }
        for number in reading.used.values()
    ]
    if reading.glycerol is None:
        why = "nobody said whether the sample holds glycerol: none is taken off"
        unknown = {"name": "glycerol_part_pct", "value": None, "unit": "%", "status": "assumed"}
        rows.append({**unknown, "source": why})
    return rows


def _written(written: Written) -> dict[str, Any]:
    return {"file": written.file, "now": dict(written.now), "before": dict(written.before)}


def _percent(value: float | None) -> float | None:
    return None if value is None else 100.0 * value


def _triple(band: Triple | None) -> dict[str, float] | None:
    if band is None:
        return None
    return {key: 100.0 * value for key, value in band.to_dict().items()}
