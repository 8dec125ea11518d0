"""Stress, cracks and curl of a sheet on its plate."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.film_stress import (
    channel_crack_thickness,
    curl_curvature,
    edge_lift,
    hindered_stress,
    lets_go_thickness,
    network_value,
    skin_pull,
)


def test_the_network_meets_both_ends_and_rises_as_a_power():
    value = network_value(np.array([0.1, 0.2, 0.8, 0.9]), 0.1, 10.0, 0.8, 10.0 * 8**2)
    assert value == pytest.approx([10.0, 40.0, 640.0, 640.0])


def test_stress_at_one_stiffness_is_the_biaxial_law():
    strain = np.linspace(0.0, 0.03, 7)
    assert hindered_stress(strain, np.full(7, 1e8), 0.3) == pytest.approx(1e8 / 0.7 * strain)


def test_what_shrank_while_soft_stays_without_stress():
    strain = np.array([0.0, 0.5, 0.5, 0.51])
    stress = hindered_stress(strain, np.array([1.0, 1.0, 1e9, 1e9]), 0.0)
    assert stress[-1] == pytest.approx(1e7, rel=1e-6)


def test_relaxation_takes_its_share():
    whole, half = (hindered_stress([0.0, 0.01], [1e9, 1e9], kept=k) for k in (1.0, 0.5))
    assert half == pytest.approx(whole / 2)


def test_at_the_critical_thickness_a_channel_sets_free_what_it_takes():
    g, e, stress, nu = 400.0, 1e9, 1.5e7, 0.4
    h = channel_crack_thickness(g, e, stress, 1.976, nu)
    assert 1.976 * stress**2 * h * (1 - nu**2) / e == pytest.approx(g)


def test_a_scratch_runs_in_half_the_thickness_of_a_channel():
    thin, thick = (channel_crack_thickness(400.0, 1e9, 1e7, z) for z in (3.951, 1.976))
    assert thick / thin == pytest.approx(2.0, rel=1e-3)


def test_more_stress_tears_thinner_sheets_and_none_tears_no_sheet():
    h = channel_crack_thickness(400.0, 1e9, np.array([0.0, 1e7, 2e7]))
    assert np.isinf(h[0])
    assert h[1] == pytest.approx(4.0 * h[2])
    assert np.isinf(lets_go_thickness(20.0, 1e9, 0.0))


def test_letting_go_frees_the_elastic_energy_of_both_directions():
    h = lets_go_thickness(20.0, 1e8, 1e6, 0.4)
    assert 1e6**2 * (1 - 0.4) / 1e8 * h == pytest.approx(20.0)


def test_a_soft_body_below_a_stiff_skin_pulls_harder_never_less():
    assert skin_pull(1e8, 1e6) == pytest.approx(10.0)
    assert skin_pull(1e6, 1e8) == 1.0


def test_curl_is_an_arc():
    assert curl_curvature(0.02, 1e-3) == pytest.approx(20.0)
    # small: width squared times curvature over eight
    assert edge_lift(0.1, 0.1) == pytest.approx(0.1 * 0.1**2 / 8, rel=1e-4)
    assert edge_lift(0.0, 0.1) == pytest.approx(0.0, abs=1e-9)
    # rolled up: never higher than a half roll
    assert edge_lift(100.0, 0.1) == pytest.approx(0.01)
    assert edge_lift(-2.0, 0.1) == edge_lift(2.0, 0.1)


def test_nan_stays_nan():
    assert np.isnan(channel_crack_thickness(np.nan, 1e9, 1e7))
    assert np.isnan(edge_lift(np.nan, 0.1))
    assert np.isnan(skin_pull(np.nan, 1e7))


def test_arrays_are_scalars_side_by_side():
    g = np.array([10.0, 400.0])
    many = channel_crack_thickness(g, 1e9, 1e7)
    assert many.tolist() == [channel_crack_thickness(float(each), 1e9, 1e7) for each in g]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: network_value(0.2, 0.8, 1.0, 0.1, 2.0), "swapped"),
        (lambda: network_value(20.0, 0.1, 1.0, 0.8, 2.0), "a percentage"),
        (lambda: hindered_stress([0.02, 0.0], [1e9, 1e9]), "must rise"),
        (lambda: hindered_stress([0.0, 0.02], [1e9, 0.0]), "modulus must be above 0"),
        (lambda: hindered_stress([0.0, 0.02], [1e9, 1e9], 0.7), "Poisson"),
        (lambda: channel_crack_thickness(0.0, 1e9, 1e7), "toughness must be above 0"),
        (lambda: lets_go_thickness(20.0, 1e9, -1.0), "stress must lie"),
        (lambda: curl_curvature(0.01, 0.0), "thickness must be above 0"),
        (lambda: edge_lift(1.0, 0.0), "width must be above 0"),
        (lambda: skin_pull(0.0, 1e6), "skin_modulus must be above 0"),
    ],
)
def test_the_impossible_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
