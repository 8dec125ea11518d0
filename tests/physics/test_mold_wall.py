"""Cooling in a mold that leads heat poorly: exact solutions, and a finite-volume one."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import erf

from moldwin.physics.diffusion import unaccomplished
from moldwin.physics.heat import cooling_time
from moldwin.physics.mold_wall import contact_share, fourier_in_mold


def test_two_bodies_alike_meet_halfway_and_a_perfect_mold_stays_cold():
    assert contact_share(700.0, 700.0) == 0.5
    assert contact_share(700.0, 1e9) == pytest.approx(1.0, abs=1e-5)
    assert contact_share(820.0, np.array([20000.0, 550.0])).tolist() == [
        contact_share(820.0, 20000.0),
        contact_share(820.0, 550.0),
    ]


@pytest.mark.parametrize("shape", ["plate", "cylinder"])
@pytest.mark.parametrize("where", ["mean", "center"])
@pytest.mark.parametrize("left", [0.95, 0.5, 0.1, 0.01])
def test_a_perfect_mold_gives_the_series(shape, where, left):
    fourier = fourier_in_mold(shape, left, 0.0, 1.0, where)
    series = {"plate": "slab", "cylinder": "cylinder"}[shape]
    assert unaccomplished(series, fourier, where=where) == pytest.approx(left, rel=1e-3)
    seconds = cooling_time(shape, 2e-3, 1e-7, 400.0, 300.0, 300.0 + 100.0 * left, where)
    assert fourier * 1e-3**2 / 1e-7 == pytest.approx(seconds, rel=0.005)


@pytest.mark.parametrize("fourier", [0.2, 1.0, 5.0, 40.0])
def test_a_deep_mold_of_the_same_stuff_is_an_endless_body(fourier):
    """Carslaw & Jaeger 2.2: a warm layer in an endless body has erf(1/(2 sqrt(Fo))) inside."""
    left = erf(0.5 / np.sqrt(fourier))
    assert fourier_in_mold("plate", left, 1.0, np.inf, "center") == pytest.approx(
        fourier, rel=0.005
    )


def _finite_volume(ratio, depth, until, cells=150):
    """Center and mean of a plate of unit half-thickness in a mold of the same diffusivity.

    With equal diffusivities the conductivity of the mold is 1/ratio, its thickness ``depth``.
    """
    inside, behind = np.full(cells, 1.0 / cells), np.full(cells, depth / cells)
    size = np.concatenate([inside, behind])
    k = np.concatenate([np.ones(cells), np.full(cells, 1.0 / ratio)])
    left = np.concatenate([np.ones(cells), np.zeros(cells)])
    between = 1.0 / (0.5 * size[:-1] / k[:-1] + 0.5 * size[1:] / k[1:])
    matrix = np.zeros((2 * cells, 2 * cells))
    i = np.arange(2 * cells - 1)
    matrix[i, i] += between
    matrix[i + 1, i + 1] += between
    matrix -= np.diag(between, 1) + np.diag(between, -1)
    matrix[-1, -1] += k[-1] / (0.5 * size[-1])
    step = until / 800
    store = k * size / step
    keep = np.linalg.inv(np.diag(store) + matrix)
    for _ in range(800):
        left = keep @ (store * left)
    return {"center": left[0], "mean": left[:cells].mean()}


@pytest.mark.parametrize(
    ("ratio", "depth", "until"),
    [(1.5, 10.0, 2.0), (1.5, 2.0, 6.0), (0.3, 4.0, 1.0), (0.05, 0.5, 0.8)],
)
def test_against_a_finite_volume_solution(ratio, depth, until):
    for where, left in _finite_volume(ratio, depth, until).items():
        ours = fourier_in_mold("plate", left, ratio, depth, where)
        assert ours == pytest.approx(until, rel=0.015)


def test_a_poorer_mold_takes_longer_and_a_thinner_wall_helps_it():
    by_ratio = [fourier_in_mold("plate", 0.3, r, 5.0, "mean") for r in (0.0, 0.05, 0.5, 1.5, 4.0)]
    by_depth = [fourier_in_mold("plate", 0.1, 1.5, d, "mean") for d in (0.5, 2.0, 8.0, np.inf)]
    assert np.all(np.diff(by_ratio) > 0)
    assert np.all(np.diff(by_depth) > 0)


def test_cool_enough_is_at_once_and_never_is_infinite():
    found = fourier_in_mold("plate", np.array([1.2, 1.0, 0.0, -0.2]), 1.0, 3.0, "mean")
    assert found.tolist() == [0.0, 0.0, np.inf, np.inf]
    assert np.isnan(fourier_in_mold("plate", np.nan, 1.0, 3.0, "mean"))


def test_scalar_and_array_agree():
    left = np.array([0.8, 0.3, 0.05])
    together = fourier_in_mold("cylinder", left, 1.2, 6.0, "center")
    assert together.tolist() == [fourier_in_mold("cylinder", x, 1.2, 6.0, "center") for x in left]


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: fourier_in_mold("ball", 0.5, 1.0, 1.0, "mean"), "ball"),
        (lambda: fourier_in_mold("plate", 0.5, 1.0, 1.0, "skin"), "skin"),
        (lambda: fourier_in_mold("plate", 0.5, -1.0, 1.0, "mean"), "ratio"),
        (lambda: fourier_in_mold("plate", 0.5, 1.0, 0.0, "mean"), "depth"),
        (lambda: contact_share(0.0, 500.0), "effusivity_melt"),
    ],
)
def test_the_impossible_is_refused(call, word):
    with pytest.raises(ValueError, match=word):
        call()
