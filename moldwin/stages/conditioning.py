"""From the moisture now to the target: which humidity, from what, how long, to which mass."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.base.percentiles import Triple, triple
from moldwin.inputs.job import Pellets
from moldwin.physics.diffusion import (
    dense_starch_diffusivity,
    fourier_at,
    still_air_conductance,
)
from moldwin.physics.humidity import (
    glycerol_mass_fraction,
    glycerol_water_activity,
    salt_range,
    salt_water_activity,
)
from moldwin.stages.bench import Bench, UsedNumber
from moldwin.stages.state import Material, State

__all__ = ["Conditioning", "condition"]

_SECONDS_A_DAY = 86400.0
_WAYS = {"days_50": 0.5, "days_90": 0.1, "days_99": 0.01}
#: Still air that a fan leaves over slurry and bed (assumed). [m]
_FANNED_GAP = 0.003
#: Vapor in the voids of a bed moves this much slower than in free air (porosity 0.4, assumed).
_VOIDS = 0.27
#: Pellets nobody described (assumed): 3 mm cylinders as long as wide, 100 g, 650 kg/m³.
_TYPICAL = {"diameter": 0.003, "length": 0.003, "mass": 0.1, "bulk_density": 650.0}
#: A salt is near enough when it brings the pellets this close to the target. [kg/kg]
_NEAR_ENOUGH = 0.006
#: Glycerol baths are offered over this range of humidity.
_BATH_RANGE = (0.30, 0.90)


@dataclass(frozen=True)
class Conditioning:
    """One way to the target moisture.

    Parameters
    ----------
    humidity : float
        Relative humidity of the source. [-]
    source : str
        What to put in the jar. [-]
    oxidizer : bool
        The source feeds fire. [-]
    days : mapping of str to Triple
        Time for 50, 90 and 99 % of the way. [days]
    bottleneck : str
        ``"air"`` or ``"pellet"``, whichever takes longer to 90 %. [-]
    stop_mass, stop_scale : float or None
        Mass of the pellets alone, and with their tray. [kg]
    """

    humidity: float
    source: str
    oxidizer: bool
    days: dict[str, Triple]
    bottleneck: str
    stop_mass: float | None
    stop_scale: float | None

    def to_dict(self) -> dict[str, Any]:
        """The conditioning object of the contract."""
        return {
            "humidity_pct": 100.0 * self.humidity,
            "source": self.source,
            **{name: days.to_dict() for name, days in self.days.items()},
            "bottleneck": self.bottleneck,
            "stop_mass_g": None if self.stop_mass is None else 1e3 * self.stop_mass,
            "stop_scale_g": None if self.stop_scale is None else 1e3 * self.stop_scale,
        }


def condition(bench: Bench, material: Material, now: State, target: State) -> Conditioning:
    """The patient way: a jar of constant humidity until the pellets weigh what they should.

    The pellet's own diffusion and the still air of the jar are taken as resistances in series: the
    exact answer where one of them rules, and a little long where they are equal.

    Parameters
    ----------
    bench, material
        The job and its prepared blend. [-]
    now, target : State
        The blend at the two moistures. [SI]

    Returns
    -------
    Conditioning
        [SI]
    """
    jar = bench.job.jar
    t = jar.temperature or bench.job.room.temperature
    kelvin = t if t is not None else float(np.median(bench.typical("room", "temperature")))
    wanted = float(np.median(target.a_water))
    humidity, source, oxidizer = _choose_source(bench, material, now, target, wanted, kelvin)
    pellets = _described(bench)
    pellet_times = _pellet_times(bench, material, now, target, pellets, kelvin)
    air_constant = _air_constant(bench, now, target, pellets, kelvin)
    days = {}
    for name, left in _WAYS.items():
        seconds = pellet_times[name] + air_constant * math.log(1.0 / left)
        days[name] = triple(seconds / _SECONDS_A_DAY)
    slow_air = np.median(air_constant) * math.log(10.0) > np.median(pellet_times["days_90"])
    stop = None
    if bench.job.pellets.mass is not None:
        stop = bench.job.pellets.mass * (1.0 - now.nominal) / (1.0 - target.nominal)
    return Conditioning(
        humidity=humidity,
        source=source,
        oxidizer=oxidizer,
        days=days,
        bottleneck="air" if slow_air else "pellet",
        stop_mass=stop,
        stop_scale=stop + jar.tray if stop is not None and jar.tray is not None else None,
    )


def _choose_source(
    bench: Bench, material: Material, now: State, target: State, wanted: float, t: float
) -> tuple[float, str, bool]:
    """A salt that lands near enough, else glycerol and water mixed for it, else a salt."""
    best: tuple[float, float, str, bool] | None = None
    bath = False
    for name in _offered(bench):
        card = bench.library.card(name)
        formula = str(card.facts.get("formula", name))
        if formula == "glycerol":
            bath = True
            continue
        if formula in ("water", "H2O") or salt_range(formula).outside(t):
            continue
        humidity = float(salt_water_activity(formula, t, check=False))
        lands = float(np.median(material.isotherm.moisture(np.full(bench.count, humidity))))
        if (lands - now.nominal) * (target.nominal - now.nominal) <= 0.0:
            continue  # it would take the pellets the wrong way
        miss = abs(lands - target.nominal)
        if best is None or miss < best[0]:
            best = (miss, humidity, f"saturated {formula} slurry", bool(card.facts.get("oxidizer")))
    if best is not None and (best[0] <= _NEAR_ENOUGH or not bath):
        return best[1], best[2], best[3]
    if bath and (best is None or _BATH_RANGE[0] <= wanted <= _BATH_RANGE[1]):
        wanted = min(max(wanted, _BATH_RANGE[0]), _BATH_RANGE[1])
        glycerol = float(glycerol_mass_fraction(wanted, t, check=False))
        humidity = float(glycerol_water_activity(glycerol, t, check=False))
        return humidity, f"glycerol and water, {100 * glycerol:.0f} % glycerol by mass", False
    if best is None:
        return wanted, "a source you do not have yet: none that was named leads there", False
    return best[1], best[2], best[3]


def _offered(bench: Bench) -> tuple[str, ...]:
    """Sources the job names, else those that are fit for a kitchen."""
    every = bench.library.names("humidity-source")
    asked = bench.job.jar.sources
    if asked is None:
        return tuple(n for n in every if bench.library.card(n).facts.get("fitness") == "kitchen")
    formulas = {str(bench.library.card(n).facts.get("formula", n)): n for n in every}
    return tuple(formulas.get(name, name) for name in asked)


def _described(bench: Bench) -> Pellets:
    """The job's pellets, with typical sizes where it gives none."""
    given = bench.job.pellets
    if given.diameter or given.thickness:
        return given
    bench.used["pellets"] = UsedNumber(
        "pellets", _TYPICAL["diameter"], "m", "assumed", "no sizes given: 3 mm cylinders stand in"
    )
    return Pellets(
        shape="cylinder",
        diameter=_TYPICAL["diameter"],
        length=_TYPICAL["length"],
        mass=given.mass,
        bulk_density=given.bulk_density,
    )


