"""Outlines of the specimens: continuous, tangent, symmetric, and refused by a wrong name."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from moldwin.physics.specimens import SPECIMENS, specimen

NAMES = (
    "ISO 527-2 1A",
    "ISO 527-2 1B",
    "ISO 527-2 1BA",
    "ISO 527-2 1BB",
    "ISO 527-2 5A",
    "ISO 527-2 5B",
    "ASTM D638 I",
    "ASTM D638 II",
    "ASTM D638 III",
    "ASTM D638 IV",
    "ASTM D638 V",
    "ISO 178 bar",
    "ISO 179 bar",
    "ISO 20753 A1",
    "ISO 20753 B1",
    "ISO 294-3 D1",
    "ISO 294-3 D2",
)


def test_names():
    assert SPECIMENS == NAMES
    for name in NAMES:
        assert specimen(name).name == name


@pytest.mark.parametrize("name", NAMES)
def test_outline_has_no_steps_and_no_kink_at_the_narrow_part(name):
    s = specimen(name)
    x = np.linspace(0.0, s.overall_length / 2, 20_001)
    width = s.width_at(x)
    slope = np.diff(width) / (x[1] - x[0])
    assert width.min() == pytest.approx(s.narrow_width, abs=1e-12)
    assert width.max() == pytest.approx(s.wide_width, abs=1e-12)
    assert np.all(slope > -1e-9)
    near = np.abs(x[1:] - s.narrow_length / 2) < 1e-4 * s.narrow_length
    assert np.all(slope[near] < 0.05)  # tangent: it starts flat
    if s.outer_radius:
        end = np.abs(x[1:] - s.distance_between_wide_ends / 2) < 1e-4 * s.narrow_length
        assert np.all(slope[end] < 0.05)


@pytest.mark.parametrize("name", NAMES)
def test_geometry_is_possible(name):
    s = specimen(name)
    assert s.narrow_length <= s.distance_between_wide_ends <= s.overall_length
    assert s.overall_length * s.narrow_width <= s.area <= s.overall_length * s.wide_width
    assert s.volume == s.area * s.thickness
    assert s.flow_length == s.overall_length
    assert set(s.status.values()) <= {"read", "memory"}


def test_width_is_symmetric_and_ends():
    s = specimen("ISO 527-2 1BA")
    x = np.array([-0.03, 0.0, 0.02])
    assert s.width_at(x) == pytest.approx(s.width_at(-x))
    assert s.width_at(0.04) == 0.0
    assert np.isnan(s.width_at(np.nan))
    assert np.ndim(s.width_at(0.0)) == 0


def test_preferred_length_of_1a():
    assert specimen("ISO 527-2 1A").overall_length == 0.170


@pytest.mark.parametrize("name", NAMES)
def test_the_band_of_volume_is_that_of_the_extreme_parts(name):
    """Every corner of the tolerances, by a numerical integration of the outline's width."""
    nominal = specimen(name)
    low, high = nominal.volume_band
    assert low <= nominal.volume <= high
    assert (low == high) == (not nominal.tolerance)
    keys = list(nominal.tolerance)
    corners = []
    for signs in product((-1, 1), repeat=len(keys)):
        changed = {}
        for key, sign in zip(keys, signs, strict=True):
            below, above = nominal.tolerance[key]
            changed[key] = getattr(nominal, key) + (above if sign > 0 else -below)
        if nominal.narrow_width == nominal.wide_width:
            changed["wide_width"] = changed.get("narrow_width", nominal.wide_width)
            changed["narrow_length"] = changed.get("overall_length", nominal.narrow_length)
        one = replace(nominal, **changed)
        x = np.linspace(-one.overall_length / 2, one.overall_length / 2, 20_001)
        corners.append(np.trapezoid(one.width_at(x), x) * one.thickness)
    assert low == pytest.approx(min(corners), rel=1e-4)  # the step at the very end is cut off
    assert high == pytest.approx(max(corners), rel=1e-4)


def test_twins_of_two_standards_are_one_body():
    for one, other in (
        ("ISO 527-2 1A", "ISO 20753 A1"),
        ("ISO 178 bar", "ISO 20753 B1"),
        ("ISO 178 bar", "ISO 179 bar"),
    ):
        assert specimen(one).volume_band == specimen(other).volume_band


def test_every_specimen_names_its_standard_and_edition():
    for name in NAMES:
        one = specimen(name)
        assert one.standard
        assert name.split()[0] in one.edition
        assert name.split()[1] in one.edition


def test_unknown_name_lists_the_known():
    with pytest.raises(ValueError, match="ISO 527-2 1BA"):
        specimen("ISO 527 1BA")
