"""The part as the mold opens, and a week later in its room."""

from __future__ import annotations

from typing import Any

import numpy as np

from tests.blind_press import laws
from tests.blind_press.charge import HEAT_CAPACITY, Soaked, room_pressure
from tests.blind_press.fill import Filled
from tests.blind_press.hidden import Truth
from tests.second_press.known import Known

_WEEK_S = 7 * 86400.0
_TERMS = 12
#: Places across half the thickness, and how much each counts when the part is bent.
_PLACES = np.array([0.1, 0.3, 0.5, 0.7, 0.9])
#: A plate may hang through by this share of its length when it is lifted out at one go.
_SAG = 0.03


def foam_starts(truth: Truth, soaked: Soaked) -> Any:
    """Below this a melt is too stiff to foam. [K]"""
    return soaked.tg + 10.0 + 60.0 * truth.weld_and_foam


def temperatures(known: Known, truth: Truth, t_in: Any, mold: Any, seconds: Any, at: Any) -> Any:
    """Across the half thickness of a plate whose walls take heat through a film. [K]

    The roots of ``z tan z = Bi`` by fixed steps of Newton, from the middle of their intervals.
    """
    half = known.thickness_mm / 2e3
    biot = truth.mold_contact * half / (truth.diffusivity * HEAT_CAPACITY)
    fourier = truth.diffusivity * np.maximum(seconds, 0.0) / half**2
    left = np.zeros((*np.shape(biot), len(at)))
    for m in range(_TERMS):
        low, high = np.full(np.shape(biot), m * np.pi), np.full(np.shape(biot), (m + 0.5) * np.pi)
        for _ in range(40):
            z = (low + high) / 2.0
            under = z * np.sin(z) * (-1.0) ** m < biot * np.cos(z) * (-1.0) ** m
            low, high = np.where(under, z, low), np.where(under, high, z)
        weight = (
            4.0
            * np.sin(z)
            / (2.0 * z + np.sin(2.0 * z))
            * np.exp(-np.minimum(z * z * fourier, 700))
        )
        left = left + weight[..., None] * np.cos(z[..., None] * at)
    return mold[..., None] + (t_in - mold)[..., None] * left


def opened(
    known: Known, truth: Truth, soaked: Soaked, filled: Filled, mold: Any, cooling_s: Any
) -> dict[str, Any]:
    """Puffed by steam from its core, or bent while it is lifted out."""
    at = np.concatenate([[0.0], _PLACES])
    t = temperatures(known, truth, filled.t_in, mold, cooling_s, at)
    core = t[:, 0]
    steam = laws.melt_activity(truth, soaked.w_water) * laws.saturation_pressure(core)
    puffed = (steam > truth.bubbles_start * room_pressure(known)) & (
        core > foam_starts(truth, soaked)
    )
    counts = _PLACES**2 / np.sum(_PLACES**2)
    stiff = sum(c * laws.modulus(truth, soaked.tg, t[:, i + 1]) for i, c in enumerate(counts))
    return {"puffed": puffed, "bent": _sag(known, stiff, truth.pull) > _SAG}


def _sag(known: Known, stiff: Any, weights: Any) -> Any:
    """How far a plate held at its ends hangs under so many times its weight, by its length.

    Uniform load on a simple beam: 5 w L⁴/(384 E I).
    """
    length, height = known.length_mm / 1e3, known.thickness_mm / 1e3
    return weights * 5.0 * 1400.0 * 9.81 * length**3 * 12.0 / (384.0 * stiff * height**2)


def after_a_week(known: Known, truth: Truth, soaked: Soaked, jar_w: Any) -> dict[str, Any]:
    """What the room has done; ``jar_w`` is how wet the pellets were kept."""
    room = known.room_c + 273.15
    rest = laws.moisture_in_room(truth, known.humidity_pct / 100.0)
    w = soaked.w_water
    later = rest + (w - rest) * _left_after_week(known, truth)
    tg = laws.glass_transition(truth, later)
    glassy = laws.glass_transition(truth, rest) > room
    borne = truth.drop_borne * (3.0 / known.thickness_mm) ** truth.drop_power
    tears = w - rest > borne
    tg_pellets = laws.glass_transition(truth, jar_w)
    return {
        "soft": (_sag(known, laws.modulus(truth, tg, room), truth.pull) > _SAG)
        | (room - tg > truth.sticky),
        # lifted out as wet as it was molded, or handled as dry as it has become
        "brittle": np.maximum(tg, soaked.tg) - room > truth.brittle,
        "cracked": tears & glassy,
        "warped": tears & ~glassy,
        "fused": room - tg_pellets > truth.sticky,
        "moldy": laws.room_activity(truth, jar_w) > truth.molds_from,
    }


def _left_after_week(known: Known, truth: Truth) -> Any:
    """Share of the moisture difference that a plate still has after a week."""
    fourier = truth.room_diffusivity * _WEEK_S / (known.thickness_mm / 2e3) ** 2
    odd = 2.0 * np.arange(_TERMS) + 1.0
    terms = np.exp(-((odd * np.pi / 2.0) ** 2) * fourier[:, None]) / odd**2
    return 8.0 / np.pi**2 * terms.sum(axis=1)
