"""Specimens held against the tabulated dimensions, and their area against another integration."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.specimens import SPECIMENS, specimen
from tests.published.tables import number, rows

TABLE = {row["name"]: row for row in rows("specimens.csv")}


def mm(row, key):
    return number(row, f"{key}_mm") / 1e3 if row[f"{key}_mm"] else 0.0


def test_every_specimen_has_its_row():
    assert set(TABLE) == set(SPECIMENS)


@pytest.mark.parametrize("name", SPECIMENS)
def test_dimensions(name):
    row, ours = TABLE[name], specimen(name)
    for key in ("overall_length", "narrow_width", "thickness", "radius", "outer_radius"):
        column = key.removesuffix("_length")
        assert getattr(ours, key) == pytest.approx(mm(row, column), abs=1e-9), key
    if row["narrow_length_mm"]:
        assert ours.narrow_length == pytest.approx(mm(row, "narrow_length"), abs=1e-9)
        assert ours.wide_width == pytest.approx(mm(row, "wide_width"), abs=1e-9)
        assert ours.status["radius"] == row["radius_status"]


TOLERANCES = {
    "overall": "overall_length",
    "narrow_length": "narrow_length",
    "narrow_width": "narrow_width",
    "wide_width": "wide_width",
    "thickness": "thickness",
}


@pytest.mark.parametrize("name", SPECIMENS)
def test_tolerances(name):
    row, ours = TABLE[name], specimen(name)
    for column, key in TOLERANCES.items():
        printed = row[f"{column}_tol_mm"]
        assert (key in ours.minimum) == (printed == "min"), key
        if printed in ("", "min"):
            assert key not in ours.tolerance, key
            continue
        below, above = (float(part) / 1e3 for part in printed.split("/"))
        assert ours.tolerance[key] == pytest.approx((below, above)), key


def outline(row, points=4000):
    """A quarter of the outline from the table alone, walked by angle along each arc."""
    length, half = mm(row, "overall") / 2, mm(row, "narrow_width") / 2
    if not row["wide_width_mm"]:
        return np.array([0.0, length]), np.array([half, half])
    straight, wide = mm(row, "narrow_length") / 2, mm(row, "wide_width") / 2
    radius, outer = mm(row, "radius"), mm(row, "outer_radius")
    # Each arc turns by the angle a, so together they rise (radius + outer)(1 - cos a).
    turn = np.arccos(1 - (wide - half) / (radius + outer))
    a = np.linspace(0.0, turn, points)
    x, y = straight + radius * np.sin(a), half + radius * (1 - np.cos(a))
    if outer:
        end = straight + (radius + outer) * np.sin(turn)
        x = np.concatenate([x, end - outer * np.sin(a[::-1])])
        y = np.concatenate([y, wide - outer * (1 - np.cos(a[::-1]))])
    return np.concatenate([[0.0], x, [length]]), np.concatenate([[half], y, [wide]])


def shoelace(x, y):
    """Area between a quarter outline and the axes."""
    x, y = np.concatenate([x, [x[-1], 0.0]]), np.concatenate([y, [0.0, 0.0]])
    return abs(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2


@pytest.mark.parametrize("name", SPECIMENS)
def test_area_and_volume(name):
    row = TABLE[name]
    area = 4 * shoelace(*outline(row))
    assert specimen(name).area == pytest.approx(area, rel=1e-7)
    assert specimen(name).volume == pytest.approx(area * mm(row, "thickness"), rel=1e-7)


@pytest.mark.parametrize("name", SPECIMENS)
def test_width_profile(name):
    x, y = outline(TABLE[name])
    inner = x < x[-1]  # the very end is a step
    assert specimen(name).width_at(x[inner]) == pytest.approx(2 * y[inner], abs=1e-12)


def test_the_usual_drawing_of_1a():
    """ISO 527-2 prints 109.3 ± 3.2 mm between the wide ends of 1A (from memory)."""
    assert specimen("ISO 527-2 1A").distance_between_wide_ends == pytest.approx(109.3e-3, abs=5e-5)
