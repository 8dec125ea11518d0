"""A short part: how far the front comes at too low a pressure."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.flow import constant_pressure_fill_time_ratio, power_law_slot
from moldwin.physics.short_shot import filled_share, pressure_margin, pressure_margin_slope


@pytest.mark.parametrize("n", [0.2, 0.4, 1.0])
def test_without_a_nozzle_it_is_the_power_one_plus_n(n):
    """The closed form for a plain channel: pressure for a length in a given time ~ L^(1+n)."""
    share = np.array([0.1, 0.5, 0.9])
    assert pressure_margin(share, n) == pytest.approx((1 + n) * np.log(share), rel=1e-6)


@pytest.mark.parametrize("n", [0.3, 0.7])
def test_pressure_of_a_slot_filled_in_a_given_time(n):
    """Independent: the slot law at its closing speed, with the fill time at constant pressure."""

    def needed(length: float, time: float) -> float:
        speed = length / time * constant_pressure_fill_time_ratio(n)
        return float(power_law_slot(1e4, n, speed * 0.01 * 0.002, 0.01, 0.002, length))

    ratio = needed(0.03, 10.0) / needed(0.075, 10.0)
    assert np.log(ratio) == pytest.approx(pressure_margin(0.4, n), rel=1e-9)


@pytest.mark.parametrize(("n", "before"), [(0.4, 0.3), (0.25, 2.0), (0.6, 0.05)])
def test_front_followed_in_small_steps(n, before):
    """Independent: the front stepped through nozzle and part at constant pressure."""
    x = np.linspace(0.0, 1.0, 400_001)
    slow = (before + x) ** (1.0 / n)  # time per length at unit pressure over consistency
    time = np.concatenate([[0.0], np.cumsum((slow[1:] + slow[:-1]) / 2 * np.diff(x))])
    # at a pressure exp(m) times lower the same time lets the front come where 'time' is smaller
    margin = -0.8
    share = np.interp(time[-1] * np.exp(margin / n), time, x)
    assert filled_share(margin, n, before) == pytest.approx(share, abs=1e-5)


def test_long_nozzle_leaves_the_flow_alone():
    """Behind a nozzle that takes all, the same time at p lets p^(1/n) through."""
    assert pressure_margin(0.5, 0.4, 1e4) == pytest.approx(0.4 * np.log(0.5), rel=1e-3)


def test_inverse_and_slope():
    share = np.linspace(0.03, 1.0, 30)
    n, before = np.linspace(0.15, 1.0, 30), np.geomspace(1e-3, 1e3, 30)
    margin = pressure_margin(share, n, before)
    assert filled_share(margin, n, before) == pytest.approx(share, rel=1e-9)
    step = 1e-6
    back = pressure_margin(share - step, n, before)
    slope = pressure_margin_slope(share - step / 2, n, before)
    assert (margin - back) / step == pytest.approx(slope, rel=1e-5)
    assert [pressure_margin(a, b, c) for a, b, c in zip(share, n, before, strict=True)] == (
        pytest.approx(margin, rel=1e-12)
    )


def test_more_pressure_fills_more_and_never_over_full():
    shares = filled_share(np.linspace(-5.0, 1.0, 50), 0.4, 0.5)
    assert np.all(np.diff(shares) >= 0.0)
    assert shares[-1] == 1.0
    assert filled_share(-np.inf, 0.4, 0.5) == 0.0
    assert np.isnan(filled_share(np.nan, 0.4, 0.5))


@pytest.mark.parametrize("share", [0.0, 1.2, -0.1, 60.0])
def test_impossible_share(share):
    with pytest.raises(ValueError, match="share must"):
        pressure_margin(share, 0.4)
