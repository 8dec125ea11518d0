"""One impossible entry among possible ones is refused too, and so is the very edge of what is."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics import (
    annulus,
    degradation,
    diffusion,
    film_stress,
    gelatinization,
    glass,
    loss_on_drying,
    melting,
    mixing,
    runners,
    short_shot,
    soaking,
    solids,
    viscosity,
)

#: What is called, the good value and the bad one of one argument, and what is said.
_CASES = {
    "annulus_mode": (lambda v: annulus.annulus_mode(0.5, v), 3.0, 0.0, "biot"),
    "dose": (
        lambda v: degradation.dose(
            np.stack([0 * v, 60.0 + 0 * v, 60.0 + v], -1), np.full(3, 400.0), 1e3, 1e5, check=False
        ),
        30.0, -10.0, "never fall",
    ),
    "unaccomplished": (lambda v: diffusion.unaccomplished("slab", 0.1, v), 3.0, 0.0, "biot"),
    "network_value": (
        lambda v: film_stress.network_value(0.2, v, 5e3, 0.8, 1e6), 0.1, 0.8, "swapped"
    ),
    "network_value from nothing": (
        lambda v: film_stress.network_value(0.2, v, 5e3, 0.8, 1e6), 0.1, 0.0, "swapped"
    ),
    "share_by_heat": (
        lambda v: gelatinization.share_by_heat(340.0, 335.0, v), 350.0, 330.0, "swapped"
    ),
    "share_by_water": (lambda v: gelatinization.share_by_water(0.7, 1.5, v), 0.4, 1.5, "swap"),
    "fractions of a glass": (
        lambda v: glass.fox(np.stack([0.7 + 0 * v, v], -1), [400.0, 200.0]), 0.3, 0.4, "sum to 1"
    ),
    "granule_melting_point": (
        lambda v: melting.granule_melting_point(0.2, v, 6e4), 460.0, 0.0, "above 0"
    ),
    "granule_melting_point's heat": (
        lambda v: melting.granule_melting_point(0.2, 460.0, v), 6e4, 0.0, "above 0"
    ),
    "blend_density": (
        lambda v: mixing.blend_density(np.stack([0.7 + 0 * v, v], -1), 300.0, ("water", "fiber")),
        0.3, 0.4, "sum to 1",
    ),
    "trapezoid": (lambda v: runners.trapezoid(5e-3, v, 4e-3, 0.03), 4e-3, 6e-3, "swapped"),
    "first_mode": (soaking.first_mode, 3.0, 0.0, "biot"),
    "tube": (lambda v: solids.tube(0.02, v, 0.03), 0.01, 0.02, "swapped"),
    "cone": (lambda v: solids.cone(0.02, v, 0.03), 0.01, 0.021, "swapped"),
    "dome": (lambda v: solids.dome(0.02, v), 0.01, 0.011, "swapped"),
    "wlf_below_reach": (viscosity.wlf_below_reach, 1.0, -1.0, "negative"),
    "shift_wlf": (lambda v: viscosity.shift_wlf(v, 300.0), 330.0, 248.0, "swapped"),
}  # fmt: skip


@pytest.mark.parametrize("name", _CASES)
def test_one_bad_entry_is_refused_and_none_is_not(name):
    call, good, bad, words = _CASES[name]
    call(np.array([good, good]))
    for entries in ([good, bad], [bad, good], [bad, bad]):
        with pytest.raises(ValueError, match=words):
            call(np.array(entries))


def test_a_strain_that_falls_in_one_place_is_refused():
    rising = np.array([[0.0, 0.0], [0.1, 0.1], [0.2, 0.2]])
    modulus = np.full((3, 2), 1e6)
    film_stress.hindered_stress(rising, modulus)
    falling = rising - np.array([[0.0, 0.0], [0.0, 0.0], [0.0, 0.15]])
    with pytest.raises(ValueError, match="must rise"):
        film_stress.hindered_stress(falling, modulus)


def test_weighings_out_of_order_in_one_place_are_refused():
    loss = np.array([0.05, 0.09, 0.1, 0.1])
    loss_on_drying.fit_drying_curve(np.array([600.0, 1200.0, 2400.0, 3600.0]), loss, 1e-4)
    for time in ([600.0, 1200.0, 1200.0, 3600.0], [0.0, 1200.0, 2400.0, 3600.0]):
        with pytest.raises(ValueError, match="must rise"):
            loss_on_drying.fit_drying_curve(np.array(time), loss, 1e-4)


def test_a_body_of_which_all_is_taken_away_is_refused():
    block = solids.plate(0.02, 0.02, 0.004)
    with pytest.raises(ValueError, match="more volume"):
        solids.combine([block, block], None, [False, True])


def test_a_shot_of_nothing_among_others_is_refused():
    with pytest.raises(ValueError, match="above 0"):
        short_shot.pressure_margin(np.array([0.5, 0.0]), 0.4)
