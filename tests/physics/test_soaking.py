"""Warming of a charge: against handbook coefficients, the full series, and a finite-volume run."""

import numpy as np
import pytest
from scipy.special import exp1

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics import soaking
from moldwin.physics.diffusion import unaccomplished
from moldwin.physics.soaking import first_mode, hot_time, warming_shortfall

# Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, table 5.1, infinite cylinder (memory)
HANDBOOK = [
    (0.1, 0.4417, 1.0246),
    (1.0, 1.2558, 1.2071),
    (10.0, 2.1795, 1.5677),
    (100.0, 2.3809, 1.6015),
]


@pytest.mark.parametrize(("biot", "root", "amplitude"), HANDBOOK)
def test_handbook_coefficients(biot, root, amplitude):
    mode = first_mode(biot)
    assert (mode.root, mode.center) == pytest.approx((root, amplitude), abs=0.00005)


@pytest.mark.parametrize("biot", [0.5, 3.0, 30.0, np.inf])
@pytest.mark.parametrize("fourier", [0.25, 0.5, 1.0])
@pytest.mark.parametrize("where", ["mean", "center"])
def test_one_mode_is_close_to_the_full_series(biot, fourier, where):
    full = unaccomplished("cylinder", fourier, biot, where=where)
    ours = warming_shortfall(where, fourier, first_mode(biot))
    assert ours == pytest.approx(full, rel=0.02, abs=0.004)


def test_scalar_and_array_agree_and_order_is_right():
    biot = np.array([2.0, 20.0])
    left = warming_shortfall("center", 0.4, first_mode(biot))
    assert left.tolist() == [warming_shortfall("center", 0.4, first_mode(b)) for b in biot]
    mode = first_mode(20.0)
    assert left[0] > left[1] > warming_shortfall("mean", 0.4, mode) > 0
    assert warming_shortfall("skin", 0.4, mode) < warming_shortfall("mean", 0.4, mode)


def test_the_skin_lacks_what_the_contact_holds_back():
    """At the wall of a cylinder: conduction into it balances the contact, by the mode's slope."""
    biot = 4.0
    mode = first_mode(biot)
    # energy: the mean falls as fast as the contact lets heat in, 2 Bi times what the skin lacks
    assert mode.root**2 * mode.mean == pytest.approx(2.0 * biot * mode.skin)


def test_too_short_a_time_warns_and_nonsense_is_refused():
    with pytest.warns(OutOfRangeWarning):
        warming_shortfall("center", 0.05, first_mode(10.0))
    with pytest.raises(ValueError, match="biot"):
        first_mode(0.0)
    with pytest.raises(ValueError, match="edge"):
        warming_shortfall("edge", 0.5, first_mode(10.0))


@pytest.mark.parametrize("drop", [0.0, 10.0, 40.0])
def test_hot_time_against_a_numerical_integral(drop):
    time, tau, wall, energy = 500.0, 120.0, 413.15, 105e3
    t = np.linspace(0.0, time, 20001)
    straightened = np.exp(-energy / 8.314462618 / wall**2 * drop * np.exp(-t / tau))
    expected = np.trapezoid(straightened, t)
    assert hot_time(time, tau, drop, wall, energy) == pytest.approx(expected, rel=1e-6)
    true_rate = np.exp(energy / 8.314462618 * (1 / wall - 1 / (wall - drop * np.exp(-t / tau))))
    assert hot_time(time, tau, drop, wall, energy) >= np.trapezoid(true_rate, t) - 1e-6


def finite_volume(radius, t_wall, transfer, start, t_weld, loose, melt, until, cells=60):
    """Center temperature of pellets that turn to melt where they pass ``t_weld``; implicit."""
    faces = np.linspace(0.0, radius, cells + 1)
    middle, volume = (faces[1:] + faces[:-1]) / 2, (faces[1:] ** 2 - faces[:-1] ** 2) / 2
    t, molten, step, center = np.full(cells, start), np.zeros(cells, bool), 1.0, []
    for _ in range(int(until / step)):
        molten |= t > t_weld
        diffusivity = np.where(molten, melt[0], loose[0])
        conductivity = np.where(molten, melt[1], loose[1])
        between = 2 * conductivity[1:] * conductivity[:-1] / (conductivity[1:] + conductivity[:-1])
        between = between * faces[1:-1] / np.diff(middle)
        wall = radius / (1 / transfer + (radius - middle[-1]) / conductivity[-1])
        store = conductivity / diffusivity * volume / step
        matrix = np.diag(store) - np.diag(between, 1) - np.diag(between, -1)
        matrix[np.arange(cells - 1), np.arange(cells - 1)] += between
        matrix[np.arange(1, cells), np.arange(1, cells)] += between
        matrix[-1, -1] += wall
        source = store * t
        source[-1] += wall * t_wall
        t = np.linalg.solve(matrix, source)
        center.append(t[0])
    return np.arange(1, len(center) + 1) * step, np.array(center)


def test_the_finite_volume_run_itself_is_right_for_one_material():
    stuff = (1e-7, 0.25)
    times, center = finite_volume(0.008, 130.0, 500.0, 20.0, 1e9, stuff, stuff, 400)
    biot, fourier = 500.0 * 0.008 / 0.25, 1e-7 * times / 0.008**2
    late = fourier > 0.25
    exact = 130.0 - 110.0 * warming_shortfall("center", fourier[late], first_mode(biot))
    assert np.abs(center[late] - exact).max() < 0.8


@pytest.mark.parametrize(("radius", "t_wall", "transfer"), [(0.008, 130, 300), (0.011, 150, 800)])
def test_pellets_that_turn_to_melt_warm_as_the_stage_assumes(radius, t_wall, transfer):
    """Properties weighted 0.2 loose and 0.8 melt in the logarithm: within 15 % of the time."""
    loose, melt = (0.8e-7, 0.125), (1.05e-7, 0.25)
    times, center = finite_volume(radius, t_wall, transfer, 21.0, 80.0, loose, melt, 1300)
    diffusivity = melt[0] ** 0.8 * loose[0] ** 0.2
    beta, amplitude, *_ = first_mode(transfer * radius / (melt[1] ** 0.8 * loose[1] ** 0.2))
    for missing in (10.0, 5.0):
        true = times[np.argmax(center > t_wall - missing)]
        assumed = np.log(amplitude * (t_wall - 21.0) / missing) * radius**2 / diffusivity / beta**2
        assert assumed == pytest.approx(true, rel=0.15)
        assert assumed > true  # on the safe side: told to soak a little longer


@pytest.mark.parametrize("largest", [0.01, 0.9, 1.1, 3.9, 4.1, 12.0])
def test_the_integral_behind_it_to_nine_places(largest):
    """Ein(x) = E1(x) + ln x + gamma (NIST DLMF 6.2.4), on either side of where the form changes."""
    x = np.linspace(1e-3 * largest, largest, 101)
    assert soaking._ein(x) == pytest.approx(exp1(x) + np.log(x) + np.euler_gamma, abs=1e-9)
    assert soaking._ein(0.0) == 0.0
    assert np.isnan(soaking._ein(np.array([1.0, np.nan]))).tolist() == [False, True]
