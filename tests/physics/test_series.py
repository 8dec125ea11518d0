"""The constants of the series against the library they stand in for."""

import numpy as np
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
