"""What is true of a maker's blend, press and room, and what no maker knows.

A range that is written down somewhere is taken whole, neither narrower nor wider: limits as a
uniform draw, "a factor f either way" as a log-normal whose 90 % band it is. The advisor's own cards
and laws were not looked at. Sources of the ranges, in the order of `Truth`:

- composition of brown seaweed, share of dry mass: alginate 15-40, laminarin 0-30, fucoidan 3-20,
  mannitol 4-25, protein 3-15, ash 15-40, cellulose 2-10 % (from memory, wide by species); rinsing
  leaves 30-70 % of salt and mannitol (assumed); the share of alginate that melts and of mannitol
  that is dissolved 0-1 (read: insoluble gel, melting endotherm at 142-168 °C);
- glass transition: 12 K (misfit of published starch-water points, derived), 13 K more at a fifth of
  glycerol (20-25 K either way, derived); seaweed polymer 380-520 K dry (assumed);
- flow: 900 Pa s at 100 1/s, 160 °C, 15 % water, a factor 2 either way (derived from Willett 1995);
  n 0.2-0.6, E/R 3000-7000 K, water 10-25, glycerol 6-14 (memory, low confidence); where the curve
  bends 0.1-10 1/s (assumed); crowding limit 0.5-0.65, intrinsic viscosity of angular grains and
  fibers 2.5-4 (memory); amylose after Xie 2009 (read);
- heat: melt 0.08-0.13 mm²/s (read), a loose bed 1-1.6 times slower (derived), wall contact
  200-1000 W/m²K (memory);
- pressure: a share of 0.4-0.9 reaches the melt (assumed); welding 20-60 K and foaming 10-70 K above
  the glass transition, one draw for both (assumed, and read: Della Valle 1997);
- browning: 10 min at 150 °C, a factor 3 either way, 80-130 kJ/mol (assumed); seaweed's clock a
  factor 10 either way (assumed);
- water in the melt: a constant Flory-Huggins chi of 0.80-1.13, which spans the same activities at
  5 and 10 % water as the published kind of form does (derived);
- sorption in the room: cast starch films .148 at 57 % (Lourdin 1997, read) and extruded rice starch
  (Enrione 2010, read) bound the level; ±20 % with glycerol (read);
- stiffness: glass 0.7-5 GPa (read), plateau 5-200 MPa over 20-40 K (read/assumed); brittle past
  110 ± 15 K below the glass transition, where the strain of starch ribbons falls below 4 %
  (Shogren & Jasberg 1994, read), up to 30 K sooner with a little glycerol (assumed);
- the drop of moisture that a part bears: 5-14 points at 3 mm (assumed, common practice);
- diffusivity in the room: 2e-12 m²/s, a factor 10 either way (assumed after Litchfield 1992);
- habits: a hand's speed, patience, thermometer and jar (assumed).
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from tests.second_press.known import AMYLOSE, Known

_SIGMAS_OF_90 = 1.645


@dataclass(frozen=True)
class Truth:
    """One entry per maker; shares of dry mass, SI and kelvin."""

    starch: Any
    weed: Any  # polymer of the seaweed that melts
    glycerol: Any
    mannitol: Any  # dissolved
    solids: Any
    seaweed: Any  # the whole of it, for its browning clock
    amylose_pct: Any
    tg_off: Any
    tg_off_glycerol: Any
    tg_weed: Any
    log_flow: Any
    n: Any
    e_over_r: Any
    per_water: Any
    per_glycerol: Any
    mannitol_thins: Any
    log_weed_flow: Any
    bend_rate: Any
    crowded: Any
    intrinsic: Any
    glass_stress: Any
    diffusivity: Any
    loose_slower: Any
    contact: Any
    heater_off: Any
    nozzle_drop: Any
    share_reaching: Any
    ram_speed: Any
    patience_s: Any
    handling_s: Any
    weld_and_foam: Any  # 0..1: one draw for both offsets
    lumps_borne: Any
    no_flow: Any
    log_clock: Any
    clock_energy: Any
    log_weed_clock: Any
    brown_borne: Any
    chi: Any
    bubbles_start: Any
    packs: Any
    dries: Any
    mold_off: Any
    mold_contact: Any
    expansion: Any
    density_off: Any
    glass_modulus: Any
    plateau: Any
    softens_over: Any
    pull: Any
    sticky: Any
    brittle: Any
    sorbs: Any
    sorbs_power: Any
    weed_sorbs: Any
    drop_borne: Any
    drop_power: Any
    room_diffusivity: Any
    molds_from: Any
    moisture_off: Any
    reaching_off: Any

    def __len__(self) -> int:
        return len(self.starch)

    def take(self, index: Any) -> Truth:
        """The truths at ``index``, which may name one several times."""
        return Truth(**{f.name: getattr(self, f.name)[index] for f in fields(self)})


def truths(rng: np.random.Generator, known: Known) -> Truth:
    """What is true of makers who know this of themselves."""
    n = len(known)

    def flat(low: float, high: float) -> Any:
        return rng.uniform(low, high, n)

    def steep(low: float, high: float) -> Any:
        return np.exp(rng.uniform(np.log(low), np.log(high), n))

    def factor(either_way: float) -> Any:
        """Logarithm of a factor whose 90 % band is ``either_way``, up and down."""
        return rng.normal(0.0, np.log(either_way) / _SIGMAS_OF_90, n)

    mix = _composition(rng, known)
    little_glycerol = (mix["glycerol"] > 0.02) & (mix["glycerol"] < 0.13)
    return Truth(
        **mix,
        amylose_pct=AMYLOSE[known.starch] + rng.normal(0.0, 2.0, n),
        tg_off=rng.normal(0.0, 12.0, n),
        tg_off_glycerol=rng.normal(0.0, 13.0, n),
        tg_weed=flat(380.0, 520.0),
        log_flow=np.log(900.0) + factor(2.0),
        n=flat(0.2, 0.6),
        e_over_r=flat(3000.0, 7000.0),
        per_water=flat(10.0, 25.0),
        per_glycerol=flat(6.0, 14.0),
        mannitol_thins=flat(0.3, 1.0),
        log_weed_flow=rng.normal(0.0, 0.5, n),
        bend_rate=steep(0.1, 10.0),
        crowded=flat(0.5, 0.65),
        intrinsic=flat(2.5, 4.0),
        glass_stress=steep(5e4, 5e5),
        diffusivity=flat(0.8e-7, 1.3e-7),
        loose_slower=flat(1.0, 1.6),
        contact=steep(200.0, 1000.0),
        heater_off=rng.normal(0.0, 1.0, n) * known.heater_u_c,
        nozzle_drop=flat(0.0, 8.0),
        share_reaching=flat(0.4, 0.9),
        ram_speed=steep(5e-3, 50e-3),
        patience_s=steep(10.0, 60.0),
        handling_s=flat(10.0, 40.0),
        weld_and_foam=flat(0.0, 1.0),
        lumps_borne=flat(0.02, 0.15),
        no_flow=flat(20.0, 50.0),
        log_clock=np.log(600.0) + factor(3.0),
        clock_energy=flat(80e3, 130e3),
        log_weed_clock=np.log(600.0) + factor(10.0),
        brown_borne=flat(0.05, 0.3),
        chi=flat(0.80, 1.13),
        bubbles_start=steep(1.0, 2.0),
        packs=flat(0.4, 0.9),
        dries=flat(0.0, 0.5),
        mold_off=rng.normal(0.0, 4.0, n),
        mold_contact=steep(1000.0, 5000.0),
        expansion=flat(4e-4, 6e-4),
        density_off=rng.normal(0.0, 0.02, n),
        glass_modulus=steep(0.7e9, 5e9),
        plateau=steep(5e6, 200e6),
        softens_over=flat(20.0, 40.0),
        pull=steep(1.0, 20.0),
        sticky=flat(40.0, 80.0),
        brittle=rng.normal(110.0, 15.0, n) - np.where(little_glycerol, flat(0.0, 30.0), 0.0),
        sorbs=flat(0.105, 0.135) * np.exp(factor(1.2) * (mix["glycerol"] > 0)),
        sorbs_power=flat(0.40, 0.50),
        weed_sorbs=flat(0.12, 0.25),
        drop_borne=flat(0.05, 0.14),
        drop_power=flat(0.5, 1.0),
        room_diffusivity=2e-12 * np.exp(factor(10.0)),
        molds_from=flat(0.75, 0.85),
        moisture_off=rng.normal(0.0, 1.0, n) * known.moisture_u_pct / 100.0,
        reaching_off=rng.normal(0.0, 0.005, n),
    )


def _composition(rng: np.random.Generator, known: Known) -> dict[str, Any]:
    """Shares of the dry mass."""
    n = len(known)
    parts = {
        name: rng.uniform(low, high, n)
        for name, low, high in (
            ("alginate", 15, 40),
            ("laminarin", 0, 30),
            ("fucoidan", 3, 20),
            ("mannitol", 4, 25),
            ("protein", 3, 15),
            ("ash", 15, 40),
            ("cellulose", 2, 10),
        )
    }
    left = np.where(known.washed, rng.uniform(0.3, 0.7, n), 1.0)
    for rinsed in ("ash", "mannitol"):
        parts[rinsed] = parts[rinsed] * left
    whole = sum(parts.values())
    melts = rng.uniform(0.0, 1.0, n) * parts["alginate"]
    polymer = (melts + parts["laminarin"] + parts["fucoidan"]) / whole
    mannitol = rng.uniform(0.0, 1.0, n) * parts["mannitol"] / whole

    starch_wet = (known.starch_moisture_pct + rng.normal(0.0, 0.7, n)) / 100.0
    weed_wet = (known.seaweed_moisture_pct + rng.normal(0.0, 1.0, n)) / 100.0
    starch = known.starch_g * (1.0 - starch_wet)
    seaweed = known.seaweed_g * (1.0 - weed_wet)
    dry = starch + seaweed + known.glycerol_g
    return {
        "starch": starch / dry,
        "weed": seaweed * polymer / dry,
        "glycerol": known.glycerol_g / dry,
        "mannitol": seaweed * mannitol / dry,
        "solids": seaweed * (1.0 - polymer - mannitol) / dry,
        "seaweed": seaweed / dry,
    }
