"""Crossings of many margins at once, against brentq one by one and against laws solved by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from moldwin.physics import viscosity
from moldwin.stages.melting import LOW_LIMITS
from moldwin.window.edges import crossing
from moldwin.window.solve import solve_edges
from tests.jobs import BAR, setup_of

#: The same examples every time, however slow the machine.
_STEADY = settings(deadline=None, derandomize=True)

LOW, HIGH = 303.15, 573.15


def counted(margin):
    """The margin, and a list that grows by the number of places at each call."""
    calls = []

    def counting(t, *args):
        calls.append(np.size(t))
        return margin(t, *args)

    return counting, calls


def fill(t, level, activation, tg, n):
    """A melt's own law from Tg + 50 K on, below it Williams-Landel-Ferry to its index: a kink."""
    join = tg + viscosity.WLF_REACH
    stiffer = n * viscosity.wlf_below_reach(np.maximum(join - t, 0.0))
    return level - activation / np.maximum(t, join) - stiffer


def fills(count):
    rng = np.random.default_rng(11)
    tg = rng.normal(335.0, 12.0, count)
    activation = 5000.0 * np.exp(0.2 * rng.normal(size=count))
    level = activation / (tg + rng.uniform(20.0, 110.0, count))
    return level, activation, tg, rng.uniform(0.2, 0.7, count)


# ------------------------------------------------------------------ the answer


@pytest.mark.parametrize("sign", [1.0, -1.0], ids=["rising", "falling"])
@pytest.mark.parametrize("pole", ["none", "arrhenius", "wlf"])
def test_as_brentq_finds_them_one_by_one(sign, pole):
    args = fills(300)
    straight = {"none": None, "arrhenius": 0.0, "wlf": args[2] - 51.6}[pole]
    found = solve_edges(lambda t, *a: sign * fill(t, *a), LOW, HIGH, args=args, straight=straight)
    alone = [brentq(fill, LOW, HIGH, args=one, xtol=1e-12) for one in zip(*args, strict=True)]
    assert np.max(np.abs(found - alone)) <= 1e-8


def test_a_law_solved_by_hand():
    strength = np.linspace(9.5, 16.0, 40)
    found = solve_edges(lambda t, s: s - 5000.0 / t, LOW, HIGH, args=(strength,), straight=0.0)
    assert np.max(np.abs(found - 5000.0 / strength)) <= 1e-8


@_STEADY
@given(
    places=st.lists(st.floats(LOW, HIGH), min_size=1, max_size=6),
    power=st.sampled_from([1 / 9, 1 / 3, 1.0, 3.0, 9.0]),
    pole=st.sampled_from([None, 0.0, 250.0, 302.0, 600.0, 400.0]),
    sign=st.sampled_from([-1.0, 1.0]),
)
def test_steep_and_flat_crossings_are_caught_between_two_signs(places, power, pole, sign):
    places = np.array(places)

    def margin(t):
        return sign * np.sign(t - places) * np.abs(t - places) ** power

    found = solve_edges(margin, LOW, HIGH, straight=pole)
    # a power of nine is 0 in floating point some way off its crossing, but never 1e-8 K off
    assert np.all(np.abs(found - places) <= 1e-8)
    assert np.all((found >= LOW) & (found <= HIGH))


@pytest.mark.parametrize("tolerance", [1e-2, 1e-5, 1e-8, 1e-11])
def test_the_margin_changes_sign_within_the_tolerance(tolerance):
    args = fills(200)
    found = solve_edges(fill, LOW, HIGH, args=args, tolerance=tolerance)
    assert np.all(fill(found - tolerance, *args) <= 0)
    assert np.all(fill(found + tolerance, *args) >= 0)


def test_a_tolerance_finer_than_the_numbers_ends_all_the_same():
    found = solve_edges(lambda t: t * t - 2.0, 0.0, 2.0, tolerance=1e-300)
    assert found == pytest.approx(np.sqrt(2.0), abs=4e-15)


def test_a_jump_across_zero_is_found():
    places = np.array([310.0, 420.5, 573.0])
    found = solve_edges(lambda t: np.where(t < places, -1.0, 1.0), LOW, HIGH)
    assert np.max(np.abs(found - places)) <= 1e-8


def test_flat_stretches_beside_the_crossing_do_not_mislead():
    places = np.linspace(304.0, 572.0, 50)
    found = solve_edges(lambda t: np.clip(t - places, -0.01, 0.01), LOW, HIGH)
    assert np.max(np.abs(found - places)) <= 1e-8


