"""Material laws of the second press: other relations than the advisor's, from other sources.

Everything here was chosen from the literature before the advisor was ever run against it. SI and
kelvin; ``x`` is water per dry matter, ``w`` a mass fraction of the whole. Arrays broadcast.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

GAS = 8.314  # J/mol/K
_LN_TG_WATER = np.log(136.0)  # consensus value (Johari; Angell), from memory
_LN_TG_GLYCEROL = np.log(190.0)  # consensus value, published 187-193 K, from memory
_LN_TG_MANNITOL = np.log(285.8)  # Yu, Mishra, Rigsbee 1998: midpoint 12.6 °C, read
#: WLF shift in natural logs, and its width [K] (Williams, Landel, Ferry 1955, from memory).
_WLF_1, _WLF_2 = 40.16, 51.6
#: Where one viscosity of a starch melt can be pinned down: see ``melt_viscosity``. [K]
_PIN_ABOVE_TG = 88.0
#: Corn, the grain behind the Chung-Pfost constants of ASAE D245.5 (from memory): A, B, C [K].
_CHUNG_PFOST = 312.4, 16.958, 30.205
#: Water an ideal solution of glycerol holds per glycerol at equal activity: ratio of molar masses.
_RAOULT = 18.015 / 92.09
#: Water per salt of an ideal solution of a 1:1 salt like sodium chloride.
_VAN_T_HOFF = 2.0 * 18.015 / 58.44


@dataclass(frozen=True)
class Mix:
    """Dry matter of a blend, in shares of it, and how its parts behave.

    ``solid`` is all that never melts; ``salt`` is the part of it that dissolves in damp air.
    ``pull_*`` are weights of the logarithmic mixing rule relative to starch.
    """

    starch: Any
    seaweed_melt: Any
    glycerol: Any
    mannitol: Any
    solid: Any
    salt: Any
    ln_tg_starch: Any
    ln_tg_seaweed: Any
    pull_water: Any
    pull_glycerol: Any
    pull_mannitol: Any
    tg_shift: Any
    sorption: Any
    contact: Any


def glass_point(mix: Mix, x: Any) -> Any:
    """Glass transition by logarithmic mixing in kelvin. [K]

    ln Tg = sum(p w ln Tg) / sum(p w): the form of the logarithmic Couchman-Karasz rule with pulls
    ``p`` that were fitted by hand to published starch-water points (Enrione 2010: 170 °C at 5 %,
    Shogren 1992: 112 °C at 11 % and 30 °C at 20 %, read) and to starch-glycerol-water ones
    (Averous & Fringant 2001, from memory), which want 2.1-2.7 for water and 2.5-4 for glycerol.
    """
    parts = (
        (mix.starch, mix.ln_tg_starch),
        (mix.seaweed_melt, mix.ln_tg_seaweed),
        (mix.pull_glycerol * mix.glycerol, _LN_TG_GLYCEROL),
        (mix.pull_mannitol * mix.mannitol, _LN_TG_MANNITOL),
        (mix.pull_water * x, _LN_TG_WATER),
    )
    top = sum(weight * ln_tg for weight, ln_tg in parts)
    return np.exp(top / sum(weight for weight, _ in parts)) + mix.tg_shift


def saturation_pressure(t: Any) -> Any:
    """Steam by the Antoine equation, its set for 99 to 374 °C from memory. [Pa]"""
    c = np.maximum(np.asarray(t, dtype=float) - 273.15, -200.0)
    return 133.322 * 10.0 ** (8.14019 - 1810.94 / (244.485 + c))


def equilibrium_water(mix: Mix, activity: Any, t: Any) -> Any:
    """Water per dry matter at an activity: Chung-Pfost for what is polymer, Raoult for glycerol.

    Chung-Pfost with the corn constants of ASAE D245.5 is used far above the 60 °C it was fitted to,
    as its temperature term allows: at 10 % water it gives an activity of 0.74 at 130 °C. Mixing by
    mass with a contact factor below 1 (Enrione, Hill, Mitchell 2007: 0.9 at 5 % glycerol, 0.8 at
    20 %, read); salts take water above some 70 % humidity.
    """
    a, b, c = _CHUNG_PFOST
    activity = np.clip(activity, 1e-4, 0.985)
    celsius = np.asarray(t, dtype=float) - 273.15
    polymer = -np.log(-(celsius + c) * np.log(activity) / a) / b
    ideal = activity / (1.0 - activity)
    damp = 1.0 / (1.0 + np.exp(-(activity - 0.72) / 0.02))
    solution = _RAOULT * ideal * (mix.glycerol + 0.5 * mix.mannitol)
    bound = mix.sorption * np.maximum(polymer, 0.0) * (1.0 - mix.glycerol - mix.mannitol - mix.salt)
    return mix.contact * (bound + solution) + damp * _VAN_T_HOFF * ideal * mix.salt


def water_activity(mix: Mix, x: Any, t: Any) -> Any:
    """The activity at which ``equilibrium_water`` is ``x``, by bisection. [-]"""
    shape = np.broadcast_shapes(np.shape(x), np.shape(t), np.shape(mix.starch))
    low, high = np.full(shape, 1e-3), np.full(shape, 0.985)
    for _ in range(14):  # to 6e-5
        middle = 0.5 * (low + high)
        below = equilibrium_water(mix, middle, t) < x
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return 0.5 * (low + high)


def rest_viscosity(pin: Any, heat: Any, bend: Any, tg: Any, t: Any) -> Any:
    """Viscosity at rest: Arrhenius well above Tg, WLF below Tg + ``bend``, added up. [Pa s]

    ``pin`` is the viscosity 88 K above Tg. Corn starch of 15 % water (Tg about 72 °C by the rule
    above) flows at 160 °C like a polyethylene of melt index 1.8 (Willett, Jasberg, Swanson 1995,
    read), that is 4.5 kPa s at 4.3 1/s; a Cross law then rests at about 12 kPa s. Water and
    glycerol act through Tg alone. ``heat`` is E/R: "similar to synthetic polymers" (Willett 1994,
    read; 30-65 kJ/mol for polyethylene to polypropylene, from memory).
    """
    above = np.maximum(t - tg, -40.0)
    flow = pin * np.exp(heat * (1.0 / t - 1.0 / (tg + _PIN_ABOVE_TG)))
    shift = _WLF_1 * (bend / (_WLF_2 + bend) - above / (_WLF_2 + above))
    return flow * (1.0 + np.exp(np.minimum(shift, 60.0)))


def crowding(share: Any, packing: Any) -> Any:
    """Krieger-Dougherty: how solids and unmelted lumps thicken a melt. [-]"""
    left = np.maximum(1.0 - share / packing, 0.02)
    return left ** (-2.5 * packing)


def cross_stress(rest: Any, thinning: Any, knee: Any, yielding: Any, rate: Any) -> Any:
    """Shear stress of a Cross melt with a yield stress. [Pa]

    A law with yield describes plasticized starch from 1 to 1000 1/s as well as a power law does
    (Della Valle, Vergnes, Lourdin 2007, read).
    """
    slow = rest * rate
    return yielding + slow / (1.0 + (slow / knee) ** (1.0 - thinning))


def modulus(glassy: Any, rubbery: Any, width: Any, above_tg: Any) -> Any:
    """Stiffness: a logistic fall of its logarithm through the glass transition. [Pa]"""
    fall = 1.0 / (1.0 + np.exp(np.clip(above_tg / width, -60.0, 60.0)))
    return np.exp(np.log(rubbery) + (np.log(glassy) - np.log(rubbery)) * fall)


def strain_at_break(level: Any, below_tg: Any) -> Any:
    """Strain a part bears, falling with the distance below Tg. [-]

    Corn starch ribbons without glycerol: 9 % at 50 % humidity, some 80 K below Tg, and 3 % at
    20 % humidity, some 130 K below (Shogren & Jasberg 1994, read; Tg by the rule above).
    """
    return level * np.exp(-np.clip(below_tg - 80.0, -150.0, 120.0) / 48.0)


def solids_volume(mix: Mix, x: Any) -> Any:
    """Volume share of what never melts: densities 1.5 of polymer, 1.26 glycerol, 1.9 solids. [-]"""
    melt = (mix.starch + mix.seaweed_melt + mix.mannitol) / 1500.0 + mix.glycerol / 1260.0
    solid = mix.solid / 1900.0
    return solid / (melt + solid + x / 1000.0)


def density(mix: Mix, x: Any, t: Any, expansion: Any) -> Any:
    """Density of the dense melt: volumes add, and swell from 25 °C on. [kg/m³]"""
    melt = (mix.starch + mix.seaweed_melt + mix.mannitol) / 1500.0 + mix.glycerol / 1260.0
    cold = (1.0 + x) / (melt + mix.solid / 1900.0 + x / 1000.0)
    return cold / (1.0 + expansion * (t - 298.15))
