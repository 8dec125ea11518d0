"""Plain cases that the press is tried on before anyone asks the advisor."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np

from tests.blind_press.hidden import Truth, truths
from tests.second_press.known import Known, makers

#: The middle of each range that matters to the checks.
_MIDDLE = {
    "starch": 1.0,
    "weed": 0.0,
    "glycerol": 0.0,
    "mannitol": 0.0,
    "solids": 0.0,
    "seaweed": 0.0,
    "amylose_pct": 26.0,
    "tg_off": 0.0,
    "tg_off_glycerol": 0.0,
    "log_flow": float(np.log(900.0)),
    "n": 0.4,
    "e_over_r": 5000.0,
    "per_water": 17.0,
    "per_glycerol": 10.0,
    "bend_rate": 1.0,
    "log_clock": float(np.log(600.0)),
    "clock_energy": 105e3,
    "chi": 0.95,
    "heater_off": 0.0,
    "mold_off": 0.0,
    "moisture_off": 0.0,
    "reaching_off": 0.0,
}


def plain(count: int = 1, **other: Any) -> Truth:
    """Starch and nothing else, every unknown at its middle but for those named."""
    truth = truths(np.random.default_rng(5), plain_known()).take(np.zeros(count, dtype=int))
    values = {**_MIDDLE, **other}
    return replace(
        truth,
        **{
            name: np.broadcast_to(np.asarray(v, dtype=float), (count,))
            for name, v in values.items()
        },
    )


def plain_known(count: int = 1, **other: Any) -> Known:
    """One maker, ``count`` times over, but for what is named."""
    one = makers(np.random.default_rng(4), 1).take(np.zeros(count, dtype=int))
    values = {"bore_mm": 20.0, "force_kn": 4.0, "thickness_mm": 2.5, "length_mm": 50.0, **other}
    known = {f.name: getattr(one, f.name) for f in fields(one)}
    known |= {name: np.broadcast_to(np.asarray(v), (count,)) for name, v in values.items()}
    return Known(**known)
