"""A swinging heater: against plain averages and the complex amplitude of a half-space."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.swing import ageing_in_swing, surface_swing

_R = 8.314462618


@pytest.mark.parametrize("amplitude", [0.0, 2.0, 5.0, 10.0, 20.0])
def test_the_factor_is_the_mean_over_a_swing(amplitude):
    phase = np.linspace(0.0, 2.0 * np.pi, 4096, endpoint=False)
    t, energy = 413.15, 105e3
    straightened = np.exp(energy / _R / t**2 * amplitude * np.sin(phase)).mean()
    assert ageing_in_swing(amplitude, t, energy) == pytest.approx(straightened, rel=1e-6)
    # against Arrhenius itself: the straight exponent is a little on the safe side
    true = np.exp(energy / _R * (1.0 / t - 1.0 / (t + amplitude * np.sin(phase)))).mean()
    assert true <= ageing_in_swing(amplitude, t, energy) <= true * (1.0 + 0.02 * amplitude)


def test_it_never_saves_and_grows_with_swing_and_energy():
    by_swing = ageing_in_swing(np.array([0.0, 1.0, 3.0, 9.0]), 413.15, 105e3)
    by_energy = ageing_in_swing(5.0, 413.15, np.array([0.0, 80e3, 130e3]))
    assert by_swing[0] == by_energy[0] == 1.0
    assert np.all(np.diff(by_swing) > 0)
    assert np.all(np.diff(by_energy) > 0)


@pytest.mark.parametrize("period", [5.0, 60.0, 600.0])
def test_the_skin_swings_as_a_half_space_behind_a_contact(period):
    effusivity, transfer = 700.0, 800.0
    impedance = effusivity * np.sqrt(2j * np.pi / period)  # heat flow a kelvin of its surface
    expected = abs(transfer / (transfer + impedance)) * 4.0
    assert surface_swing(4.0, period, effusivity, transfer) == pytest.approx(expected)


def test_slow_swings_pass_and_quick_ones_do_not():
    assert surface_swing(4.0, 1e7, 700.0, 800.0) == pytest.approx(4.0, rel=0.01)
    assert surface_swing(4.0, 0.01, 700.0, 800.0) < 0.3


def test_scalar_and_array_agree_and_nan_passes():
    swings = np.array([1.0, 4.0])
    assert ageing_in_swing(swings, 400.0, 1e5).tolist() == [
        ageing_in_swing(a, 400.0, 1e5) for a in swings
    ]
    assert np.isnan(ageing_in_swing(np.nan, 400.0, 1e5))
    assert np.isnan(surface_swing(np.nan, 60.0, 700.0, 800.0))


@pytest.mark.parametrize(
    "call",
    [
        lambda: ageing_in_swing(-1.0, 400.0, 1e5),
        lambda: ageing_in_swing(1.0, 130.0, 1e5),
        lambda: surface_swing(1.0, 0.0, 700.0, 800.0),
    ],
)
def test_the_impossible_is_refused(call):
    with pytest.raises(ValueError, match="must"):
        call()
