"""Pellets conditioned in a closed jar: bath, still air, the bed of pellets and their inside."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero, fraction, inside, kelvin
from moldwin.physics._course import Problem, Stretch, course
from moldwin.physics._grid import steepness
from moldwin.physics._prepare import Prepared, prepare, rising_times, sensible, warn_of_range
from moldwin.physics._vessel import AIR, BATH, LOST, GlycerolWater, JarAir, SaltWater
from moldwin.physics.diffusion import still_air_conductance
from moldwin.physics.humidity import glycerol_water_activity
from moldwin.physics.pellet import Pellet
from moldwin.physics.vapor import water_saturation_pressure

__all__ = ["GlycerolBath", "Jar", "JarCourse", "SaltBath", "jar_course"]

_WATER_GAS_CONSTANT = 461.526  # J/kg/K


@dataclass(frozen=True)
class SaltBath:
    """A slurry of salt and water, or plain water.

    Its activity stays while solid salt is left; taking up more water it is diluted (1 - aw falls
    with the salt per water, assumed); it ends when its water is gone.

    Parameters
    ----------
    a_water : float or array, shape (...)
        Water activity at saturation, as of ``salt_water_activity``; 1 for plain water. [-]
    water : float or array, shape (...)
        Water in it at the start. [kg]
    salt : float or array, shape (...), optional
        Salt in it, dissolved or not; infinite means that some is always solid. [kg]
    solubility : float or array, shape (...), optional
        Salt that saturates water. [kg/kg]

    Examples
    --------
    >>> SaltBath(0.753, water=0.05, salt=0.1, solubility=0.36).water
    0.05
    """

    a_water: Any
    water: Any
    salt: Any = np.inf
    solubility: Any = 1.0


@dataclass(frozen=True)
class GlycerolBath:
    """A mixture of glycerol and water, which drifts as it gives or takes water.

    Parameters
    ----------
    glycerol, water : float or array, shape (...)
        In it at the start. [kg]

    Examples
    --------
    Three quarters glycerol:

    >>> bath = GlycerolBath(glycerol=0.15, water=0.05)
    """

    glycerol: Any
    water: Any


@dataclass(frozen=True)
class Jar:
    """A closed jar with a bath and a bed of pellets.

    Parameters
    ----------
    slurry_area, bed_area : float or array, shape (...)
        Free surface of the bath, and of the bed. [m2]
    gap : float or array, shape (...)
        Still air between them: a fan leaves about 3 mm (assumed). [m]
    bed_depth : float or array, shape (...)
        Depth of the pellets, open on one side. [m]
    t : float or array, shape (...)
        Temperature of pellets and jar. [K]
    convection : float or array, shape (...), optional
        What the air passes over what it would if it were still: 1 to 2.2 (assumed) where the
        slurry lies below the pellets, since moist air is lighter. [-]
    voids : float or array, shape (...), optional
        What the voids of the bed pass over what free air would (assumed). [-]
    heat_transfer : float or array, shape (...), optional
        Heat that reaches the slurry by radiation, air and its dish; assumed, 5 + 1 + 8. [W/m2/K]
    air_volume : float or array, shape (...), optional
        Free air; left out, that over the bed and 0.4 of the bed itself. [m3]
    mouth : float or array, shape (...), optional
        Exchange with the room through an open mouth as wide as the bed (assumed). [m/s]

    Examples
    --------
    >>> jar = Jar(slurry_area=60e-4, bed_area=60e-4, gap=0.05, bed_depth=0.025, t=298.15)
    """

    slurry_area: Any
    bed_area: Any
    gap: Any
    bed_depth: Any
    t: Any
    convection: Any = 1.0
    voids: Any = 0.27
    heat_transfer: Any = 14.0
    air_volume: Any = None
    mouth: Any = 5e-3


@dataclass(frozen=True)
class JarCourse:
    """What happens in a jar over time.

    Parameters
    ----------
    times : array, shape (n,) or (..., n)
        As asked for. [s]
    mean, skin, heart : array, shape (..., n)
        Moisture of the pellets, dry basis. [kg/kg]
    air : array, shape (..., n)
        Water activity of the air in the bed. [-]
    bath_activity : array, shape (..., n)
        Water activity of the bath, at the temperature of the jar. [-]
    bath_water, air_water, lost : array, shape (..., n)
        Water in the bath and in the air, and what went out through the open lid. [kg]
    cooling : array, shape (..., n)
        By how much the bath is colder than the jar. [K]

    Examples
    --------
    See ``jar_course``:

    >>> "cooling" in JarCourse.__annotations__
    True
    """

    times: Any
    mean: Any
    skin: Any
    heart: Any
    air: Any
    bath_activity: Any
    bath_water: Any
    air_water: Any
    lost: Any
    cooling: Any


def jar_course(
    times: Any,
    x_start: Any,
    pellet: Pellet,
    dry_mass: Any,
    jar: Jar,
    bath: SaltBath | GlycerolBath,
    *,
    lid_open: Sequence[tuple[float, float]] = (),
    a_room: Any = None,
    accuracy: float = 1e-4,
    check: bool = True,
) -> JarCourse:
    """Moisture of pellets in a closed jar, with all that slows its way to them.

    Parameters
    ----------
    times : float or array, shape (n,) or (..., n)
        Times since the lid was closed, rising; per set if they have axes for the sets. [s]
    x_start : float or array, shape (...)
        Moisture of the pellets then, dry basis. [kg/kg]
    pellet : Pellet
        One of them. [SI]
    dry_mass : float or array, shape (...)
        All of them, without their water. [kg]
    jar : Jar
        Where they are. [SI]
    bath : SaltBath or GlycerolBath
        What gives or takes their water. [SI]
    lid_open : sequence of pairs, optional
        From when to when the lid is open; the same for all sets. [s]
    a_room : float or array, shape (...), optional
        Water activity of the room's air, needed when the lid is opened. [-]
    accuracy : float, optional
        Error of the mean moisture aimed at, as a share of the whole change. [-]
    check : bool, optional
        Warn where ``DenseStarch`` or the air are used outside their ranges. [-]

    Returns
    -------
    JarCourse
        Pellets, air and bath over time. [SI]

    Raises
    ------
    ValueError
        What ``uptake_curve`` refuses, a mass, size or factor not above 0, an activity outside
        0..1, a temperature in °C, a lid that opens before it closed or without a room.

    Notes
    -----
    One pellet stands for all: the bed is lumped, with a third of its depth as the way through its
    voids (right for a bed that takes up evenly). The bath is colder than the jar by the heat of
    the water that leaves it, which lowers its vapor. At first the air is in balance with the
    pellets. Every flow leaves one place and enters another: water is kept to rounding.

    References
    ----------
    W. J. Massman, Atmos. Environ. 32 (1998) 1111 (vapor in air).
    Resistances and heat transfer: assumed, as said at each parameter.

    Examples
    --------
    100 g of pellets from 5 % over table salt, fast inside, so that the air is what they wait for:

    >>> from moldwin.physics.sorption import gab_water_activity
    >>> def isotherm(x):
    ...     return gab_water_activity(x, 0.0743, 26.87, 0.7842, check=False)
    >>> pellet = Pellet("sphere", 1.5e-3, 1350.0, 1e-10, isotherm)
    >>> jar = Jar(slurry_area=60e-4, bed_area=60e-4, gap=0.05, bed_depth=0.025, t=298.15)
    >>> days = np.array([0.0, 1.0, 7.0, 30.0])
    >>> course = jar_course(days * 86400, 0.0526, pellet, 0.095, jar, SaltBath(0.753, 0.05))
    >>> print(course.mean.round(3))
    [0.053 0.075 0.137 0.174]
    """
    times = rising_times(times)
    t = kelvin("t", jar.t)
    bath_start = _bath_activity(bath, t)
    room = bath_start if a_room is None else fraction("a_room", a_room)
    dry_mass = above_zero("dry_mass", dry_mass, "kg")
    numbers = _numbers(jar, bath)
    some = prepare(
        pellet,
        x_start,
        np.minimum(bath_start, room),
        np.maximum(bath_start, room),
        dry_mass,
        np.zeros(times.shape[:-1]),
        *numbers.values(),
    )
    if check:
        warn_of_range(pellet, some)
    parts = {name: some.only(value) for name, value in numbers.items()}
    air = _surroundings(some, parts, some.only(dry_mass), bath, check)
    if len(lid_open) and a_room is None:
        raise ValueError("a_room, the water activity of the room, is needed to open the lid")
    stretches = _stretches(air, lid_open, some.only(room), parts, some.only(dry_mass))
    start = air.activity.at(some.start)[0]
    water = parts["water"] / some.only(dry_mass)
    transfer = 1.0 / (1.0 / air.bed + 1.0 / air.gap)
    biot = transfer / some.per_area * some.half * air.activity.steepest() / some.density
    problem = Problem(
        some.dimension,
        some.law,
        some.pace,
        some.span,
        some.scaled(some.start),
        np.stack([air.capacity * start, water, np.zeros_like(water)]),
        stretches,
        steepness(float(np.max(biot / some.slowest, initial=0.0))),
    )
    values, _ = course(problem, some.asked(times), sensible(accuracy), False)
    return _told(some, air, parts, times, values, some.only(dry_mass))


def _numbers(jar: Jar, bath: SaltBath | GlycerolBath) -> dict[str, Any]:
    """Every number of jar and bath by its name, checked."""
    units = {
        "slurry_area": "m2",
        "bed_area": "m2",
        "gap": "m",
        "bed_depth": "m",
        "t": "K",
        "convection": "(a factor)",
        "voids": "(a factor)",
        "heat_transfer": "W/m2/K",
        "mouth": "m/s",
    }
    found = {name: above_zero(name, getattr(jar, name), unit) for name, unit in units.items()}
    found["air_volume"] = (
        found["bed_area"] * (found["gap"] + 0.4 * found["bed_depth"])
        if jar.air_volume is None
        else above_zero("air_volume", jar.air_volume, "m3")
    )
    found["water"] = above_zero("water", bath.water, "kg")
    if isinstance(bath, GlycerolBath):
        found["glycerol"] = above_zero("glycerol", bath.glycerol, "kg")
        return found
    salt = inside("salt", bath.salt, 0.0, np.inf, "kg")
    solubility = above_zero("solubility", bath.solubility, "kg/kg")
    return found | {"a_water": fraction("a_water", bath.a_water), "full": salt / solubility}


def _bath_activity(bath: SaltBath | GlycerolBath, t: Any) -> Any:
    """Activity of the bath at the start."""
    water = above_zero("water", bath.water, "kg")
    if isinstance(bath, GlycerolBath):
        share = 1.0 / (1.0 + water / above_zero("glycerol", bath.glycerol, "kg"))
        return glycerol_water_activity(share, t, check=False)
    full = np.asarray(bath.salt, float) / bath.solubility
    return 1.0 - (1.0 - fraction("a_water", bath.a_water)) * np.minimum(full / water, 1.0)


def _surroundings(
    some: Prepared, parts: dict[str, Any], dry_mass: Any, bath: Any, check: bool
) -> JarAir:
    """The jar with its lid closed, per kg of dry pellets."""
    t, bed_area = parts["t"], parts["bed_area"]
    over = np.minimum(parts["slurry_area"], bed_area)
    gap = still_air_conductance(over, parts["gap"], t, check=check) * parts["convection"]
    through = still_air_conductance(bed_area, parts["bed_depth"] / 3.0, t, check=False)
    through = through * parts["voids"]
    # Round each pellet lies air as thick as its radius (Sherwood number 2).
    film = still_air_conductance(some.per_area * dry_mass, some.half, t, check=False)
    above, below = (water_saturation_pressure(t + half, check=False) for half in (0.5, -0.5))
    water = parts["water"] / dry_mass
    content: Any
    if isinstance(bath, GlycerolBath):
        content = GlycerolWater(parts["glycerol"] / dry_mass, t)
    else:
        content = SaltWater(parts["a_water"], water, parts["full"] / dry_mass)
    none = np.zeros_like(water)
    return JarAir(
        activity=some.activity,
        bath=content,
        bed=1.0 / (1.0 / through + 1.0 / film) / dry_mass,
        gap=gap / dry_mass,
        room=none,
        a_room=none,
        cooling=np.log(above / below) * _kelvin_per_flow(parts) * dry_mass,
        capacity=_vapor_density(t) * parts["air_volume"] / dry_mass,
    )


def _vapor_density(t: Any) -> Any:
    """Of saturated vapor. [kg/m3]"""
    return water_saturation_pressure(t, check=False) / (_WATER_GAS_CONSTANT * t)


def _kelvin_per_flow(parts: dict[str, Any]) -> Any:
    """How much colder than the jar the bath gets by a flow of vapor. [K s/kg]"""
    latent = 2.501e6 - 2361.0 * (parts["t"] - 273.15)  # J/kg, from memory
    return latent / (parts["heat_transfer"] * parts["slurry_area"])


def _stretches(
    air: JarAir, lid_open: Sequence[tuple[float, float]], a_room: Any, parts: Any, dry_mass: Any
) -> list[Stretch]:
    """Stretches of closed and open lid, in turn."""
    mouth = parts["mouth"] * parts["bed_area"] * _vapor_density(parts["t"])
    opened = replace(air, room=mouth / dry_mass, a_room=a_room)
    edges = [0.0, *(float(edge) for pair in lid_open for edge in pair), np.inf]
    if any(len(pair) != 2 for pair in lid_open) or np.any(np.diff(edges) < 0):
        raise ValueError(
            f"lid_open must be pairs of times that rise, (opened, closed), got {lid_open!r}"
        )
    found = []
    for i, (begin, end) in enumerate(itertools.pairwise(edges)):
        if end > begin:
            found.append(Stretch(begin, end, opened if i % 2 else air, True))
    return found


def _told(
    some: Prepared, air: JarAir, parts: dict[str, Any], times: Any, values: Any, dry_mass: Any
) -> JarCourse:
    """From what was watched, (watched, n, sets), to what was asked for, (..., n)."""
    moisture, z = some.back(values[:3]), values[3:]
    bath, _ = air.bath.at(z[BATH])
    in_air = z[AIR] / air.capacity
    vapor = air.evaporation(in_air, bath)[0] * dry_mass
    told = {
        "mean": moisture[0],
        "heart": moisture[1],
        "skin": moisture[2],
        "air": in_air,
        "bath_activity": bath,
        "bath_water": z[BATH] * dry_mass,
        "air_water": z[AIR] * dry_mass,
        "lost": z[LOST] * dry_mass,
        "cooling": vapor * _kelvin_per_flow(parts),
    }
    return JarCourse(times=times, **{name: some.spread(part, times) for name, part in told.items()})