def test_a_stretch_of_zeros_gives_a_place_on_it():
    def margin(t):
        return np.where(t < 400.0, t - 400.0, np.maximum(t - 450.0, 0.0))

    assert 400.0 - 1e-8 <= solve_edges(margin, LOW, HIGH) <= 450.0 + 1e-8


def test_one_of_several_crossings():
    found = solve_edges(lambda t: np.sin(t / 10.0), 10.0, 35.0 * np.pi)
    assert abs(np.sin(found / 10.0)) <= 1e-9


def test_infinite_margins_have_a_sign_and_no_line():
    ends = solve_edges(lambda t: np.log(np.maximum(t - 350.0, 0.0) / 40.0 + 1e-320), LOW, HIGH)
    assert ends == pytest.approx(390.0, abs=1e-8)

    def walls(t):
        return np.where(t < 400.0, -np.inf, np.inf)

    assert solve_edges(walls, LOW, HIGH) == pytest.approx(400.0, abs=1e-8)


@pytest.mark.parametrize("name", ["weld", "browning", "heater", "fumes"])
def test_a_barrel_limit_as_the_grid_of_the_window_has_it(name):
    """Every sample at a set point of its own, against straight lines on a grid of 5 K."""
    barrel = setup_of(BAR, count=128)._stages(0.12)[1]
    soak, at = np.array([300.0]), np.arange(283.15, 563.16, 5.0)

    def margin(t):
        return np.broadcast_to(barrel.margins(t, soak)[name], (1, 1, 128))

    found = solve_edges(margin, np.full((1, 1, 128), at[0]), at[-1])[0, 0]
    side = "low" if name in LOW_LIMITS else "high"
    whole = np.broadcast_to(barrel.margins(at, soak)[name], (len(at), 1, 128))
    assert found == pytest.approx(crossing(at, whole[:, 0], side), abs=0.05)


# ------------------------------------------------------------------ no crossing


def test_without_a_crossing_the_ends_say_on_which_side_it_lies():
    places = np.array([200.0, 400.0, 700.0])
    rising = solve_edges(lambda t: t - places, LOW, HIGH)
    falling = solve_edges(lambda t: places - t, LOW, HIGH)
    assert rising == pytest.approx([-np.inf, 400.0, np.inf], abs=1e-8)
    assert falling == pytest.approx([-np.inf, 400.0, np.inf], abs=1e-8)


@pytest.mark.parametrize("side", ["low", "high"])
def test_a_margin_that_says_nothing_is_read_as_on_the_grid(side):
    at = np.linspace(LOW, HIGH, 5)
    flat = np.array([2.0, -2.0, np.inf, -np.inf])
    found = solve_edges(lambda t: flat + 0.0 * t, LOW, HIGH, side=side)
    assert found.tolist() == crossing(at, np.broadcast_to(flat, (5, 4)), side).tolist()


def test_an_exact_zero_at_an_end_is_the_answer():
    assert solve_edges(lambda t: t - LOW, LOW, HIGH) == LOW
    assert solve_edges(lambda t: t - HIGH, LOW, HIGH) == HIGH
    assert solve_edges(lambda t: LOW - t, LOW, HIGH, straight=0.0) == LOW
    assert solve_edges(lambda t: 0.0 * t, LOW, HIGH) == LOW


# ------------------------------------------------------------------ NaN


def test_nan_stays_nan_and_harms_no_neighbor():
    strength = np.array([12.0, np.nan, 14.0])
    found = solve_edges(lambda t, s: s - 5000.0 / t, LOW, HIGH, args=(strength,))
    assert np.isnan(found[1])
    assert found[[0, 2]] == pytest.approx([5000.0 / 12.0, 5000.0 / 14.0], abs=1e-8)


def test_nan_met_on_the_way_is_not_talked_over():
    def margin(t):
        return np.where((t > LOW) & (t < HIGH), np.nan, t - 400.0)

    assert np.isnan(solve_edges(margin, LOW, HIGH))


def test_nan_ends_give_nan():
    low = np.array([np.nan, LOW])
    assert np.isnan(solve_edges(lambda t: t - 400.0, low, HIGH)).tolist() == [True, False]
    poles = np.array([np.nan, 0.0])
    found = solve_edges(lambda t: t - 400.0, LOW, HIGH, straight=poles)
    assert found[1] == pytest.approx(400.0, abs=1e-8)


