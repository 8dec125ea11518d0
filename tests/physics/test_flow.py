"""Melt viscosity, pressure drops and what a cold plug leaves."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics import flow

MELT = {
    "pivot": 900.0,
    "n": 0.4,
    "activation": 5000.0,
    "water_slope": 17.5,
    "glycerol_slope": 10.0,
}


def test_the_pivot_is_the_pivot_whatever_the_slopes():
    for n in (0.2, 0.6, 1.0):
        melt = MELT | {"n": n, "activation": 3000.0 + 4000 * n, "water_slope": 10.0}
        assert flow.viscosity(100.0, 433.15, 0.15, 0.0, **melt) == pytest.approx(900.0)


def test_inside_the_published_range():
    """Xie et al. 2009: 277 to 1254 Pa s at 19-27 % water, 110-140 °C; derived figure: 610."""
    eta = flow.viscosity(100.0, 398.15, 0.23, 0.0, **MELT)
    assert 277 < eta < 1254
    assert eta == pytest.approx(610, abs=5)


def test_trends():
    def eta(rate=100.0, t=420.0, w=0.12, g=0.1):
        return flow.viscosity(rate, t, w, g, **MELT)

    assert eta(rate=200.0) < eta()
    assert eta(t=430.0) < eta()
    assert eta(w=0.15) < eta()
    assert eta(g=0.2) < eta()


def test_consistency_is_viscosity_at_one_per_second():
    ln_k = flow.consistency_log(420.0, 0.1, 0.2, **MELT)
    assert np.exp(ln_k) == pytest.approx(flow.viscosity(1.0, 420.0, 0.1, 0.2, **MELT))


def test_newtonian_limits():
    mu, q, r, length = 500.0, 2e-6, 1.5e-3, 12e-3
    poiseuille = 8 * mu * length * q / (np.pi * r**4)
    assert flow.power_law_tube(mu, 1.0, q, r, length) == pytest.approx(poiseuille)
    w, h = 10e-3, 2e-3
    plane = 12 * mu * length * q / (w * h**3)
    assert flow.power_law_slot(mu, 1.0, q, w, h, length) == pytest.approx(plane)


@pytest.mark.parametrize("n", [0.25, 0.5, 0.8])
def test_power_law_from_the_velocity_profile(n):
    """Independent: integrate the velocity that the wall stress drives, and compare the flow."""
    k, length, pressure = 8000.0, 0.02, 5e6
    radius = 1.5e-3
    r = np.linspace(0.0, radius, 200_001)
    rate = (pressure * r / (2 * length) / k) ** (1 / n)
    # flow = integral of 2 pi r v = integral of pi r² (-dv/dr), by parts
    y = np.pi * r**2 * rate
    q = np.sum((y[1:] + y[:-1]) / 2 * np.diff(r))
    assert flow.power_law_tube(k, n, q, radius, length) == pytest.approx(pressure, rel=1e-6)
    width, height = 10e-3, 2e-3
    z = np.linspace(0.0, height / 2, 200_001)
    y = 2 * width * z * (pressure * z / length / k) ** (1 / n)
    q = np.sum((y[1:] + y[:-1]) / 2 * np.diff(z))
    assert flow.power_law_slot(k, n, q, width, height, length) == pytest.approx(pressure, rel=1e-6)


def test_solids():
    """Derived figures: x 2.3, 4, 9 at .2, .3, .4 with jamming at .6."""
    factor = flow.solids_thickening(np.array([0.0, 0.2, 0.3, 0.4]), 0.6)
    assert factor == pytest.approx([1.0, 2.25, 4.0, 9.0])
    assert np.all(np.isinf(flow.solids_thickening([0.6, 0.9], 0.6)))


@pytest.mark.parametrize(("friction", "two", "four"), [(0.05, 0.67, 0.45), (0.15, 0.30, 0.09)])
def test_plug(friction, two, four):
    """Derived figures of exp(-4 mu K L/D)."""
    share = np.exp(-8 * friction)
    assert flow.pressure_share(share, 2.0) == pytest.approx(two, abs=0.005)
    assert flow.pressure_share(share, 4.0) == pytest.approx(four, abs=0.005)
    assert flow.pressure_share(share, 0.5) == flow.pressure_share(share, 2.0)


@pytest.mark.parametrize("n", [0.3, 1.0])
def test_filling_at_constant_pressure(n):
    """Independent: step the front forward at the speed the pressure leaves it."""
    x = np.linspace(0.0, 1.0, 200_001)
    slowness = x ** (1 / n)  # 1/v, the speed at the end being 1
    time = np.sum((slowness[1:] + slowness[:-1]) / 2 * np.diff(x))
    assert flow.constant_pressure_fill_time_ratio(n) == pytest.approx(time, rel=1e-6)


def test_wlf():
    assert flow.shift_wlf(330.0, 330.0) == 1.0
    assert flow.shift_wlf(380.0, 330.0) == pytest.approx(10 ** (-17.44 * 50 / 101.6))
    with pytest.warns(OutOfRangeWarning, match="90"):
        flow.shift_wlf(420.0, 330.0)
    flow.shift_wlf(420.0, 330.0, check=False)
    with pytest.raises(ValueError, match="swapped"):
        flow.shift_wlf(300.0, 360.0)


def test_trap_wlf_overstates_water_far_above_tg():
    """About fivefold, near T - Tg = 90 K: a point of water moves Tg of dryish starch by 9 K."""
    t, tg = 420.0, 330.0
    wlf = np.log(flow.shift_wlf(t, tg + 9, check=False) / flow.shift_wlf(t, tg, check=False))
    melt = MELT["water_slope"] * 0.01
    assert 4 < wlf / melt < 10


def test_array_is_scalar_after_scalar():
    t, w = np.array([400.0, 420.0, 440.0]), np.array([[0.1], [0.2]])
    together = flow.viscosity(50.0, t, w, 0.1, **MELT)
    assert together.shape == (2, 3)
    assert together[1, 2] == flow.viscosity(50.0, 440.0, 0.2, 0.1, **MELT)
    assert np.ndim(flow.power_law_tube(1e3, 0.4, 1e-6, 1e-3, 0.01)) == 0
    assert np.isnan(flow.power_law_tube(np.nan, 0.4, 1e-6, 1e-3, 0.01))


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: flow.viscosity(100.0, 150.0, 0.1, 0.1, **MELT), "°C"),
        (lambda: flow.viscosity(100.0, 420.0, 12.0, 0.1, **MELT), "percentage"),
        (lambda: flow.viscosity(0.0, 420.0, 0.1, 0.1, **MELT), "at rest"),
        (lambda: flow.viscosity(1.0, 420.0, 0.1, 0.1, **(MELT | {"n": 0.0})), "n must"),
        (lambda: flow.viscosity(1.0, 420.0, 0.1, 0.1, **(MELT | {"pivot": -1.0})), "pivot"),
        (lambda: flow.power_law_tube(1e3, 0.4, -1e-6, 1e-3, 0.01), "flow"),
        (lambda: flow.power_law_tube(1e3, 0.4, 1e-6, 0.0, 0.01), "radius"),
        (lambda: flow.power_law_slot(1e3, 0.4, 1e-6, 1e-2, 0.0, 0.01), "height"),
        (lambda: flow.solids_thickening(1.2, 0.6), "phi"),
        (lambda: flow.pressure_share(60.0, 2.0), "percentage"),
        (lambda: flow.pressure_share(0.6, -2.0), "length"),
        (lambda: flow.constant_pressure_fill_time_ratio(-0.1), "n must"),
    ],
)
def test_refuses_the_impossible(call, match):
    with pytest.raises(ValueError, match=match):
        call()
