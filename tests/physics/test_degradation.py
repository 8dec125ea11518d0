"""The browning clock: its table, its integral, its refusals."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics.degradation import dose, quality_limit_time

TEN_MINUTES, ENERGY = 600.0, 105e3


@pytest.mark.parametrize(
    ("t_c", "minutes", "half_digit"),
    [
        (120, 98, 0.5),
        (130, 44, 0.5),
        (140, 21, 0.5),
        (150, 10, 1e-9),
        (160, 5, 0.5),
        (170, 2.6, 0.05),
        (180, 1.4, 0.05),
    ],
)
def test_the_table_it_was_chosen_by(t_c, minutes, half_digit):
    time = quality_limit_time(t_c + 273.15, TEN_MINUTES, ENERGY) / 60
    assert time == pytest.approx(minutes, abs=half_digit)


def test_hotter_is_shorter_and_a_higher_energy_steeper():
    t = np.linspace(395.0, 450.0, 12)
    assert np.all(np.diff(quality_limit_time(t, TEN_MINUTES, ENERGY)) < 0)
    mild, steep = (quality_limit_time(443.15, TEN_MINUTES, e) for e in (80e3, 130e3))
    assert steep < mild < TEN_MINUTES


def test_dose_at_one_temperature_is_time_over_limit():
    times = np.linspace(0.0, 300.0, 7)
    assert dose(times, np.full(7, 433.15), TEN_MINUTES, ENERGY) == pytest.approx(
        300.0 / quality_limit_time(433.15, TEN_MINUTES, ENERGY)
    )


def test_dose_of_a_ramp_matches_the_exponential_integral():
    """1/T nearly linear in time makes the integrand exponential: its integral in closed form."""
    times = np.linspace(0.0, 600.0, 601)
    inverse = np.linspace(1 / 393.15, 1 / 433.15, 601)
    first, last = (1 / quality_limit_time(1 / i, TEN_MINUTES, ENERGY) for i in inverse[[0, -1]])
    exact = 600.0 * (last - first) / np.log(last / first)
    assert dose(times, 1 / inverse, TEN_MINUTES, ENERGY) == pytest.approx(exact, rel=1e-5)


def test_doses_add_up_over_reheats():
    times, temps = np.array([0.0, 60.0, 120.0, 200.0]), np.array([400.0, 425.0, 430.0, 410.0])
    whole = dose(times, temps, TEN_MINUTES, ENERGY)
    halves = [dose(times[s], temps[s], TEN_MINUTES, ENERGY) for s in (slice(3), slice(2, 4))]
    assert whole == pytest.approx(sum(halves))


def test_array_is_scalar_after_scalar():
    times, temps = np.array([0.0, 50.0, 400.0]), np.array([[300.0, 420.0, 425.0], [395, 400, 405]])
    limits, energies = np.array([400.0, 800.0]), np.array([90e3, 120e3])
    together = dose(times, temps, limits, energies)
    one_by_one = [dose(times, *v) for v in zip(temps, limits, energies, strict=True)]
    assert together == pytest.approx(one_by_one)
    assert np.ndim(one_by_one[0]) == 0


def test_nan_in_nan_out():
    assert np.isnan(quality_limit_time(np.nan, TEN_MINUTES, ENERGY))


def test_refuses_the_impossible():
    with pytest.raises(ValueError, match="°C"):
        quality_limit_time(150.0, TEN_MINUTES, ENERGY)
    with pytest.raises(ValueError, match="limit_at_150c"):
        quality_limit_time(423.15, 0.0, ENERGY)
    with pytest.raises(ValueError, match="never fall"):
        dose([0.0, 10.0, 5.0], [400.0, 400.0, 400.0], TEN_MINUTES, ENERGY)


def test_warns_outside_what_it_was_compared_with():
    with pytest.warns(OutOfRangeWarning, match="473.15"):
        quality_limit_time(473.15, TEN_MINUTES, ENERGY)
    with pytest.warns(OutOfRangeWarning):
        dose([0.0, 1.0], [300.0, 473.15], TEN_MINUTES, ENERGY)
    quality_limit_time(473.15, TEN_MINUTES, ENERGY, check=False)
    dose([0.0, 1.0], [300.0, 420.0], TEN_MINUTES, ENERGY)  # a cold start is no extrapolation
