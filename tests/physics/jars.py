"""Jars, baths and pellets that the tests of jars share."""

from __future__ import annotations

from moldwin.physics.jar_parts import GlycerolBath, Jar, SaltBath
from moldwin.physics.pellet import Pellet
from moldwin.physics.sorption import gab_water_activity

DAY = 86400.0
T = 298.15
FIVE, TWELVE = 0.05 / 0.95, 0.12 / 0.88  # dry basis of 5 and 12 % wet basis
DRY_MASS = 0.095  # 100 g of pellets at 5 %
#: Rice starch, and two made-up isotherms on either side of it.
ISOTHERMS = {"rice": (0.0743, 26.87, 0.7842), "flat": (0.1, 20.0, 0.7), "bent": (0.06, 10.0, 0.85)}
BATHS = [
    GlycerolBath(0.075, 0.025),
    SaltBath(0.753, 0.05),
    SaltBath(0.753, 0.004),  # runs dry
    SaltBath(0.753, 0.05, 0.01, 0.36),  # salt all dissolved
    SaltBath(1.0, 0.1),  # plain water
    SaltBath(0.33, 0.02, 0.012, 0.55),  # dries the pellets and is diluted by them
]


def isotherm(name="rice"):
    return lambda x: gab_water_activity(x, *ISOTHERMS[name], check=False)


def pellets(diffusivity=2e-12, name="rice"):
    return Pellet("finite-cylinder", 1.5e-3, 1300.0, diffusivity, isotherm(name), 1.0)


def jar(**changes):
    usual = {"slurry_area": 60e-4, "bed_area": 60e-4, "gap": 0.05, "bed_depth": 0.0256, "t": T}
    return Jar(**(usual | changes))


def water(course, dry_mass=DRY_MASS):
    return dry_mass * course.mean + course.bath_water + course.air_water + course.lost
