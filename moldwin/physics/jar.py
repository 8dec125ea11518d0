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
from moldwin.physics._vessel import AIR, BATH, LOST, Ending, GlycerolWater, JarAir, SaltWater
from moldwin.physics.jar_parts import (
    GlycerolBath,
    Jar,
    SaltBath,
    bath_activity,
    bath_cooling,
    jar_conductances,
)
from moldwin.physics.pellet import Pellet
from moldwin.physics.vapor import water_saturation_pressure

__all__ = ["JarCourse", "jar_course"]

_WATER_GAS_CONSTANT = 461.526  # J/kg/K


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
    gives: Any = None,
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
    gives : float or array, shape (...), optional
        Water after which the bath is taken out and the pellets lie sealed, below 0 where it takes
        water; left out, all it has. [kg]
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
    pellets. Every flow leaves one place and enters another: water is kept to rounding. A bath that
    runs dry, or is taken out by ``gives``, fades over the last thousandth of its water; what the
    pellets hold then evens out among skin and heart.

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
    bath_start = bath_activity(bath, jar.t)
    room = bath_start if a_room is None else fraction("a_room", a_room)
    dry_mass = above_zero("dry_mass", dry_mass, "kg")
    numbers = _numbers(pellet, dry_mass, jar, bath, gives, check)
    some = prepare(
        pellet,
        x_start,
        np.minimum(bath_start, room),
        np.maximum(bath_start, room),
        np.zeros(times.shape[:-1]),
        *numbers.values(),
    )
    if check:
        warn_of_range(pellet, some)
    parts = {name: some.only(value) for name, value in numbers.items()}
    air = _surroundings(some, parts)
    if len(lid_open) and a_room is None:
        raise ValueError("a_room, the water activity of the room, is needed to open the lid")
    stretches = _stretches(air, lid_open, some.only(room), parts["mouth"])
    start = air.activity.at(some.start)[0]
    none = np.zeros_like(start)
    transfer = 1.0 / (1.0 / air.bed + 1.0 / air.gap)
    biot = transfer / some.per_area * some.half * air.activity.steepest() / some.density
    problem = Problem(
        some.dimension,
        some.law,
        some.pace,
        some.span,
        some.scaled(some.start),
        np.stack([air.capacity * start, parts["water"], none]),
        stretches,
        steepness(float(np.max(biot / some.slowest, initial=0.0))),
    )
    values, _ = course(problem, some.asked(times), sensible(accuracy), False)
    return _told(some, air, parts, times, values)


def _numbers(
    pellet: Pellet, dry_mass: Any, jar: Jar, bath: SaltBath | GlycerolBath, gives: Any, check: bool
) -> dict[str, Any]:
    """Every number of jar and bath by its name, checked; masses and flows per kg of dry pellets."""
    gap, bed = jar_conductances(jar, pellet, dry_mass, check=check)
    t, (colder, fall) = kelvin("t", jar.t), bath_cooling(jar)
    vapor = water_saturation_pressure(t, check=False) / (_WATER_GAS_CONSTANT * t)  # kg/m3
    volume = (
        jar.bed_area * (jar.gap + 0.4 * np.asarray(jar.bed_depth, float))
        if jar.air_volume is None
        else above_zero("air_volume", jar.air_volume, "m3")
    )
    water = above_zero("water", bath.water, "kg")
    gives = water if gives is None else inside("gives", gives, -np.inf, np.inf, "kg")
    found = {
        "dry_mass": dry_mass,
        "t": t,
        "gap": gap / dry_mass,
        "bed": bed / dry_mass,
        "fall": fall * dry_mass,
        "kelvin": colder,
        "capacity": vapor * volume / dry_mass,
        "mouth": above_zero("mouth", jar.mouth, "m/s") * jar.bed_area * vapor / dry_mass,
        "water": water / dry_mass,
        "last": (water - np.minimum(gives, water)) / dry_mass,
    }
    if isinstance(bath, GlycerolBath):
        return found | {"glycerol": above_zero("glycerol", bath.glycerol, "kg") / dry_mass}
    salt = inside("salt", bath.salt, 0.0, np.inf, "kg")
    full = salt / above_zero("solubility", bath.solubility, "kg/kg") / dry_mass
    return found | {"a_water": fraction("a_water", bath.a_water), "full": full}


def _surroundings(some: Prepared, parts: dict[str, Any]) -> JarAir:
    """The jar with its lid closed, per kg of dry pellets."""
    content: Any
    if "glycerol" in parts:
        content = GlycerolWater(parts["glycerol"], parts["t"])
    else:
        content = SaltWater(parts["a_water"], parts["full"])
    none = np.zeros_like(parts["water"])
    return JarAir(
        activity=some.activity,
        bath=Ending.of(content, parts["water"], parts["last"]),
        bed=parts["bed"],
        gap=parts["gap"],
        room=none,
        a_room=none,
        cooling=parts["fall"],
        capacity=parts["capacity"],
    )


def _stretches(
    air: JarAir, lid_open: Sequence[tuple[float, float]], a_room: Any, mouth: Any
) -> list[Stretch]:
    """Stretches of closed and open lid, in turn."""
    opened = replace(air, room=mouth, a_room=a_room)
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


def _told(some: Prepared, air: JarAir, parts: dict[str, Any], times: Any, values: Any) -> JarCourse:
    """From what was watched, (watched, n, sets), to what was asked for, (..., n)."""
    moisture, z = some.back(values[:3]), values[3:]
    dry_mass = parts["dry_mass"]
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
        "cooling": vapor * parts["kelvin"],
    }
    return JarCourse(times=times, **{name: some.spread(part, times) for name, part in told.items()})
