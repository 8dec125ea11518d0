"""Baths of jars: how they drift, run dry, are taken out; and pellets sealed from then on."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.humidity import glycerol_water_activity
from moldwin.physics.jar import jar_course
from moldwin.physics.jar_parts import GlycerolBath, Jar, SaltBath
from moldwin.physics.pellet import DenseStarch, Pellet
from tests.physics.jars import (
    BATHS,
    DAY,
    DRY_MASS,
    FIVE,
    TWELVE,
    T,
    isotherm,
    jar,
    pellets,
    water,
)


def test_a_glycerol_bath_ends_where_its_water_and_the_pellets_agree():
    bath = GlycerolBath(0.15, 0.05)
    course = jar_course(np.array([0.0, 400.0]) * DAY, FIVE, pellets(1e-10), DRY_MASS, jar(), bath)
    low, high = FIVE, 0.2
    for _ in range(60):
        x = (low + high) / 2
        left = 0.05 - DRY_MASS * (x - FIVE)
        drier = isotherm()(x) < glycerol_water_activity(0.15 / (0.15 + left), T)
        low, high = (x, high) if drier else (low, x)
    assert course.mean[1] == pytest.approx(x, abs=2e-5)
    assert course.bath_activity[1] == pytest.approx(isotherm()(x), abs=2e-4)
    assert course.air[1] == pytest.approx(course.bath_activity[1], abs=2e-4)


def test_a_bath_that_runs_dry_gives_no_more_than_it_had():
    course = jar_course(
        np.linspace(0.0, 60.0, 61) * DAY,
        FIVE,
        pellets(1e-11),
        DRY_MASS,
        jar(),
        SaltBath(0.753, 0.004),
    )
    gained = DRY_MASS * (course.mean - FIVE)
    assert gained[-1] < 0.004
    assert gained[-1] > 0.98 * 0.004
    assert course.bath_water.min() > -1e-5 * 0.004
    assert course.skin.max() < 0.18


def test_a_bath_without_air_between_runs_dry_and_the_pellets_even_out():
    """Water misted on: it once stopped the solver. The end is by balance: all of it inside."""
    near = jar(gap=5e-5, bed_depth=1e-5, heat_transfer=1e4, air_volume=1e-4)
    times = np.concatenate([[0.0], DAY * np.geomspace(1e-3, 400.0, 60)])
    for given in (0.004, 0.024):
        course = jar_course(
            times, FIVE, pellets(2e-12), DRY_MASS, near, SaltBath(0.98, given), check=False
        )
        assert course.mean[-1] == pytest.approx(FIVE + given / DRY_MASS, rel=0.006)
        assert course.skin[-1] == pytest.approx(course.heart[-1], abs=1e-4)
        assert course.skin.max() > course.mean[-1] + 0.01
        assert np.all(np.diff(course.mean) > -1e-5)
        assert water(course) == pytest.approx(water(course)[0], rel=1e-10)


@pytest.mark.parametrize("law", [1e-10, 2e-12])
@pytest.mark.parametrize(
    ("bath", "start", "gives"),
    [(BATHS[1], FIVE, 0.004), (BATHS[0], FIVE, 0.002), (SaltBath(0.33, 0.02), TWELVE, -0.002)],
)
def test_a_bath_taken_out_gives_or_takes_what_it_should_and_no_more(law, bath, start, gives):
    times = np.concatenate([[0.0], DAY * np.geomspace(1e-2, 400.0, 200)])
    course = jar_course(times, start, pellets(law), DRY_MASS, jar(), bath, gives=gives, check=False)
    moved = DRY_MASS * (course.mean - start) / gives
    assert moved[-1] == pytest.approx(1.0, abs=0.005)
    assert moved.max() < 1.002
    free = jar_course(times, start, pellets(law), DRY_MASS, jar(), bath, check=False)
    early = moved < 0.95  # until then it makes no difference that it will be taken out
    assert course.mean[early] == pytest.approx(
        free.mean[early], abs=2e-4 * abs(gives) / DRY_MASS + 2e-5
    )
    assert course.skin[-1] == pytest.approx(course.heart[-1], abs=1e-4)
    assert water(course) == pytest.approx(water(course)[0], rel=1e-10)


@pytest.mark.parametrize(
    ("shape", "root"), [("slab", np.pi), ("cylinder", 3.831706), ("sphere", 4.493409)]
)
def test_sealed_pellets_even_out_at_the_slowest_rate_of_a_body_that_nothing_leaves(shape, root):
    """Roots of sin, J1 and tan m = m: the first overtone's, since nothing crosses the skin."""
    d, half = 2e-12, 1.5e-3
    pellet = Pellet(shape, half, 1300.0, d, isotherm("flat"))
    near = jar(gap=5e-5, bed_depth=1e-5, heat_transfer=1e4, air_volume=1e-6)
    fourier = np.array([0.15, 0.25, 0.35])
    times = np.concatenate([[0.0], fourier * half**2 / d])
    bath = SaltBath(0.9, 0.001)
    course = jar_course(times, FIVE, pellet, DRY_MASS, near, bath, accuracy=1e-6, check=False)
    apart = (course.skin - course.heart)[1:]
    rate = -np.diff(np.log(apart)) / np.diff(fourier)
    assert rate == pytest.approx(root**2, rel=0.02)


def test_baths_of_every_kind_run_dry_without_a_failure():
    """Extremes on purpose: gaps of 10 microns to 10 cm, 0.1 g of water to a kilogram."""
    rng = np.random.default_rng(1)
    n = 60

    def between(low, high):
        return np.exp(rng.uniform(np.log(low), np.log(high), n))

    times = np.concatenate([[0.0], DAY * np.geomspace(1e-3, 4000.0, 60)])
    for kind in range(6):
        law = DenseStarch(between(278, 313), between(0.05, 20))
        pellet = Pellet("sphere", between(1e-4, 5e-3), between(1000, 1500), law, isotherm())
        odd = Jar(
            *(between(*ends) for ends in ((1e-3, 0.1), (1e-3, 0.1), (1e-5, 0.1), (1e-4, 0.1))),
            between(278, 313),
            heat_transfer=between(5, 1e5),
        )
        mass, start = between(0.01, 1), rng.uniform(0.02, 0.3, n)
        gives = mass * rng.uniform(-0.2, 0.2, n) if kind % 2 else None
        bath = SaltBath(rng.uniform(0.05, 0.98, n), between(1e-4, 1))
        if kind > 3:
            bath = GlycerolBath(between(0.01, 1), between(0.01, 1))
        course = jar_course(
            times, start, pellet, mass, odd, bath, gives=gives, accuracy=1e-3, check=False
        )
        whole = water(course, mass[:, None])
        assert whole == pytest.approx(np.broadcast_to(whole[:, :1], whole.shape), rel=1e-10)
