"""One stage of pellet and jar: its balance of water, and what the baths in it do."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics._grid import graded
from moldwin.physics._laws import ExponentialLaw
from moldwin.physics._stepper import Body, _sweep
from moldwin.physics._surface import ActivityTable, OpenAir, activity_nodes
from moldwin.physics._vessel import Ending, GlycerolWater, JarAir, SaltWater
from moldwin.physics.sorption import gab_water_activity

T = 298.15


def isotherm(x):
    return gab_water_activity(x, 0.0743, 26.87, 0.7842, check=False)


def test_the_books_of_one_stage_balance_before_they_are_mended():
    """The lines a stage is solved on: what leaves the pellets is what air, bath and room gain."""
    rng = np.random.default_rng(2)
    n = 50
    low, high = np.full(n, 0.02), np.full(n, 0.2)
    table = ActivityTable.over(low, high, isotherm(activity_nodes(low, high)))
    one = np.ones(n)
    for bath in (
        SaltWater(0.753 * one, np.inf * one),
        SaltWater(0.753 * one, 0.5 * one),
        GlycerolWater(0.8 * one, T * one),
        Ending.of(SaltWater(0.753 * one, np.inf * one), one, rng.uniform(-0.2, 2.0, n)),
    ):
        air = JarAir(
            table, bath, *rng.uniform(1e-7, 1e-5, (3, n)), 0.4 * one, 1e5 * one, 2e-5 * one
        )
        z = np.stack([1e-5 * one, rng.uniform(0.1, 1.0, n), 0 * one])
        rest = z * rng.uniform(0.9, 1.1, z.shape)
        gh = np.exp(rng.uniform(-2, 12, n))
        w, slope = rng.uniform(0.1, 2.0, n), rng.uniform(0.05, 0.2, n)
        out_slope, out_const, z0, z1 = air.line(
            rng.uniform(0.03, 0.18, n), w, slope, z, rest, gh, 0.0
        )
        gained = (z0 + z1 * w - rest).sum(axis=0)
        assert gained == pytest.approx(gh * (out_slope * w + out_const), rel=1e-9, abs=1e-13)


def test_one_stage_of_the_pellet_balances_to_rounding():
    rng = np.random.default_rng(3)
    n, grid = 40, graded(3.0, 24, 3.0)
    low, high = np.full(n, 0.02), np.full(n, 0.2)
    law = ExponentialLaw.over(low, high, 1e-12 * np.ones(n), rng.uniform(-10, 20, n), low)
    table = ActivityTable.over(low, high, isotherm(activity_nodes(low, high)))
    air = OpenAir(table, rng.uniform(1e-6, 1e-4, n), rng.uniform(0.2, 0.7, n), np.zeros(n), 0.0)
    pace = law.rate / 1e-6
    body = Body(grid, law, air, pace, np.abs(law.scale) * 0.18, np.array([0]), 0.0)
    rest = law.scale * (rng.uniform(0.05, 0.15, (25, n)) - law.origin)
    w = law.potential(law.scale * (rng.uniform(0.08, 0.12, (25, n)) - law.origin))
    gh = 1e-2 / pace
    z = np.zeros((0, n))
    weight = grid.volume * grid.unit / (gh * pace)
    y, solved, _, _ = _sweep(body, weight, rest, z, w, z, gh, np.zeros(n))
    at, slope = law.at(w)
    line = air.line(law.origin + at[1] / law.scale, w[1], slope[1] / law.scale, z, z, gh, 0.0)
    flow = law.scale * (line[0] * solved[1] + line[1])
    lost = -(grid.volume.T @ (y - rest))[0]
    assert lost == pytest.approx(gh * flow, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize(("mass", "ends"), [(0.1, 0.473), (0.2, 0.529), (0.5, 0.558)])
def test_how_far_a_glycerol_bath_drifts(mass, ends):
    """Known: 100, 200, 500 g of 75 % glycerol fall to these by giving 8 g."""
    bath = GlycerolWater(np.array([0.75 * mass]), np.array([T]))
    assert bath.at(np.array([0.25 * mass - 8e-3]))[0] == pytest.approx(ends, abs=2e-3)


def test_a_slurry_stays_while_salt_is_left():
    one = np.ones(4)
    slurry = SaltWater(0.753 * one, 2.0 * one)
    a, slope = slurry.at(np.array([0.1, 1.0, 1.99, 4.0]))
    assert a[:3] == pytest.approx(0.753, abs=1e-6)
    assert a[3] == pytest.approx(1 - 0.247 / 2)
    assert slope[3] == pytest.approx(
        (slurry.at(4.001 * one)[0] - slurry.at(3.999 * one)[0])[0] / 2e-3, rel=1e-3
    )


@pytest.mark.parametrize(("last", "end"), [(0.0, 0.0), (0.4, 0.0), (1.6, 1.0)])
def test_a_bath_fades_where_it_ends_and_is_itself_before(last, end):
    """Run dry, or taken out after giving: toward 0; taken out after taking: toward 1."""
    one = np.ones(1)
    bath = Ending.of(SaltWater(0.753 * one, np.inf * one), one, last * one)
    assert bath.at(one)[0] == pytest.approx(0.753)
    assert bath.at(last + 0.05 * (one - last))[0] == pytest.approx(0.753)
    assert bath.at(last * one)[0] == pytest.approx(end)
    near = last + np.array([0.0, 1e-4, 1e-3, 1e-2]) * (1.0 - last)
    faded = [float(bath.at(water * one)[0][0]) for water in near]
    assert np.all(np.diff(faded) > 0) if end == 0.0 else np.all(np.diff(faded) < 0)


@pytest.mark.parametrize("last", [0.0, 0.4, 1.6])
def test_the_slope_of_a_bath_is_that_of_its_activity(last):
    for water in last + np.array([-2e-4, 3e-4, 2e-3]) * (1.0 - last):
        at = np.array([water])
        bath = Ending.of(SaltWater(np.array([0.753]), np.array([0.5])), np.ones(1), last + 0 * at)
        step = 1e-9
        rise = (bath.at(at + step)[0] - bath.at(at - step)[0]) / (2 * step)
        assert bath.at(at)[1] == pytest.approx(rise, rel=1e-4)


def test_no_step_goes_past_the_end_of_a_bath():
    one = np.ones(3)
    bath = Ending.of(SaltWater(0.753 * one, np.inf * one), one, 0.5 * one)
    assert np.isinf(bath.longest(one, 1e-3 * one)).all()  # it gains: no end ahead
    at = np.array([1.0, 0.6, 0.5001])
    assert np.all(at - 1e-3 * bath.longest(at, -1e-3 * one) > 0.499)


@pytest.mark.parametrize("gap", [1e-9, 1e-6, 1e-3])
@pytest.mark.parametrize("bath", [0.9, 0.2, 0.0, -40.0])
def test_a_bath_that_cools_or_warms_itself_solves_its_own_equation(gap, bath):
    """The vapor that leaves lowers what drives it; a bath beyond its end has nothing to cool."""
    one = np.ones(1)
    table = ActivityTable.over(0.02 * one, 0.2 * one, isotherm(activity_nodes(0.02, 0.2 * one)))
    air = JarAir(table, None, 1e-6, gap, 0.0, 0.0, 4e4 * one, 1e-5)
    flow, by_air, by_bath = air.evaporation(0.5 * one, bath * one)
    fall = 4e4 * flow
    left = np.exp(-fall) if fall >= 0 else 1 - fall + fall**2 / 2
    assert flow == pytest.approx(gap * (bath * (left if bath > 0 else 1.0) - 0.5), rel=1e-5)
    step = 1e-6
    for slope, change in ((by_air, (step, 0.0)), (by_bath, (0.0, step))):
        if bath == 0.0 and slope is by_bath:
            continue  # a corner
        more = air.evaporation(0.5 * one + change[0], bath * one + change[1])[0]
        less = air.evaporation(0.5 * one - change[0], bath * one - change[1])[0]
        assert slope == pytest.approx((more - less) / (2 * step), rel=1e-3)
    assert by_bath > 0.0
