"""Laws of the blend: glass transition, flow, water, damage, stiffness.

Each is another form than a tool for this would take first: Kwei for the glass transition, a
Carreau curve plus a Cross fluid that turns to glass, Krieger-Dougherty crowding, one constant
interaction for water in the melt, Oswin in the room.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from tests.blind_press.hidden import Truth

#: Kwei, fitted to the published points of starch with water (nine) and with glycerol too (five;
#: four of them from memory): all within 19 K, 11 K root mean square. Dry starch from Orford 1989.
_TG_STARCH, _TG_WATER, _TG_GLYCEROL, _TG_MANNITOL = 500.0, 136.0, 191.0, 286.0
_K_WATER, _K_POLYOL, _Q = 4.78, 5.74, 41.0
#: Densities, kg/m³ (water and glycerol: handbooks; starch 1.5 read; salt-rich solids from memory).
_RHO = {
    "polymer": 1500.0,
    "glycerol": 1260.0,
    "mannitol": 1500.0,
    "solids": 1800.0,
    "water": 1000.0,
}
#: From 277 to 1254 Pa s between 0 and 80 % amylose (Xie 2009, read).
_PER_AMYLOSE = np.log(1254.0 / 277.0) / 80.0
_GAS = 8.314


def shares(truth: Truth, w_water: Any) -> dict[str, Any]:
    """Mass fractions of the melt; the solids keep as much water as the rest does. [kg/kg]"""
    dry = (1.0 - w_water) / (1.0 - truth.solids)
    return {
        "starch": truth.starch * dry,
        "weed": truth.weed * dry,
        "glycerol": truth.glycerol * dry,
        "mannitol": truth.mannitol * dry,
        "water": w_water,
    }


def glass_transition(truth: Truth, w_water: Any) -> Any:
    """Kwei's rule, off by what nobody knows. [K]

    Examples
    --------
    >>> from tests.blind_press.cases import plain
    >>> print(f"{glass_transition(plain(), 0.11)[0] - 273.15:.0f} °C")  # published: 99 and 112
    96 °C
    """
    s = shares(truth, w_water)
    polyol = s["glycerol"] + s["mannitol"]
    polymer = s["starch"] + s["weed"]
    above = (
        s["starch"] * _TG_STARCH
        + s["weed"] * truth.tg_weed
        + _K_WATER * s["water"] * _TG_WATER
        + _K_POLYOL * (s["glycerol"] * _TG_GLYCEROL + s["mannitol"] * _TG_MANNITOL)
    )
    below = polymer + _K_WATER * s["water"] + _K_POLYOL * polyol
    off = truth.tg_off + truth.tg_off_glycerol * np.minimum(s["glycerol"] / 0.2, 1.0)
    return above / below + _Q * polymer * (s["water"] + polyol) + off


def _volumes(truth: Truth, w_water: Any) -> dict[str, Any]:
    """Volume of each part in a kilogram of the whole. [m³/kg]"""
    dry = 1.0 - w_water
    return {
        "polymer": (truth.starch + truth.weed) * dry / _RHO["polymer"],
        "glycerol": truth.glycerol * dry / _RHO["glycerol"],
        "mannitol": truth.mannitol * dry / _RHO["mannitol"],
        "solids": truth.solids * dry / _RHO["solids"],
        "water": w_water / _RHO["water"],
    }


def density(truth: Truth, w_water: Any, t: Any) -> Any:
    """Of the melt. [kg/m³]"""
    volume = sum(_volumes(truth, w_water).values())
    return (1.0 + truth.density_off) / volume / (1.0 + truth.expansion * (t - 298.0))


def _carreau(truth: Truth, rate: Any) -> Any:
    """Shape of the flow curve, 1 at 100 1/s, without unit."""
    power = (truth.n - 1.0) / 2.0
    return ((1.0 + (rate / truth.bend_rate) ** 2) / (1.0 + (100.0 / truth.bend_rate) ** 2)) ** power


class Melt:
    """The blend at one moisture; what neither heat nor shear changes is worked out once."""

    def __init__(self, truth: Truth, w_water: Any) -> None:
        s = shares(truth, w_water)
        v = _volumes(truth, w_water)
        weed = s["weed"] / (s["weed"] + s["starch"])
        self._truth = truth
        self._tg = glass_transition(truth, w_water)
        self._log = (
            truth.log_flow
            - truth.per_water * (s["water"] - 0.15)
            - truth.per_glycerol * (s["glycerol"] + truth.mannitol_thins * s["mannitol"])
            + _PER_AMYLOSE * (truth.amylose_pct - 26.0)
            + truth.log_weed_flow * weed
        )
        self._thicker = _crowding(truth, v["solids"] / sum(v.values()))

    def viscosity(self, t: Any, rate: Any) -> Any:
        """Viscosity of the whole at a shear rate. [Pa s]

        A melt that thins with heat and plasticizer, plus a glass that every blend turns into near
        its transition: 1e12 Pa s there, Williams-Landel-Ferry above it, thinning past a stress.

        Examples
        --------
        >>> from tests.blind_press.cases import plain
        >>> thick = Melt(plain(), 0.15).viscosity(433.15, 100.0)[0]
        >>> print(f"{thick:.0f} Pa s")  # 900 and a little glass
        905 Pa s
        """
        truth = self._truth
        hotter = truth.e_over_r * (1.0 / t - 1.0 / 433.15)
        melt = np.exp(self._log + hotter) * _carreau(truth, rate)
        over = np.maximum(t - self._tg, -20.0)
        at_rest = 10.0 ** (12.0 - 17.44 * over / (51.6 + over))
        glass = at_rest / (1.0 + (at_rest * rate / truth.glass_stress) ** (1.0 - truth.n))
        return (melt + glass) * self._thicker


def _crowding(truth: Truth, phi: Any) -> Any:
    """Krieger and Dougherty: what solids add, as a factor."""
    free = np.maximum(1.0 - phi / truth.crowded, 0.02)
    return free ** (-truth.intrinsic * truth.crowded)


def saturation_pressure(t: Any) -> Any:
    """Of water, Antoine's equation (constants from memory, within 1 % at 100-180 °C). [Pa]

    Examples
    --------
    >>> print(f"{saturation_pressure(373.15) / 1e3:.1f} kPa")
    101.3 kPa
    """
    return 1e3 * np.exp(16.3872 - 3885.7 / (t - 42.98))


def melt_activity(truth: Truth, w_water: Any) -> Any:
    """Water activity in the melt: Flory and Huggins, one constant interaction. [-]"""
    v = _volumes(truth, w_water)
    water = v["water"] * (1.0 - truth.solids)  # the solids keep their share of it
    soluble = v["polymer"] + v["glycerol"] + v["mannitol"] + water
    f = np.maximum(water / soluble, 1e-6)
    polyol = (v["glycerol"] + v["mannitol"]) / soluble
    log = np.log(f) + 1.0 - f - 0.25 * polyol + truth.chi * (1.0 - f) ** 2
    return np.minimum(np.exp(log), 1.0)


def moisture_in_room(truth: Truth, activity: Any) -> Any:
    """What the blend holds in air of this humidity, wet basis: Oswin's rule. [kg/kg]

    Glycerol takes up as its own solution does (Zhang 2022: .13, .33, 1.3 kg/kg at 33, 57, 85 %);
    together they hold 0.9 of the sum at 5 % and 0.8 at 20 % glycerol (Enrione 2007, read).
    """
    odds = activity / (1.0 - activity)
    polymer = truth.sorbs * odds**truth.sorbs_power
    weed = truth.weed_sorbs * odds**0.7
    polyol = 0.25 * odds**0.94
    together = np.interp(truth.glycerol, [0.0, 0.05, 0.2], [1.0, 0.9, 0.8])
    dry_basis = together * (
        truth.starch * polymer
        + (truth.weed + truth.solids) * weed
        + (truth.glycerol + 0.5 * truth.mannitol) * polyol
    )
    return dry_basis / (1.0 + dry_basis)


def room_activity(truth: Truth, w_water: Any) -> Any:
    """The humidity that leaves the blend as wet as it is, by bisection. [-]"""
    low, high = np.full(np.shape(w_water), 0.001), np.full(np.shape(w_water), 0.995)
    for _ in range(30):
        middle = (low + high) / 2.0
        wetter = moisture_in_room(truth, middle) > w_water
        high = np.where(wetter, middle, high)
        low = np.where(wetter, low, middle)
    return (low + high) / 2.0


def browning_rate(truth: Truth, t: Any) -> Any:
    """Share of its clock that the blend spends per second, starch beside seaweed. [1/s]"""
    hotter = np.exp(truth.clock_energy / _GAS * (1.0 / 423.15 - 1.0 / t))
    starch, weed = np.exp(-truth.log_clock), np.exp(-truth.log_weed_clock)
    return hotter * ((1.0 - truth.seaweed) * starch + truth.seaweed * weed)


def modulus(truth: Truth, tg: Any, t: Any) -> Any:
    """Young's modulus: an S in its logarithm from glass to plateau. [Pa]"""
    plateau = truth.plateau * (1.0 + 4.0 * truth.solids)
    glassy = 1.0 / (1.0 + np.exp(np.clip(4.4 * (t - tg) / truth.softens_over, -60.0, 60.0)))
    return plateau * (truth.glass_modulus / plateau) ** glassy