# ------------------------------------------------------------------ shapes


def test_a_scalar_is_as_an_array():
    args = fills(5)
    together = solve_edges(fill, LOW, HIGH, args=args, straight=args[2] - 51.6)
    for i, one in enumerate(zip(*args, strict=True)):
        alone = solve_edges(fill, LOW, HIGH, args=one, straight=one[2] - 51.6)
        assert np.shape(alone) == ()
        assert alone == pytest.approx(together[i], abs=1e-8)


def test_samples_known_to_the_margin_alone_are_as_those_handed_over():
    args = fills(70)
    held = solve_edges(lambda t: fill(t, *args), LOW, HIGH)
    assert held.shape == (70,)
    assert held.tolist() == solve_edges(fill, LOW, HIGH, args=args).tolist()


def test_any_shape_and_ends_of_their_own():
    places = np.linspace(350.0, 500.0, 24).reshape(2, 1, 12)
    low = np.array([310.0, 320.0])[:, None, None]
    found = solve_edges(lambda t: t**3 - places**3, low, places + 40.0)
    assert found.shape == (2, 1, 12)
    assert np.max(np.abs(found - places)) <= 1e-8


def test_more_samples_than_one_block_and_none_at_all():
    strength = np.linspace(9.5, 16.0, 70_001)
    found = solve_edges(lambda t, s: s - 5000.0 / t, LOW, HIGH, args=(strength,))
    assert np.max(np.abs(found - 5000.0 / strength)) <= 1e-8
    assert solve_edges(lambda t, s: t - s, LOW, HIGH, args=(np.empty(0),)).shape == (0,)


def test_a_margin_that_is_one_number_for_all_samples():
    ends = np.full(3, HIGH)
    assert solve_edges(lambda t: 1.0, LOW, ends).tolist() == [-np.inf] * 3


# ------------------------------------------------------------------ what it costs


def test_a_law_straight_in_the_given_variable_takes_four_places_a_sample():
    tg = np.linspace(300.0, 352.0, 2000)
    level = 14.0

    def margin(t, tg):
        return 40.0 * (t - tg) / (51.6 + t - tg) - level

    counting, calls = counted(margin)
    pole = tg - 51.6
    found = solve_edges(counting, LOW, HIGH, args=(tg,), straight=pole)
    assert np.max(np.abs(found - (tg + level * 51.6 / (40.0 - level)))) <= 1e-8
    # both ends, the place itself, and one on the other side of it
    assert sum(calls) <= 4.1 * len(tg)
    bent, places = counted(margin)
    solve_edges(bent, LOW, HIGH, args=(tg,))
    assert sum(places) > 1.5 * sum(calls)


def test_found_samples_cost_nothing_more():
    args = (*fills(2000)[:3], np.ones(2000))  # the sharpest kink, and the most unequal samples
    counting, calls = counted(fill)
    solve_edges(counting, LOW, HIGH, args=args, straight=args[2] - 51.6)
    assert calls[-1] < 200
    assert sum(calls) < 0.7 * len(calls) * 2000


def test_no_margin_makes_it_run_much_longer_than_halving():
    def crooked(t):
        return np.sign(t - 303.2) * np.where(t > 303.2, 1e30, 1e-30)

    counting, calls = counted(crooked)
    assert solve_edges(counting, LOW, HIGH) == pytest.approx(303.2, abs=1e-8)
    halvings = np.log2((HIGH - LOW) / 1e-8)
    assert len(calls) < halvings + 20


# ------------------------------------------------------------------ what is refused


@pytest.mark.parametrize(
    ("low", "high"), [(400.0, 300.0), (300.0, 300.0), (-np.inf, 300.0), (300.0, np.inf)]
)
def test_ends_that_are_no_bracket_are_refused(low, high):
    with pytest.raises(ValueError, match="low must be finite and below high"):
        solve_edges(lambda t: t - 350.0, low, high)


@pytest.mark.parametrize("tolerance", [0.0, -1e-8, float("nan")])
def test_a_tolerance_must_be_above_zero(tolerance):
    with pytest.raises(ValueError, match="tolerance must be above 0"):
        solve_edges(lambda t: t - 350.0, LOW, HIGH, tolerance=tolerance)


def test_an_unknown_side_is_refused():
    with pytest.raises(ValueError, match="side must be 'low' or 'high'"):
        solve_edges(lambda t: t - 350.0, LOW, HIGH, side="left")
