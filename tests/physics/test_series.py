"""The constants of the series against the library they stand in for."""

import numpy as np
import pytest
from scipy import special

from moldwin.physics import _series


def test_bessel_roots_are_the_librarys():
    roots = special.jn_zeros(0, 20)
    assert np.allclose(_series._J0_ROOTS, roots, rtol=1e-15, atol=0)
    assert np.allclose(_series._J1_THERE, special.j1(roots), rtol=1e-12, atol=0)


def test_the_table_gives_the_modes_that_the_root_finder_gives():
    table, found = _series.modes(2, np.inf), _series._modes(2, np.inf)
    for name in ("rate", "mean", "center"):
        assert np.allclose(getattr(table, name), getattr(found, name), rtol=1e-12, atol=0)


def test_sphere_waves_in_closed_form_are_the_librarys():
    x = np.linspace(1.01, 60.0, 200)
    for order, wave in enumerate(_series._waves(3, x)):
        assert np.allclose(wave, special.spherical_jn(order, x), rtol=0, atol=1e-15)


@pytest.mark.parametrize("biot", [0.01, 3.0, 500.0, np.inf])
@pytest.mark.parametrize("dimension", [1, 2, 3])
def test_many_values_are_summed_as_few_are(dimension, biot):
    """The fast sum over blocks against the table of terms that also knows the slope."""
    part = _series.modes(dimension, np.float64(biot))
    fourier = np.concatenate(
        [[0.0, 1e-9, 0.02, np.inf, np.nan], np.geomspace(1e-6, 30.0, _series._BLOCK + 7)]
    )
    fast = _series.remaining(part, fourier, "mean")
    assert fast.shape == fourier.shape
    slow, _ = _series.survival([(part, 1.0)], fourier, "mean")
    assert np.allclose(fast, slow, rtol=0, atol=2e-10, equal_nan=True)
    assert np.all(np.diff(fast[5:]) <= 0)
    center = _series.remaining(part, fourier[5:50], "center")
    assert np.array_equal(center, _series.survival([(part, 1.0)], fourier[5:50], "center")[0])
