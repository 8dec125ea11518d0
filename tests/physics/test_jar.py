"""Jars: water kept, closed forms where one resistance rules, known figures of real jars."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics.diffusion import still_air_conductance
from moldwin.physics.humidity import salt_water_activity
from moldwin.physics.jar import jar_course
from moldwin.physics.jar_parts import GlycerolBath, SaltBath, jar_conductances
from moldwin.physics.pellet import DenseStarch, ExponentialDiffusivity, Pellet
from moldwin.physics.sorption import gab
from moldwin.physics.uptake import first_time, uptake_curve
from tests.physics.jars import (
    BATHS,
    DAY,
    DRY_MASS,
    FIVE,
    ISOTHERMS,
    TWELVE,
    T,
    isotherm,
    jar,
    pellets,
    water,
)

# -- water is kept -------------------------------------------------------------------------------


@pytest.mark.parametrize("bath", BATHS, ids=str)
@pytest.mark.parametrize("opened", [(), ((2 * DAY, 2 * DAY + 900.0),)], ids=["closed", "opened"])
def test_water_that_leaves_one_place_arrives_in_the_next(bath, opened):
    rng = np.random.default_rng(1)
    law = DenseStarch(T, np.exp(rng.normal(0.0, 1.4, 40)))
    start = rng.uniform(0.02, 0.2, 40)
    course = jar_course(
        np.linspace(0.0, 40.0, 81) * DAY,
        start,
        pellets(law),
        DRY_MASS,
        jar(gap=0.05 * np.exp(rng.normal(0.0, 0.3, 40))),
        bath,
        lid_open=opened,
        a_room=0.45,
        check=False,
    )
    total = water(course)
    assert np.isfinite(total).all()
    assert total == pytest.approx(total[:, :1] + 0 * total, rel=1e-10)
    assert np.all((course.lost == 0.0).all() if not opened else (course.lost[:, -1] != 0.0).all())


# -- where one thing rules -----------------------------------------------------------------------


def test_air_alone_is_one_exponential():
    """Fast pellets with a straight isotherm, no cooling, no bed: x - x_end falls by e per tau."""
    pellet = Pellet("sphere", 1.5e-3, 1300.0, 1e-8, lambda x: 5.0 * x)
    course = jar_course(
        np.linspace(0.0, 30.0, 16) * DAY,
        FIVE,
        pellet,
        DRY_MASS,
        jar(bed_depth=1e-6, heat_transfer=1e9),
        SaltBath(0.7, 0.1),
    )
    film = still_air_conductance(3.0 * DRY_MASS / (1.5e-3 * 1300.0), 1.5e-3, T)
    held = DRY_MASS / 5.0 + 0.0230 * 60e-4 * 0.05  # by pellets, and by air at saturation
    tau = held * (1.0 / still_air_conductance(60e-4, 0.05, T) + 1.0 / film)
    left = (course.mean - 0.14) / (FIVE - 0.14)
    assert left == pytest.approx(np.exp(-course.times / tau), abs=1e-4)


def test_bed_and_convection_act_as_resistances_in_series():
    """Over a straight isotherm the time constant is capacity over conductance."""
    pellet = Pellet("sphere", 1.5e-3, 1300.0, 1e-8, lambda x: 5.0 * x)
    own = jar(bed_depth=0.03, convection=2.0, heat_transfer=1e9)
    times = np.array([0.0, 20.0]) * DAY
    course = jar_course(times, FIVE, pellet, DRY_MASS, own, SaltBath(0.7, 0.1))
    through = 0.27 * still_air_conductance(60e-4, 0.01, T)
    over = 2.0 * still_air_conductance(60e-4, 0.05, T)
    tau = DRY_MASS / 5.0 * (1 / through + 1 / over)
    rate = -np.log((course.mean[1] - 0.14) / (FIVE - 0.14)) / times[1]
    assert rate * tau == pytest.approx(1.0, abs=0.02)  # films and air's own water: 1 to 2 %


def test_the_pellet_alone_is_an_uptake_curve():
    """A wide, near bath and a thin layer: the air of the jar stands still at the bath's."""
    law = ExponentialDiffusivity(1e-12, 20.0, 0.1)
    times = np.array([0.3, 1.0, 3.0, 8.0]) * DAY
    near = jar(slurry_area=50.0, bed_area=50.0, gap=1e-4, bed_depth=1e-5, heat_transfer=1e6)
    course = jar_course(times, FIVE, pellets(law), DRY_MASS, near, SaltBath(0.6, 1.0))
    film = still_air_conductance(1.0, 1.5e-3, T)  # air as thick as the radius
    free = uptake_curve(times, FIVE, 0.6, pellets(law), film)
    assert course.mean == pytest.approx(free.mean, abs=2e-4 * 0.08)
    assert course.air == pytest.approx(0.6, abs=2e-3)


