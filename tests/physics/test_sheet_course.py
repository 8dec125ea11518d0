"""The solver for gels: limits with an answer on paper, water kept, finer grids."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics import sheet_course as module
from moldwin.physics.diffusion import unaccomplished
from moldwin.physics.sheet_course import sheet_course

DENSITY, THICK = 1450.0, 1e-3


def linear(k, end):
    return lambda x: k * (x - end)


def gel(end=0.1, factor=1.0, longest=4e5, **options):
    """A gel whose skin is wet down to a third, and whose diffusivity falls thirtyfold."""
    return sheet_course(
        longest,
        4.0,
        end,
        THICK,
        DENSITY,
        lambda x: factor * 2e-12 * (1.0 + 30.0 * x / (1.0 + x)),
        lambda x: 2e-5 * np.tanh(8.0 * (x - end)),
        **options,
    )


@pytest.mark.parametrize("biot", [0.1, 1.0, 30.0])
def test_constant_diffusivity_is_the_series(biot):
    d, start, end = 1e-11, 0.3, 0.2
    k = biot * d * DENSITY / THICK
    course = sheet_course(2e5, start, end, THICK, DENSITY, lambda x: d + 0.0 * x, linear(k, end))
    later = course.times > 2e3
    # one open face of a sheet is half of a slab open on both
    left = unaccomplished("slab", d * course.times[later] / THICK**2, biot)
    assert (course.mean[later] - end) / (start - end) == pytest.approx(left, abs=0.006)


def test_water_is_kept():
    course = gel()
    assert course.left == pytest.approx(DENSITY * THICK * (4.0 - course.mean), rel=1e-9, abs=1e-12)


def test_while_the_skin_is_wet_the_air_alone_sets_the_pace():
    course = gel(factor=1e4)
    early = (course.times > 0) & (course.mean > 1.0)
    assert course.left[early] == pytest.approx(2e-5 * course.times[early], rel=1e-3)


def test_ever_drier_from_skin_to_underside():
    course = gel()
    assert np.all(np.diff(course.mean) <= 1e-12)
    assert np.all((course.skin <= course.mean + 1e-9) & (course.mean <= course.underside + 1e-9))


@pytest.mark.parametrize("goal", [2.0, 0.5, 0.15])
def test_a_grid_four_times_finer_says_the_same_within_a_hundredth(monkeypatch, goal):
    def time(course):
        return np.interp(-goal, -course.mean, course.times)

    usual, coarse = time(gel()), time(gel(steps=50))
    monkeypatch.setattr(module, "_CELLS", 64)
    monkeypatch.setattr(module, "_TABLE", 1025)
    fine = time(gel(steps=600))
    assert usual == pytest.approx(fine, rel=0.01)
    assert coarse == pytest.approx(fine, rel=0.05)


def test_sets_together_are_each_alone():
    ends = np.array([0.05, 0.1, 0.2])
    together = gel(ends)
    for i, end in enumerate(ends):
        alone = gel(float(end))
        assert together.mean[i] == pytest.approx(alone.mean, rel=1e-6)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"x_start": 0.1}, "x_start must be above x_end"),
        ({"x_start": -1.0}, "x_start must lie"),
        ({"x_end": 0.0}, "x_end must be above 0"),
        ({"thickness": 0.0}, "thickness must be above 0"),
        ({"density": -1.0}, "density must be above 0"),
        ({"steps": 3}, "steps must be at least 10"),
        ({"longest": 0.0}, "longest must be above 0"),
        ({"diffusivity": lambda x: 0.0 * x}, "diffusivity must be above 0"),
        ({"evaporation": lambda x: -x}, "evaporation must rise"),
    ],
)
def test_the_impossible_is_refused(changes, words):
    usual = {
        "longest": 1e5,
        "x_start": 3.0,
        "x_end": 0.1,
        "thickness": THICK,
        "density": DENSITY,
        "diffusivity": lambda x: 1e-11 + 0.0 * x,
        "evaporation": linear(1e-5, 0.1),
    }
    with pytest.raises(ValueError, match=words):
        sheet_course(**{**usual, **changes})
