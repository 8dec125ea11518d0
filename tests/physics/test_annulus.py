"""A charge round a spreader: limits that are known, and a finite-volume solution."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.annulus import annulus_mode
from moldwin.physics.diffusion import unaccomplished
from moldwin.physics.soaking import first_mode, warming_shortfall


@pytest.mark.parametrize("biot", [0.5, 5.0, 50.0, np.inf])
def test_without_a_spreader_it_is_the_full_cylinder(biot):
    thin, full = annulus_mode(1e-3, biot), first_mode(biot)
    assert thin == pytest.approx(full, rel=1e-4, abs=1e-9)


@pytest.mark.parametrize("biot_of_layer", [0.5, 10.0])
def test_a_thin_layer_is_a_plate_heated_from_one_side(biot_of_layer):
    core, layer = 0.99, 0.01
    mode = annulus_mode(core, biot_of_layer / layer)
    for fourier in (0.3, 1.0):
        for where in ("center", "mean"):
            plate = unaccomplished("slab", fourier, biot_of_layer, where=where)
            ours = warming_shortfall(where, fourier * layer**2, mode, check=False)
            assert ours == pytest.approx(plate, rel=0.03)


def _finite_volume(core, biot, until, cells=200):
    """What is missing at the spreader, on average and at the wall; unit radius and diffusivity."""
    faces = np.linspace(core, 1.0, cells + 1)
    middle, volume = (faces[1:] + faces[:-1]) / 2, (faces[1:] ** 2 - faces[:-1] ** 2) / 2
    between = faces[1:-1] / np.diff(middle)
    wall = 1.0 / (1.0 / biot + (1.0 - middle[-1]))
    matrix = np.diag(np.zeros(cells))
    inner = np.arange(cells - 1)
    matrix[inner, inner] += between
    matrix[inner + 1, inner + 1] += between
    matrix -= np.diag(between, 1) + np.diag(between, -1)
    matrix[-1, -1] += wall
    step = until / 400
    left, keep = np.ones(cells), np.linalg.inv(np.diag(volume / step) + matrix)
    for _ in range(400):
        left = keep @ (volume / step * left)
    skin = left[-1] - wall * left[-1] * (1.0 - middle[-1])
    return left[0], float(left @ volume / volume.sum()), skin


@pytest.mark.parametrize(("core", "biot"), [(0.2, 20.0), (0.5, 5.0), (0.5, 200.0), (0.8, 40.0)])
def test_against_a_finite_volume_solution(core, biot):
    mode = annulus_mode(core, biot)
    until = 1.5 / mode.root**2
    true = _finite_volume(core, biot, until)
    ours = [warming_shortfall(where, until, mode, check=False) for where in mode._fields[1:]]
    assert ours == pytest.approx(true, rel=0.02, abs=0.002)


def test_a_thicker_spreader_and_a_better_wall_are_quicker():
    by_core = [annulus_mode(core, 20.0).root for core in (0.1, 0.3, 0.5, 0.7, 0.9)]
    by_wall = [annulus_mode(0.5, biot).root for biot in (0.3, 3.0, 30.0, np.inf)]
    assert np.all(np.diff(by_core) > 0)
    assert np.all(np.diff(by_wall) > 0)


def test_scalar_and_array_agree():
    biot = np.array([0.5, 8.0, 300.0])
    together = annulus_mode(0.4, biot)
    for i, value in enumerate(biot):
        assert annulus_mode(0.4, value) == pytest.approx([part[i] for part in together])


@pytest.mark.parametrize(("core", "biot", "word"), [(1.2, 5.0, "core"), (0.5, 0.0, "biot")])
def test_the_impossible_is_refused(core, biot, word):
    with pytest.raises(ValueError, match=word):
        annulus_mode(core, biot)
