"""What stands in a closed jar: a bath, still air, a bed of pellets; and what slows water there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.physics._checks import above_zero, fraction, inside, kelvin
from moldwin.physics.diffusion import still_air_conductance
from moldwin.physics.humidity import glycerol_water_activity
from moldwin.physics.pellet import Pellet
from moldwin.physics.vapor import water_saturation_pressure

__all__ = [
    "GlycerolBath",
    "Jar",
    "SaltBath",
    "bath_activity",
    "bath_cooling",
    "jar_conductances",
]


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


def bath_activity(bath: SaltBath | GlycerolBath, t: Any, given: Any = 0.0) -> Any:
    """Water activity of a bath, after it gave some of its water.

    Parameters
    ----------
    bath : SaltBath or GlycerolBath
        As it stood at the start. [SI]
    t : float or array, shape (...)
        Temperature. [K]
    given : float or array, shape (...), optional
        Water given since then, below 0 where it was taken. [kg]

    Returns
    -------
    float or array, shape (...)
        Water activity. [-]

    Raises
    ------
    ValueError
        A mass not above 0, more water given than there was, an activity outside 0..1, a
        temperature in °C.

    Notes
    -----
    A slurry keeps the activity of saturation while solid salt is left; diluted, 1 - aw falls with
    the salt per water (assumed). Glycerol and water as ``glycerol_water_activity``, at any share.

    References
    ----------
    Raoult's law, with the slope that saturation gives it: assumed.

    Examples
    --------
    200 g of 75 % glycerol that gave 8 g of water:

    >>> print(f"{bath_activity(GlycerolBath(0.15, 0.05), 298.15, 0.008):.3f}")
    0.529
    """
    t = kelvin("t", t)
    water = above_zero("water", bath.water, "kg")
    water = inside("water left", water - np.asarray(given, float), 0.0, np.inf, "kg")
    if isinstance(bath, GlycerolBath):
        glycerol = above_zero("glycerol", bath.glycerol, "kg")
        return glycerol_water_activity(glycerol / (glycerol + water), t, check=False)
    saturated = fraction("a_water", bath.a_water)
    salt = inside("salt", bath.salt, 0.0, np.inf, "kg")
    full = salt / above_zero("solubility", bath.solubility, "kg/kg")
    dilution = np.minimum(full / np.maximum(water, 1e-12), 1.0)
    return (1.0 - (1.0 - saturated) * dilution)[()]


def jar_conductances(
    jar: Jar, pellet: Pellet, dry_mass: Any, *, check: bool = True
) -> tuple[Any, Any]:
    """Vapor that air passes per difference of water activity: over the bath, and in the bed.

    Parameters
    ----------
    jar : Jar
        The jar. [SI]
    pellet : Pellet
        One of its pellets. [SI]
    dry_mass : float or array, shape (...)
        All of them, without their water. [kg]
    check : bool, optional
        Warn where the air is used outside its range. [-]

    Returns
    -------
    gap : float or array, shape (...)
        From the bath across the air to the bed. [kg/s]
    bed : float or array, shape (...)
        From the top of the bed to the skins of the pellets. [kg/s]

    Raises
    ------
    ValueError
        A mass, size or factor not above 0, a temperature in °C.

    Notes
    -----
    The air passes the narrower of bath and bed. A third of the bed's depth stands for the way
    through its voids, right for a bed that takes up evenly; round each pellet lies air as thick as
    its radius (Sherwood number 2).

    References
    ----------
    W. J. Massman, Atmos. Environ. 32 (1998) 1111 (vapor in air). The rest: assumed, as said at
    each number of `Jar`.

    Examples
    --------
    60 cm² of slurry under 5 cm of air pass about 6 g a day and unit of activity:

    >>> jar = Jar(slurry_area=60e-4, bed_area=60e-4, gap=0.05, bed_depth=0.025, t=298.15)
    >>> pellet = Pellet("sphere", 1.5e-3, 1350.0, 2e-12, lambda x: x / 0.2)
    >>> gap, _ = jar_conductances(jar, pellet, 0.095)
    >>> print(f"{1e3 * 86400 * gap:.1f} g")
    6.1 g
    """
    t = kelvin("t", jar.t)
    slurry, bed_area = (above_zero(n, getattr(jar, n), "m2") for n in ("slurry_area", "bed_area"))
    depth = above_zero("bed_depth", jar.bed_depth, "m")
    gap = still_air_conductance(
        np.minimum(slurry, bed_area), above_zero("gap", jar.gap, "m"), t, check=check
    )
    through = still_air_conductance(bed_area, depth / 3.0, t, check=False)
    area = pellet.area * above_zero("dry_mass", dry_mass, "kg")
    film = still_air_conductance(area, pellet.half, t, check=False)
    through = through * above_zero("voids", jar.voids, "(a factor)")
    convection = above_zero("convection", jar.convection, "(a factor)")
    return gap * convection, 1.0 / (1.0 / through + 1.0 / film)


def bath_cooling(jar: Jar) -> tuple[Any, Any]:
    """What a bath loses by the heat of the water that leaves it: kelvin, and with them activity.

    Parameters
    ----------
    jar : Jar
        The jar. [SI]

    Returns
    -------
    colder : float or array, shape (...)
        By how much the bath is colder than the jar, per flow of vapor. [K s/kg]
    fall : float or array, shape (...)
        By how much that lowers the logarithm of its activity. [s/kg]

    Raises
    ------
    ValueError
        An area or heat transfer not above 0, a temperature in °C.

    Notes
    -----
    The latent heat over the heat that reaches the slurry; both at the temperature of the jar, good
    for a few kelvin.

    References
    ----------
    Latent heat of water, a straight line from memory; heat transfer assumed.

    Examples
    --------
    >>> jar = Jar(slurry_area=60e-4, bed_area=60e-4, gap=0.05, bed_depth=0.025, t=298.15)
    >>> colder, fall = bath_cooling(jar)
    >>> flow = 3e-3 / 86400
    >>> print(f"{colder * flow:.1f} K and {100 * fall * flow:.0f} % at 3 g a day")
    1.0 K and 6 % at 3 g a day
    """
    t = kelvin("t", jar.t)
    latent = 2.501e6 - 2361.0 * (t - 273.15)  # J/kg, from memory
    heat = above_zero("heat_transfer", jar.heat_transfer, "W/m2/K")
    colder = latent / (heat * above_zero("slurry_area", jar.slurry_area, "m2"))
    above, below = (water_saturation_pressure(t + half, check=False) for half in (0.5, -0.5))
    return colder, np.log(above / below) * colder
