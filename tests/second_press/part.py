"""The part: when the mold opens, and after a week in its room."""

from __future__ import annotations

from typing import Any

import numpy as np

from tests.second_press import laws
from tests.second_press.barrel import air_pressure
from tests.second_press.hidden import Truth
from tests.second_press.known import Known

_WEEK = 7 * 86400.0


def core_temperature(known: Known, truth: Truth, t_in: Any, wall: Any, time: Any) -> Any:
    """Middle of the plate after cooling: one term, with the mold's contact in its rate. [K]"""
    half = known.thickness_mm / 2e3
    biot = truth.mold_contact * half / truth.k_melt
    rate = 1.0 / (1.0 / biot + 4.0 / np.pi**2)
    first = 1.0 + (4.0 / np.pi - 1.0) * biot / (2.5 + biot)
    fourier = truth.k_melt / (1350.0 * truth.heat_capacity) * time / half**2
    return wall + (t_in - wall) * np.minimum(1.0, first * np.exp(-rate * fourier))


def opened(
    known: Known, truth: Truth, x: Any, t_in: Any, mold: Any, cooling: Any
) -> dict[str, Any]:
    """Whether steam still puffs the core, and whether the part comes out unbent."""
    wall = mold + truth.mold_off
    core = core_temperature(known, truth, t_in, wall, cooling)
    tg = laws.glass_point(truth.mix, x)
    steam = laws.water_activity(truth.mix, x, core) * laws.saturation_pressure(core)
    puffs = (steam > air_pressure(known) + truth.foam_pressure) & (core > tg + truth.foam_above_tg)
    mean = wall + 2.0 / np.pi * (core - wall)
    stiff = laws.modulus(truth.glassy, _plateau(truth, x), truth.width, mean - tg)
    return {"puffed": puffs, "bent": stiff < truth.stiff_enough}


def after_a_week(known: Known, truth: Truth, x: Any) -> dict[str, Any]:
    """What a week in the maker's room makes of the part."""
    room = known.room_c + 273.15
    humidity = np.clip(known.humidity_pct / 100 + truth.humidity_off, 0.1, 0.95)
    x_room = laws.equilibrium_water(truth.mix, humidity, room)
    x_week = x_room + (x - x_room) * (1.0 - _settled(known, truth))
    tg_week = laws.glass_point(truth.mix, x_week)
    stiff = laws.modulus(truth.glassy, _plateau(truth, x_week), truth.width, room - tg_week)
    # some 5-15 g glycerol per 100 g starch embrittle: least tough there (Chang 2006, read)
    low = truth.mix.glycerol / truth.mix.starch
    stiffened = np.where((low > 0.05) & (low < 0.15) & (humidity < 0.55), 0.6, 1.0)
    bears = truth.strain * stiffened * laws.strain_at_break(1.0, tg_week - room)
    # linear shrinkage is a third of the volume of water lost, per volume of part
    shrinks = np.maximum(x - x_room, 0.0) * 1.4 / 3.0
    skin = laws.glass_point(truth.mix, x_room)
    tears = truth.strain * laws.strain_at_break(1.0, skin - room)
    damp = laws.water_activity(truth.mix, x_week, room)
    return {
        "soft": stiff < truth.soft_below,
        "brittle": bears < 0.04,  # called brittle below 4 % (Kirby 1993, read)
        "cracked": shrinks * truth.skin_share > tears,
        "warped": shrinks > truth.warp,
        "moldy": np.maximum(humidity, damp) > truth.mold_growth,
    }


def _settled(known: Known, truth: Truth) -> Any:
    """Share of the way to the room's moisture after a week: a plate drying from both faces."""
    fourier = truth.diffusivity * _WEEK / (known.thickness_mm / 1e3) ** 2
    return np.minimum(np.sqrt(16.0 * fourier / np.pi), 1.0 - 0.81 * np.exp(-(np.pi**2) * fourier))


def _plateau(truth: Truth, x: Any) -> Any:
    """Stiffness above Tg, thinned by plasticizer as the cube of the polymer's share.

    Quoted for about 100 starch, 26 glycerol, 22 water (van Soest 1996, read): a share of 0.68.
    The power is that of swollen networks, 2.3 to 3, from memory. [Pa]
    """
    mix = truth.mix
    return truth.rubbery * ((mix.starch + mix.seaweed_melt + mix.solid) / (1.0 + x) / 0.68) ** 3