def test_a_hundredfold_finer_course_is_the_same():
    times = np.array([1.0, 3.0, 9.0, 27.0]) * DAY
    for bath in (BATHS[0], BATHS[1], BATHS[3]):
        usual, fine = (
            jar_course(
                times, FIVE, pellets(), DRY_MASS, jar(), bath, accuracy=accuracy, check=False
            )
            for accuracy in (1e-4, 1e-6)
        )
        assert usual.mean == pytest.approx(fine.mean, abs=1e-4 * 0.12)


# -- figures known from elsewhere ----------------------------------------------------------------


@pytest.mark.parametrize("name", ISOTHERMS)
def test_a_hundred_grams_take_a_week_or_two(name):
    """5 to 12 %, 60 cm² under 5 cm at 25 °C, without a bed: 90 % in 7-12, 99 % in 13-26 days.

    The figures are for 2 to 3 g/day at the start; isotherms on either side reach down to 6 days.
    """
    humid = float(isotherm(name)(TWELVE))
    times = np.linspace(0.0, 60.0, 601) * DAY
    bath = SaltBath(humid, 0.1)
    course, bedded = (
        jar_course(times, FIVE, pellets(1e-9, name), DRY_MASS, jar(bed_depth=depth), bath)
        for depth in (1e-5, 0.0256)
    )
    ninety, most = (
        float(first_time(times, course.mean, FIVE + share * (TWELVE - FIVE))) / DAY
        for share in (0.9, 0.99)
    )
    assert 6.5 < ninety < 12
    assert 13 < most < 26
    first = DRY_MASS * (course.mean[10] - FIVE) * 1e3
    assert 2.0 < first < 3.0  # g in the first day
    slower = first_time(times, bedded.mean, FIVE + 0.9 * (TWELVE - FIVE)) / DAY
    assert 1.3 * ninety < slower < 2 * ninety


def test_the_slurry_cools_itself():
    """0.7 to 1 K while it gives 2 to 3 g/day, which costs 4 to 6 % of its humidity."""
    bath = SaltBath(float(isotherm()(TWELVE)), 0.1)
    course, warm = (
        jar_course([0.5 * DAY, DAY], FIVE, pellets(1e-9), DRY_MASS, jar(bed_depth=1e-5, **h), bath)
        for h in ({}, {"heat_transfer": 1e9})
    )
    assert 0.7 < course.cooling[0] < 1.0
    assert warm.cooling[0] < 1e-6
    slowed = (course.mean[1] - FIVE) / (warm.mean[1] - FIVE)
    assert 0.90 < slowed < 0.97
    drying = jar_course([DAY], 0.2, pellets(1e-9), DRY_MASS, jar(), SaltBath(0.33, 0.1))
    assert drying.cooling[0] < 0  # it condenses there


def test_a_fan_over_a_thin_layer_takes_hours():
    """2 mm deep, 3 mm of air over it, as much slurry as bed: the pellet is what is waited for."""
    bath = SaltBath(float(isotherm()(TWELVE)), 0.1)
    times = np.linspace(0.0, 30.0, 601) * DAY
    spread = jar(slurry_area=0.077, bed_area=0.077, gap=0.003, bed_depth=0.002)
    goal = FIVE + 0.9 * (TWELVE - FIVE)
    fast, slow = (
        first_time(times, jar_course(times, FIVE, pellets(1e-9), DRY_MASS, own, bath).mean, goal)
        for own in (spread, jar())
    )
    assert fast < 0.3 * DAY
    assert slow > 7 * DAY
    inside = first_time(
        times, jar_course(times, FIVE, pellets(), DRY_MASS, spread, bath).mean, goal
    )
    assert inside > 4 * fast


def test_a_thick_bar_takes_over_a_month():
    """4 mm, 1e-12 m²/s, in any jar."""
    bar = Pellet("slab", 2e-3, 1300.0, 1e-12, isotherm())
    times = np.linspace(0.0, 120.0, 241) * DAY
    near = jar(slurry_area=0.077, bed_area=0.077, gap=0.003, bed_depth=0.004)
    bath = SaltBath(float(isotherm()(TWELVE)), 0.1)
    course = jar_course(times, FIVE, bar, DRY_MASS, near, bath)
    assert first_time(times, course.mean, FIVE + 0.9 * (TWELVE - FIVE)) > 35 * DAY
    assert course.skin[20] - course.heart[20] > 0.03


def test_a_wetter_source_is_faster_to_the_same_mass():
    """99 % of the way to 12 % without a bed: salt 5 days, potassium chloride 3.6, water 2.5."""
    times = np.linspace(0.0, 40.0, 1601) * DAY
    goal = FIVE + 0.99 * (TWELVE - FIVE)
    sources = [salt_water_activity("NaCl", T), salt_water_activity("KCl", T), 1.0]
    days = [
        float(
            first_time(
                times,
                jar_course(
                    times, FIVE, pellets(1e-9), DRY_MASS, jar(bed_depth=1e-5), SaltBath(a, 0.2)
                ).mean,
                goal,
            )
        )
        / DAY
        for a in sources
    ]
    assert days == pytest.approx([5.0, 3.6, 2.5], rel=0.2)
    assert days[0] > days[1] > days[2]


