"""What makers cannot know: the truth behind each of them, and how far their instruments lie.

Ranges are this file's own. "Read" and "memory" say how a published figure was met; "assumed" is our
judgment of a workshop. None of them is taken from the advisor's cards.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from tests.second_press.known import AMYLOSE, Known
from tests.second_press.laws import Mix


@dataclass(frozen=True)
class Truth:
    """Hidden truth, one entry per maker; SI, kelvin and fractions."""

    mix: Mix
    # instruments: true value minus the maker's, or over it
    moisture_off: Any
    reaching_off: Any
    heater_off: Any
    swing: Any
    swing_period: Any
    sag: Any
    nozzle_cooler: Any
    timing: Any
    mold_off: Any
    force_share: Any
    scale_share: Any
    humidity_off: Any
    # barrel
    k_loose: Any
    k_melt: Any
    heat_capacity: Any
    packed: Any
    wall_loose: Any
    wall_melt: Any
    weld_above_tg: Any
    lumps_borne: Any
    leak: Any
    breathing: Any
    puff_borne: Any
    brown_150: Any
    brown_heat: Any
    # flow
    pin: Any
    flow_heat: Any
    bend: Any
    thinning: Any
    knee: Any
    yielding: Any
    packing: Any
    entry: Any
    plug: Any
    cold_end: Any
    speed: Any
    stop_above_tg: Any
    expansion: Any
    mold_contact: Any
    lost: Any
    # part
    glassy: Any
    rubbery: Any
    width: Any
    stiff_enough: Any
    soft_below: Any
    foam_above_tg: Any
    foam_pressure: Any
    diffusivity: Any
    strain: Any
    skin_share: Any
    warp: Any
    mold_growth: Any

    def take(self, index: Any) -> Truth:
        """The truths at ``index``, which may name one several times."""
        mix = Mix(**{f.name: getattr(self.mix, f.name)[index] for f in fields(Mix)})
        rest = {f.name: getattr(self, f.name)[index] for f in fields(self) if f.name != "mix"}
        return Truth(mix=mix, **rest)


class _Draw:
    """Draws of one size; ``wide`` is the spread of a logarithm."""

    def __init__(self, rng: np.random.Generator, count: int) -> None:
        self.rng, self.count = rng, count

    def between(self, low: float, high: float) -> Any:
        return self.rng.uniform(low, high, self.count)

    def around(self, middle: Any, spread: Any) -> Any:
        return middle + spread * self.rng.standard_normal(self.count)

    def factor(self, middle: Any, wide: float) -> Any:
        return middle * np.exp(wide * self.rng.standard_normal(self.count))


def truths(rng: np.random.Generator, known: Known) -> Truth:
    """One hidden truth for each maker, given all that the maker has written down."""
    draw = _Draw(rng, len(known))
    mix = _mix(draw, known)
    seaweed = mix.seaweed_melt + mix.mannitol + mix.solid  # share of the dry matter
    return Truth(
        mix=mix,
        **_instruments(draw, known, mix),
        **_barrel(draw, seaweed),
        **_flow(draw, known, mix),
        **_part(draw),
    )


def _mix(draw: _Draw, known: Known) -> Mix:
    """Dry matter from the weighings and from what is really in the seaweed.

    Giant and bull kelp over two years: ash 24-49 %, mannitol 2-16 %, alginate 19-31 % of dry
    matter (read, abstract of a monthly study of Macrocystis and Nereocystis); sugar kelp: protein
    8 %, mannitol 9 % and less (Vilg 2015, read). The rest is laminarin, fucoidan, cellulose.
    """
    starch = known.starch_g * (1 - draw.around(known.starch_moisture_pct, 0.8) / 100)
    kelp = known.seaweed_g * (1 - draw.around(known.seaweed_moisture_pct, 1.0) / 100)
    rinsed = np.where(known.washed, draw.between(0.1, 0.5), 1.0)  # salt and mannitol left (assumed)
    salt = draw.between(0.15, 0.40) * rinsed
    mannitol = draw.between(0.02, 0.16) * rinsed
    ash = draw.between(0.05, 0.10)  # lime and the like
    fibrous = draw.between(0.10, 0.22)  # protein and cellulose
    alginate, other = draw.between(0.19, 0.31), draw.between(0.05, 0.25)
    melting = draw.between(0.1, 0.8)  # of the alginate: the plant holds it as a lime gel (assumed)
    total = salt + mannitol + ash + fibrous + alginate + other
    melt = (alginate * melting + other) / total * kelp
    sweet = mannitol / total * kelp
    dissolved = draw.between(0.3, 1.0)  # mannitol that has not crystallized (assumed)
    dry = starch + known.glycerol_g + kelp
    glycerol = known.glycerol_g / dry
    return Mix(
        starch=starch / dry,
        seaweed_melt=melt / dry,
        glycerol=glycerol,
        mannitol=sweet * dissolved / dry,
        solid=(kelp - melt - sweet * dissolved) / dry,
        salt=salt / total * kelp / dry,
        ln_tg_starch=np.log(draw.around(515.0, 10.0)),  # 500 (Orford 1989) to 523 K, memory
        ln_tg_seaweed=np.log(draw.between(390.0, 500.0)),  # nobody has published one (assumed)
        pull_water=draw.between(2.2, 2.7),
        pull_glycerol=draw.between(2.6, 3.9),
        pull_mannitol=draw.between(1.5, 3.0),
        tg_shift=draw.around(0.0, 8.0),  # laboratories and batches differ (assumed)
        sorption=draw.between(0.95, 1.20),  # 14.8 % dry basis at 57 % (Lourdin 1997, read) is 1.08
        contact=1.0 - np.minimum(glycerol, 0.25) * draw.between(0.6, 1.3),
    )


def _instruments(draw: _Draw, known: Known, mix: Mix) -> dict[str, Any]:
    """How far what the maker reads is from what is (assumed, but for the glycerol)."""
    evaporated = 0.01 * draw.between(0.0, 5.0) * mix.glycerol  # glycerol lost in the oven as water
    return {
        "moisture_off": draw.around(0.0, 0.01 * known.moisture_u_pct) - evaporated,
        "reaching_off": draw.around(0.0, 0.004),
        "heater_off": draw.around(0.0, known.heater_u_c),
        "swing": draw.between(1.0, 6.0),
        "swing_period": draw.between(30.0, 120.0),
        "sag": draw.between(2.0, 10.0),
        "nozzle_cooler": draw.between(0.0, 15.0),
        "timing": draw.around(1.0, 0.04),
        "mold_off": draw.around(0.0, 5.0),
        "force_share": draw.factor(1.0, 0.08) * draw.between(0.85, 0.98),  # seals rub
        "scale_share": draw.around(1.0, 0.01),
        "humidity_off": draw.around(0.0, 0.05),  # a cheap hygrometer and a week of weather
    }


def _barrel(draw: _Draw, seaweed: Any) -> dict[str, Any]:
    """The charge in the barrel.

    Color of maize grits at 140-180 °C rises at constant rate, with 65 (lightness) and 74 kJ/mol
    (redness) (J. Food Eng. 39 (1999) 73, read in abstract); caramelizing sugars go up to 130
    (memory). The time to a color one minds is judged from what was pressed or extruded: 140 °C for
    6-10 min gave good plates, 150 °C in an extruder showed damage (read): 8 min at 150 °C.
    """
    kelp = np.minimum(seaweed / 0.2, 1.0)  # seaweed browns sooner (assumed)
    return {
        "k_loose": draw.between(0.08, 0.16),  # powders and pellets of starch, memory
        "k_melt": draw.between(0.20, 0.32),  # memory
        "heat_capacity": draw.between(1700.0, 2500.0),  # maize starch 1.4-2.7 kJ/kg/K (read)
        "packed": draw.between(1.05, 1.5),  # by the ram, over the poured density (assumed)
        "wall_loose": draw.factor(250.0, 0.4),  # packed beds at a wall, memory
        "wall_melt": draw.factor(2500.0, 0.5),  # 1e-4 to 1e-3 m² K/W, memory
        "weld_above_tg": draw.between(15.0, 50.0),  # assumed
        "lumps_borne": draw.between(0.02, 0.12),  # assumed
        "leak": draw.between(0.0, 0.12),  # of the water past ram and pin, in 10 min (assumed)
        "breathing": draw.factor(500.0, 0.5),  # time an open charge needs to dry (assumed)
        "puff_borne": draw.factor(3.0, 0.7),  # strain until it oozes and spits (assumed)
        "brown_150": draw.factor(480.0, 0.55) * np.exp(-kelp * draw.between(0.0, 1.4)),
        "brown_heat": draw.between(65e3, 115e3),
    }


def _flow(draw: _Draw, known: Known, mix: Mix) -> dict[str, Any]:
    """The melt on its way.

    Amylose thickens: 277 to 1254 Pa s from 0 to 80 % (Xie 2009, read). The spread is for the
    history of the starch, scission and the measurement (assumed). Power index .2-.6 (memory).
    Pellets against a wall: friction times lateral share 0.06-0.2 (memory, solids conveying).
    """
    amylose = np.exp(np.log(1254.0 / 277.0) / 80.0 * (AMYLOSE[known.starch] - 26.0))
    # measured at the rates of a die, so the spread moves the whole curve, rest and knee together
    level = draw.factor(1.0, 0.5) * amylose
    return {
        "pin": draw.factor(12e3, 0.3) * level,
        "flow_heat": draw.between(30e3, 65e3) / 8.314,
        "bend": draw.between(35.0, 65.0),
        "thinning": draw.between(0.2, 0.5),
        "knee": draw.factor(25e3, 0.35) * level,
        "yielding": draw.factor(2e3, 0.6) * (1.0 + 20.0 * mix.solid),
        "packing": draw.between(0.5, 0.68),  # random loose to dense and broad, memory
        "entry": draw.between(2.0, 10.0),  # radii of nozzle that an entrance costs, memory
        "plug": draw.between(0.06, 0.20),
        "cold_end": draw.between(0.1, 0.8),  # bores of charge under a cold ram (assumed)
        "speed": draw.factor(8e-3, 0.5),  # of ram by hand or jack, m/s (assumed)
        "stop_above_tg": draw.between(15.0, 45.0),  # below it a skin no longer flows (assumed)
        "expansion": draw.between(4e-4, 7e-4),  # melts swell, memory
        "mold_contact": draw.factor(2500.0, 0.4),  # as at the barrel wall
        "lost": draw.between(0.0, 0.04),  # of the charge: on funnel, ram and in the bore
    }


def _part(draw: _Draw) -> dict[str, Any]:
    """The part when taken out, and a week later."""
    return {
        "glassy": draw.between(1e9, 4e9),  # 0.7-5 GPa (Kirby 1993, read)
        "rubbery": draw.factor(30e6, 0.7),  # 10-70 (van Soest 1996), 50-200 MPa (Kirby), read
        "width": draw.between(7.0, 15.0),
        "stiff_enough": draw.factor(5e6, 0.5),  # to be taken out unbent (assumed)
        "soft_below": draw.factor(6e6, 0.4),  # below it a part is called floppy (assumed)
        "foam_above_tg": draw.between(10.0, 70.0),  # Della Valle 1997, read
        "foam_pressure": 1e5 * draw.between(0.0, 1.2),  # what the skin holds back (assumed)
        "diffusivity": draw.factor(3e-12, 0.8),  # pasta 0.8-8e-12 m²/s at 25 °C, read
        "strain": draw.factor(0.09, 0.35),
        "skin_share": draw.between(0.4, 0.9),  # of the drop that skin and heart differ by (assumed)
        "warp": draw.between(0.03, 0.06),  # shrinkage after molding one still accepts (assumed)
        "mold_growth": draw.between(0.75, 0.85),  # within a week: slower below, memory
    }
