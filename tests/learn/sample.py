"""Trials made in a test, with a job of their own."""

from __future__ import annotations

from typing import Any

from moldwin.learn.job_then import JobThen
from moldwin.learn.trials import Trial, new_id

__all__ = ["FULL", "THEN", "then_of", "trial"]

THEN = JobThen(
    '{"ingredient":[{"card":"corn-starch","mass_g":400},{"card":"glycerol","mass_g":100}],'
    '"pellets":{"moisture_pct":10,"moisture_u_pct":0.5},"title":"A bar"}'
)

#: Every column filled, with what spoils a careless table.
FULL: dict[str, Any] = {
    "date": "2026-02-28",
    "lot": "@spring",
    "moisture_pct": 9.450000000000001,
    "barrel_c": 130.0,
    "soak_s": 0.1 + 0.2,
    "mold_c": -5.0,
    "force_kn": 6.0,
    "charge_g": 1e-5,
    "cooling_s": 30.0,
    "filled": False,
    "fill_pct": 62.5,
    "part_g": 0.0,
    "bubbles": "heart",
    "color": 2.5,
    "stuck": True,
    "cracked": False,
    "warped": True,
    "lumps": False,
    "bend_radius_mm": 18.0,
    "photo": "shots/no 7 €.jpg",
    "note": '=HYPERLINK("http://x";"y")\r\nsecond, line; "quoted"\n\tthird \x1b[31m\u202e',
}


def then_of(*pairs: tuple[str, str]) -> JobThen:
    """A job of these cards and lots."""
    rows = (f'{{"card":"{card}","lot":"{lot}","mass_g":1}}' for card, lot in pairs)
    return JobThen(f'{{"ingredient":[{",".join(rows)}]}}')


def trial(**facts: Any) -> Trial:
    """A trial that says this and nothing else."""
    own = {"id": new_id(), "added": "2026-03-01T18:30:00Z", "job": "bar.toml", "then": THEN}
    return Trial(**{**own, **facts})