# -- what goes in and comes out ------------------------------------------------------------------


def test_opening_the_lid_lets_water_out():
    times = np.linspace(0.0, 6.0, 121) * DAY
    calls = [(), ((2 * DAY, 2.2 * DAY),)]
    closed, opened = (
        jar_course(
            times, FIVE, pellets(), DRY_MASS, jar(), BATHS[1], lid_open=lid, a_room=0.3, check=False
        )
        for lid in calls
    )
    before, during = times < 2 * DAY, (times > 2.01 * DAY) & (times < 2.19 * DAY)
    assert opened.mean[before] == pytest.approx(closed.mean[before], abs=1e-6)
    assert np.all(opened.air[during] < closed.air[during] - 0.1)
    assert opened.lost[-1] > 1e-5
    assert opened.mean[-1] < closed.mean[-1]
    assert np.ptp(opened.lost[times > 2.3 * DAY]) < 1e-12


def test_air_starts_in_balance_with_the_pellets():
    course = jar_course([0.0, 60.0, DAY], FIVE, pellets(), DRY_MASS, jar(), BATHS[1])
    assert course.air[0] == pytest.approx(isotherm()(FIVE), abs=1e-4)
    assert course.bath_water[0] == pytest.approx(0.05, rel=1e-12)
    assert course.air[1] > course.air[0]
    volume = 60e-4 * (0.05 + 0.4 * 0.0256)
    assert course.air_water[0] == pytest.approx(0.0230 * volume * course.air[0], rel=0.01)


def test_array_is_scalar_after_scalar():
    start = np.array([[FIVE], [0.18]])
    gap = np.array([0.02, 0.05, 0.1])
    factor = np.array([0.3, 1.0, 3.0])
    times = np.array([1.0, 5.0]) * DAY

    def run(start, gap, factor):
        law = DenseStarch(T, factor)
        return jar_course(
            times,
            start,
            pellets(law),
            DRY_MASS,
            jar(gap=gap),
            GlycerolBath(0.15, 0.05),
            check=False,
        )

    together = run(start, gap, factor)
    assert together.mean.shape == (2, 3, 2)
    for i in range(2):
        for j in range(3):
            alone = run(start[i, 0], gap[j], factor[j])
            assert alone.mean.shape == (2,)
            assert together.mean[i, j] == pytest.approx(alone.mean, abs=1e-4 * 0.15)
            assert together.bath_water[i, j] == pytest.approx(alone.bath_water, abs=2e-6)


def test_nan_in_nan_out():
    course = jar_course([DAY], FIVE, pellets(), [DRY_MASS, np.nan], jar(), BATHS[1])
    assert np.isnan(course.mean[:, 0]).tolist() == [False, True]
    assert np.isnan(course.air[1, 0])


def test_warns_of_what_it_extrapolates():
    with pytest.warns(OutOfRangeWarning, match="dense_starch"):
        jar_course([DAY], FIVE, pellets(DenseStarch(T)), DRY_MASS, jar(), BATHS[1])


def call(lid=(), room=None, bath=BATHS[1], mass=DRY_MASS, **changes):
    return jar_course([DAY], FIVE, pellets(), mass, jar(**changes), bath, lid_open=lid, a_room=room)


@pytest.mark.parametrize(
    ("refused", "match"),
    [
        (lambda: call(lid=[(0.0, 1.0)]), "a_room"),
        (lambda: call(lid=[(2.0, 1.0)], room=0.4), "lid_open"),
        (lambda: call(lid=[(2.0,)], room=0.4), "lid_open"),
        (lambda: call(room=40.0), "percentage"),
        (lambda: call(t=25.0), "°C"),
        (lambda: call(gap=0.0), "gap"),
        (lambda: call(mass=0.0), "dry_mass"),
        (lambda: call(bath=SaltBath(0.75, 0.0)), "water"),
        (lambda: call(bath=SaltBath(75.0, 0.1)), "a_water"),
        (lambda: call(bath=SaltBath(0.75, 0.1, -1.0)), "salt"),
        (lambda: call(bath=GlycerolBath(0.0, 0.1)), "glycerol"),
        (lambda: call(air_volume=0.0), "air_volume"),
    ],
)
def test_refuses_the_impossible(refused, match):
    with pytest.raises(ValueError, match=match):
        refused()


def test_the_driest_end_of_gab_is_reached():
    """Plain water at one side: pellets run up to the activity they can have, and no further."""
    course = jar_course([300 * DAY], FIVE, pellets(1e-10), DRY_MASS, jar(), SaltBath(0.9, 1.0))
    assert course.mean[0] == pytest.approx(gab(0.9, *ISOTHERMS["rice"]), rel=2e-3)


def test_air_beyond_what_its_diffusivity_is_known_for_is_warned_of_in_a_direct_call():
    hot = jar(t=470.0)
    with pytest.warns(OutOfRangeWarning):
        told = jar_conductances(hot, pellets(), DRY_MASS)
    assert jar_conductances(hot, pellets(), DRY_MASS, check=False) == told