def _pellet_times(
    bench: Bench, material: Material, now: State, target: State, pellets: Pellets, t: float
) -> dict[str, Any]:
    """Time inside the pellet for each share left, shape (s,). [s]"""
    half = (pellets.diameter or pellets.thickness or _TYPICAL["diameter"]) / 2.0
    shape, aspect = _fourier_shape(pellets)
    x = 0.5 * (_dry_basis(now.w_water) + _dry_basis(target.w_water))
    factor = material.blend.mean_over_polymers(bench, "diffusivity_factor", 1.0)
    diffusivity = dense_starch_diffusivity(x, t, check=False) * factor
    return {
        name: fourier_at(shape, left, aspect=aspect) * half**2 / diffusivity
        for name, left in _WAYS.items()
    }


def _fourier_shape(pellets: Pellets) -> tuple[str, float | None]:
    if pellets.shape == "sphere":
        return "sphere", None
    if pellets.shape in ("flake", "slab") or pellets.diameter is None:
        return "slab", None
    return "finite-cylinder", (pellets.length or pellets.diameter) / pellets.diameter


def _air_constant(bench: Bench, now: State, target: State, pellets: Pellets, t: float) -> Any:
    """Time constant of the jar's air: water per unit of activity over its conductance. [s]"""
    jar = bench.job.jar
    area = bench.given("jar.slurry_area", jar.slurry_area, "m2", typical=("jar", "slurry_area"))
    gap = bench.given("jar.air_gap", jar.air_gap, "m", typical=("jar", "air_gap"))
    mass = pellets.mass or _TYPICAL["mass"]
    volume = mass / (pellets.bulk_density or _TYPICAL["bulk_density"])
    if jar.bed_area is None and jar.bed_depth is not None:
        bed, depth = volume / jar.bed_depth, jar.bed_depth
    else:
        bed = bench.given("jar.bed_area", jar.bed_area, "m2", typical=("jar", "bed_area"))
        depth = volume / bed
    if jar.fan:
        gap = np.minimum(gap, _FANNED_GAP)
    over = still_air_conductance(area, gap, t) * bench.typical("jar", "convection")
    through = still_air_conductance(bed, depth / 3.0, t) * _VOIDS
    conductance = 1.0 / (1.0 / over + 1.0 / through)
    change = _dry_basis(target.w_water) - _dry_basis(now.w_water)
    slope = np.abs(change) / np.maximum(np.abs(target.a_water - now.a_water), 5e-3)
    dry = mass * (1.0 - now.nominal)
    return dry * slope / conductance


def _dry_basis(w: Any) -> Any:
    return w / (1.0 - w)
