"""The diffusion series against long sums, short-time solutions and finite differences."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import special

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics import diffusion

SHAPES = ("slab", "cylinder", "sphere")
FOURIER = np.array([0.0, 1e-7, 1e-4, 3e-3, 0.0199, 0.02, 0.0201, 0.05, 0.3, 2.0])


def ierfc(x):
    return np.exp(-(x**2)) / np.sqrt(np.pi) - x * special.erfc(x)


def by_images(shape, fourier):
    """Crank's short-time solutions for slab and sphere, exact with enough images."""
    f = np.maximum(fourier, 1e-300)
    n = np.arange(1, 60)
    images = ierfc(n / np.sqrt(f)[:, None])
    if shape == "slab":
        return 1 - 2 * np.sqrt(f) * (1 / np.sqrt(np.pi) + 2 * ((-1.0) ** n * images).sum(-1))
    return 1 - 6 * np.sqrt(f) * (1 / np.sqrt(np.pi) + 2 * images.sum(-1)) + 3 * f


@pytest.mark.parametrize("shape", ["slab", "sphere"])
def test_every_fourier_number_against_images(shape):
    ours = diffusion.unaccomplished(shape, FOURIER)
    assert ours == pytest.approx(by_images(shape, FOURIER), abs=1e-9)


def test_every_fourier_number_of_a_cylinder_against_a_long_sum():
    beta = special.jn_zeros(0, 3000)
    fourier = FOURIER[FOURIER > 1e-6]  # 3000 terms carry that far
    exact = (4 / beta**2 * np.exp(-(beta**2) * fourier[:, None])).sum(-1)
    assert diffusion.unaccomplished("cylinder", fourier) == pytest.approx(exact, abs=1e-9)
    assert diffusion.unaccomplished("cylinder", 1e-7) == pytest.approx(
        1 - 4 * np.sqrt(1e-7 / np.pi) + 1e-7, abs=1e-9
    )


@pytest.mark.parametrize("biot", [1e-3, 0.1, 1.0, 3.0, 40.0])
@pytest.mark.parametrize("shape", SHAPES)
def test_surface_resistance_against_a_long_sum(shape, biot):
    """Amplitudes as printed in the textbook, 2000 of them; roots checked on their own below."""
    beta2 = diffusion.roots(shape, biot, 2000) ** 2
    bottom = {"slab": biot**2 + biot, "cylinder": biot**2, "sphere": biot**2 - biot}[shape]
    top = {"slab": 2, "cylinder": 4, "sphere": 6}[shape] * biot**2
    fourier = FOURIER[FOURIER > 1e-5]
    exact = (top / (beta2 * (beta2 + bottom)) * np.exp(-beta2 * fourier[:, None])).sum(-1)
    assert diffusion.unaccomplished(shape, fourier, biot) == pytest.approx(exact, abs=1e-9)
    assert diffusion.unaccomplished(shape, 0.0, biot) == 1.0


@pytest.mark.parametrize("shape", SHAPES)
def test_roots_solve_the_printed_equation(shape):
    biot = np.array([1e-6, 1e-3, 0.3, 1.0, 1.7, 25.0, 1e4])[:, None]
    beta = diffusion.roots(shape, biot[:, 0], 30)
    miss, slope = {
        "slab": lambda b: (b * np.sin(b) - biot * np.cos(b), biot + b),
        "cylinder": lambda b: (
            b * special.j1(b) - biot * special.j0(b),
            (biot + b) * np.sqrt(2 / np.pi / np.maximum(b, 1)),
        ),
        "sphere": lambda b: (b * np.cos(b) + (biot - 1) * np.sin(b), biot + b),
    }[shape](beta)
    assert np.abs(miss / slope).max() < 1e-12
    assert np.all(np.diff(beta, axis=-1) > 2)  # none left out, none twice
    assert np.all(np.diff(beta, axis=-1)[:, 1:] < 3.3)


@pytest.mark.parametrize(("shape", "dimension"), [("slab", 1), ("cylinder", 2), ("sphere", 3)])
def test_limits_of_the_biot_number(shape, dimension):
    """Small: one exponential, surface over volume; large: no resistance."""
    time = np.array([0.1, 1.0, 3.0])
    lumped = diffusion.unaccomplished(shape, time / (dimension * 1e-5), 1e-5)
    assert lumped == pytest.approx(np.exp(-time), abs=1e-5)
    free = diffusion.unaccomplished(shape, 0.1)
    assert diffusion.unaccomplished(shape, 0.1, 1e7) == pytest.approx(free, abs=1e-6)


def test_sphere_with_resistance_against_finite_differences():
    cells, biot = 400, 2.0
    edges = np.linspace(0.0, 1.0, cells + 1)
    volume = np.diff(edges**3) / 3
    conductance = edges[1:-1] ** 2 * cells
    outer = 1 / (1 / biot + 0.5 / cells)
    matrix = np.zeros((cells, cells))
    i = np.arange(cells - 1)
    matrix[i, i] -= conductance
    matrix[i, i + 1] += conductance
    matrix[i + 1, i + 1] -= conductance
    matrix[i + 1, i] += conductance
    matrix[-1, -1] -= outer
    scale = np.sqrt(volume)
    rates, vectors = np.linalg.eigh(matrix / np.outer(scale, scale))
    weight = (vectors.T @ scale) ** 2
    for fourier in (0.005, 0.05, 0.4):
        left = (weight * np.exp(rates * fourier)).sum() / volume.sum()
        assert diffusion.unaccomplished("sphere", fourier, biot) == pytest.approx(left, abs=2e-5)


