"""Diffusion in a jar and in a pellet held against derived figures."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics import diffusion


@pytest.mark.parametrize(("t_c", "grams_a_day"), [(25, 6.1), (21, 4.7)])
def test_still_air_in_a_jar(t_c, grams_a_day):
    """Derived figures: 60 cm² of slurry under 5 cm of air."""
    conductance = diffusion.still_air_conductance(60e-4, 0.05, t_c + 273.15)
    assert conductance * 86400e3 == pytest.approx(grams_a_day, abs=0.05)


def test_conditioning_of_a_pellet_takes_days():
    """Derived figures: a 3 mm pellet, D 2e-12 m²/s: 90 % in 2.4 days, 99 % in 5.4."""
    days = diffusion.fourier_at("sphere", np.array([0.1, 0.01])) * 1.5e-3**2 / 2e-12 / 86400
    assert days == pytest.approx([2.4, 5.4], abs=0.06)
