"""Pressure drops, what a cold plug leaves and the time a fill takes."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics import flow


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


@pytest.mark.parametrize("n", [0.3, 1.0])
def test_filling_at_constant_pressure(n):
    """Independent: step the front forward at the speed the pressure leaves it."""
    x = np.linspace(0.0, 1.0, 200_001)
    slowness = x ** (1 / n)  # 1/v, the speed at the end being 1
    time = np.sum((slowness[1:] + slowness[:-1]) / 2 * np.diff(x))
    assert flow.constant_pressure_fill_time_ratio(n) == pytest.approx(time, rel=1e-6)


def test_scalar_stays_scalar_and_nan_stays_nan():
    assert np.ndim(flow.power_law_tube(1e3, 0.4, 1e-6, 1e-3, 0.01)) == 0
    assert np.isnan(flow.power_law_tube(np.nan, 0.4, 1e-6, 1e-3, 0.01))


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: flow.power_law_tube(1e3, 0.4, -1e-6, 1e-3, 0.01), "flow"),
        (lambda: flow.power_law_tube(1e3, 0.4, 1e-6, 0.0, 0.01), "radius"),
        (lambda: flow.power_law_slot(1e3, 0.4, 1e-6, 1e-2, 0.0, 0.01), "height"),
        (lambda: flow.constant_pressure_fill_time_ratio(-0.1), "n must"),
    ],
)
def test_refuses_the_impossible(call, match):
    with pytest.raises(ValueError, match=match):
        call()