@pytest.mark.parametrize("biot", [0.05, 1.0, np.inf])
@pytest.mark.parametrize("shape", SHAPES)
def test_fourier_at_is_the_inverse(shape, biot):
    left = np.array([0.999999, 0.99, 0.8, 0.5, 0.1, 0.01, 1e-6])
    fourier = diffusion.fourier_at(shape, left, biot)
    assert diffusion.unaccomplished(shape, fourier, biot) == pytest.approx(left, rel=1e-9)
    assert diffusion.fourier_at(shape, np.array([1.0, 0.0]), biot).tolist() == [0.0, np.inf]


@pytest.mark.parametrize("biot", [0.5, np.inf])
def test_finite_cylinder(biot):
    for aspect in (0.2, 1.3, 5.0):
        fourier = diffusion.fourier_at("finite-cylinder", 0.1, biot, aspect)
        left = diffusion.unaccomplished_cylinder(fourier, fourier / aspect**2, biot, biot * aspect)
        assert left == pytest.approx(0.1, rel=1e-9)
    long = diffusion.fourier_at("finite-cylinder", 0.1, biot, 1e4)
    assert long == pytest.approx(diffusion.fourier_at("cylinder", 0.1, biot), rel=1e-3)
    flat = diffusion.fourier_at("finite-cylinder", 0.1, biot / 1e-4, 1e-4) / 1e-8
    assert flat == pytest.approx(diffusion.fourier_at("slab", 0.1, biot), rel=1e-3)


def test_center_lags_the_mean():
    for shape in SHAPES:
        center = diffusion.unaccomplished(shape, FOURIER, where="center")
        assert np.all(center >= diffusion.unaccomplished(shape, FOURIER) - 1e-12)
        assert center[0] == 1.0
    # slab: first term of the textbook's series at a long time
    expected = 4 / np.pi * np.exp(-(np.pi**2) / 4 * 2.0)
    assert diffusion.unaccomplished("slab", 2.0, where="center") == pytest.approx(expected)


def test_array_is_scalar_after_scalar():
    biot = np.array([0.1, 2.0, np.inf, np.inf, 7.0])
    fourier = np.array([[0.001], [0.3]])
    together = diffusion.unaccomplished("cylinder", fourier, biot)
    for i in range(2):
        for j in range(5):
            alone = diffusion.unaccomplished("cylinder", fourier[i, 0], biot[j])
            assert np.ndim(alone) == 0
            assert together[i, j] == pytest.approx(alone, abs=1e-12)
    aspect = np.array([0.5, 2.0])
    both = diffusion.fourier_at("finite-cylinder", 0.1, biot[:2], aspect)
    alone = [
        diffusion.fourier_at("finite-cylinder", 0.1, b, a)
        for b, a in zip(biot, aspect, strict=False)
    ]
    assert both == pytest.approx(alone, rel=1e-10)


def test_nan_in_nan_out():
    assert np.isnan(diffusion.unaccomplished("slab", np.nan))
    assert np.isnan(diffusion.unaccomplished("sphere", [0.01, 0.1], np.nan)).all()
    assert np.isnan(diffusion.fourier_at("cylinder", np.nan))
    assert np.isnan(diffusion.roots("sphere", np.nan, 2)).all()


def test_diffusivities():
    x = np.array([0.05, 0.10, 0.15])
    d = diffusion.dense_starch_diffusivity(x, 333.15)
    assert np.all(np.diff(d) > 0)
    assert diffusion.dense_starch_diffusivity(0.1, 343.15) > d[1]
    assert diffusion.vapor_diffusivity(273.15) == pytest.approx(0.2178e-4)
    assert diffusion.vapor_diffusivity(300.0, 50662.5) == pytest.approx(
        2 * diffusion.vapor_diffusivity(300.0)
    )
    one, two = (diffusion.still_air_conductance(60e-4, gap, 298.15) for gap in (0.05, 0.1))
    assert one == pytest.approx(2 * two)
    with pytest.warns(OutOfRangeWarning, match="298.15"):
        diffusion.dense_starch_diffusivity(0.1, 298.15)
    with pytest.warns(OutOfRangeWarning):
        diffusion.vapor_diffusivity(450.0)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: diffusion.unaccomplished("cube", 0.1), "cube"),
        (lambda: diffusion.unaccomplished("slab", -0.1), "fourier"),
        (lambda: diffusion.unaccomplished("slab", 0.1, 0.0), "sealed"),
        (lambda: diffusion.unaccomplished("slab", 0.1, where="edge"), "edge"),
        (lambda: diffusion.fourier_at("slab", 50.0), "left"),
        (lambda: diffusion.fourier_at("slab", 0.5, aspect=1.0), "aspect"),
        (lambda: diffusion.fourier_at("finite-cylinder", 0.5), "aspect"),
        (lambda: diffusion.roots("slab", 1.0, 0), "count"),
        (lambda: diffusion.dense_starch_diffusivity(-0.1, 333.15), "x must"),
        (lambda: diffusion.vapor_diffusivity(25.0), "°C"),
        (lambda: diffusion.still_air_conductance(60e-4, 0.0, 298.15), "gap"),
    ],
)
def test_refuses_the_impossible(call, match):
    with pytest.raises(ValueError, match=match):
        call()
