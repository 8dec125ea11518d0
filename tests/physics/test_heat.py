"""Cooling and soaking against finite differences, limits and guards."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.linalg import eigh_tridiagonal, solve_banded
from scipy.special import gamma

from moldwin.base.ranges import OutOfRangeWarning
from moldwin.physics import heat

MELT = (423.15, 303.15, 333.15)


def finite_differences(width, height, alpha, left, cells=(96, 40)):
    """Time at which a rectangle's mean and center have ``left`` to go, by explicit steps."""
    nx, ny = cells
    dx, dy = width / nx, height / ny
    step = 0.2 / (alpha * (1 / dx**2 + 1 / dy**2))
    t = np.zeros((nx + 1, ny + 1))
    t[1:-1, 1:-1] = 1.0
    before, answers, time = {"mean": 1.0, "center": 1.0}, {}, 0.0
    while len(answers) < 2:
        inner = t[1:-1, 1:-1]
        inner += (
            step
            * alpha
            * (
                (t[2:, 1:-1] - 2 * inner + t[:-2, 1:-1]) / dx**2
                + (t[1:-1, 2:] - 2 * inner + t[1:-1, :-2]) / dy**2
            )
        )
        time += step
        # t is 0 on the rim, so the plain sum over cells is the trapezoid rule
        now = {"mean": t.sum() / (nx * ny), "center": t[nx // 2, ny // 2]}
        for where, value in now.items():
            if where not in answers and value <= left:
                share = (before[where] - left) / (before[where] - value)
                answers[where] = time - step + share * step
        before = now
    return answers


def test_bar_against_finite_differences():
    """Tells the whole series from its first term, which is 2 to 4 % off here."""
    brute = finite_differences(10e-3, 4e-3, 1e-7, 0.25)
    for where, time in brute.items():
        ours = heat.cooling_time("bar", [4e-3, 10e-3], 1e-7, *MELT, where)
        assert ours == pytest.approx(time, rel=0.003), where


def test_a_wide_bar_is_a_plate_and_a_turned_bar_the_same():
    for where in ("mean", "center"):
        plate = heat.cooling_time("plate", 2e-3, 1e-7, *MELT, where)
        assert heat.cooling_time("bar", [2e-3, 50.0], 1e-7, *MELT, where) == pytest.approx(
            plate, rel=1e-3
        )
        turned = [
            heat.cooling_time("bar", size, 1e-7, *MELT, where)
            for size in ([4e-3, 10e-3], [10e-3, 4e-3])
        ]
        assert turned[0] == pytest.approx(turned[1], rel=1e-12)


@pytest.mark.parametrize("where", ["mean", "center"])
@pytest.mark.parametrize("shape", ["plate", "cylinder"])
def test_one_term_holds_for_long_times(shape, where):
    eject = 303.15 + 0.01 * 120
    amplitude, rate = {
        ("plate", "mean"): (8 / np.pi**2, np.pi**2),
        ("plate", "center"): (4 / np.pi, np.pi**2),
        ("cylinder", "mean"): (0.69166, 23.13274),
        ("cylinder", "center"): (1.60197, 23.13274),
    }[shape, where]
    time = np.log(amplitude * 100) / rate * (3e-3) ** 2 / 1e-7
    ours = heat.cooling_time(shape, 3e-3, 1e-7, 423.15, 303.15, eject, where)
    assert ours == pytest.approx(time, rel=1e-5)


def test_guards():
    def time(melt, mold, eject, where="mean"):
        return heat.cooling_time("plate", 2e-3, 1e-7, melt, mold, eject, where)

    for where in ("mean", "center"):
        assert time(330.0, 300.0, 330.0, where) == 0.0  # cool enough already
        assert time(330.0, 340.0, 335.0, where) == 0.0  # so, even in a hotter mold
        assert time(420.0, 350.0, 350.0, where) == np.inf  # gets there, but only in the end
        assert time(420.0, 360.0, 350.0, where) == np.inf
        assert time(420.0, 430.0, 350.0, where) == np.inf
        # one term alone would give a negative time for the mean
        assert 0 < time(420.0, 300.0, 419.0, where) < time(420.0, 300.0, 400.0, where)
    assert np.isnan(time(np.nan, 300.0, 350.0))
    assert np.isnan(time(400.0, np.nan, 450.0))


def test_trends():
    base = heat.cooling_time("plate", 2e-3, 1e-7, *MELT, "center")
    assert heat.cooling_time("plate", 4e-3, 1e-7, *MELT, "center") == pytest.approx(4 * base)
    assert heat.cooling_time("plate", 2e-3, 2e-7, *MELT, "center") == pytest.approx(base / 2)
    assert heat.cooling_time("plate", 2e-3, 1e-7, *MELT, "mean") < base
    assert heat.cooling_time("cylinder", 2e-3, 1e-7, *MELT, "center") < base


@pytest.mark.parametrize("shape", ["plate", "cylinder", "bar"])
def test_array_is_scalar_after_scalar(shape):
    rng = np.random.default_rng(1)
    n = 40
    size = rng.uniform(1e-3, 5e-3, (n, 2) if shape == "bar" else n)
    alpha, melt = rng.uniform(0.8e-7, 1.3e-7, n), rng.uniform(380, 430, n)
    mold, eject = rng.uniform(290, 340, n), rng.uniform(300, 390, n)
    together = heat.cooling_time(shape, size, alpha, melt, mold, eject, "mean")
    one_by_one = [
        heat.cooling_time(shape, *values, "mean")
        for values in zip(size, alpha, melt, mold, eject, strict=True)
    ]
    assert together == pytest.approx(one_by_one, rel=1e-10)
    assert np.ndim(one_by_one[0]) == 0


# ------------------------------------------------------------------ heat lost while filling


def _integral(rate, end, parts=200_000):
    """Integral from zero of what grows without bound there no faster than x^(-1/3)."""
    edges = np.linspace(0.0, 1.0, parts + 1) ** 3 * end
    return float(np.sum(rate((edges[1:] + edges[:-1]) / 2) * np.diff(edges)))


def _local_nusselt(fourier):
    """Lévêque on twice the gap: 2 / (6^(1/3) Gamma(4/3)) x*^(-1/3), x* a quarter of Fourier.

    From the similarity solution over a wall of even temperature, wall shear 6 u/h.
    """
    return 2.0 / (6.0 ** (1 / 3) * gamma(4 / 3)) * (fourier / 4.0) ** (-1 / 3)


def _straightened(lost):
    """What was lost before it was bent over toward 1."""
    return lost / np.sqrt(1.0 - lost**2)


@pytest.mark.parametrize("fourier", [1e-6, 1e-4, 0.01, 0.1, 4.0])
def test_filling_loss_is_the_local_nusselt_number_added_up(fourier):
    """Both walls on h: heat content falls by Nu dFo; then the mean over all times up to Fo."""
    lost = _integral(_local_nusselt, fourier)
    ours = _straightened(heat.filling_heat_loss(fourier))
    assert lost == pytest.approx(5 / 3 * ours, rel=1e-3)
    mean = _integral(lambda fo: (1.0 - fo / fourier) * _local_nusselt(fo), fourier)
    assert ours == pytest.approx(mean, rel=1e-3)
    assert pytest.approx(0.6 * 1.849 * 4 ** (1 / 3), abs=1e-12) == heat.LOSS_COEFFICIENT


def test_filling_loss_is_leveques_own_while_the_layer_is_thin():
    fourier = np.array([1e-8, 1e-6, 1e-5])
    thin = 0.6 * 1.849 * 4 ** (1 / 3) * fourier ** (2 / 3)
    assert heat.filling_heat_loss(fourier) == pytest.approx(thin, rel=1e-6)


def graetz_losses(fouriers, biot=np.inf, cells=200, steps=1600):
    """Mean heat loss of developed Newtonian flow between cold plates, by implicit steps.

    Knows nothing of Lévêque: the whole parabola, both walls with their contact, and melt that gets
    colder.
    """
    dy = 0.5 / cells
    y = (np.arange(cells) + 0.5) * dy
    speed = 6.0 * y * (1.0 - y)  # mean 1
    bands = np.array([[-1.0], [2.0], [-1.0]]) * np.ones(cells) / dy**2
    # the wall behind its contact and half a cell, a mirror in the middle
    bands[1, 0] = 1.0 / dy**2 + 1.0 / (dy / 2.0 + 1.0 / biot) / dy
    bands[1, -1] = 1.0 / dy**2
    # steps grow as the square of the way: fine where the layer is thin
    ends = np.linspace(0.0, 1.0, steps + 1) ** 2 * max(fouriers)
    t, lost = np.ones(cells), [0.0]
    for step in np.diff(ends):
        carried = np.outer([0.0, 1.0, 0.0], speed / step)
        t = solve_banded((1, 1), bands + carried, speed / step * t)
        lost.append(1.0 - float((speed * t).sum() / speed.sum()))
    pieces = (np.array(lost)[1:] + lost[:-1]) / 2 * np.diff(ends)
    total = np.concatenate([[0.0], np.cumsum(pieces)])
    return np.array([float(np.interp(fo, ends, total)) / fo for fo in fouriers])


#: Decades apart, each solved with steps of its own; the worst place of the form is near 0.45.
_DECADES = ([0.001, 0.003, 0.01], [0.03, 0.1], [0.2, 0.3, 0.45, 0.7, 1.0], [2.0, 4.0])


@pytest.mark.parametrize("fouriers", _DECADES, ids=lambda f: f"to-{f[-1]:g}")
def test_filling_loss_against_the_whole_graetz_problem(fouriers):
    """Nearly exact while the layer is thin; .02 too little where the layers meet; then exact."""
    off = heat.filling_heat_loss(np.array(fouriers)) - graetz_losses(fouriers)
    assert np.all(off > -0.0205)  # .0203 at Fourier 0.45, solved ever more finely
    assert np.all(off < 0.007)
    if fouriers[-1] <= 0.1:
        assert np.all(np.abs(off) < 0.005)


@pytest.mark.parametrize(
    "biot",
    [8.0, 20.0, 100.0, np.inf],
)
def test_contact_against_the_whole_graetz_problem(biot):
    for fouriers in _DECADES:
        ours = heat.filling_heat_loss(np.array(fouriers), biot)
        assert ours == pytest.approx(graetz_losses(fouriers, biot), abs=0.0205)


def tube_losses(fouriers, biot=np.inf, cells=400):
    """Heat lost at the end of a tube by developed Newtonian flow: the whole eigenvalue problem."""
    faces = np.arange(cells + 1) / cells
    r = (faces[1:] + faces[:-1]) / 2
    between = faces[1:-1] * cells**2
    to_wall = cells / (0.5 / cells + 2.0 / biot)
    across = np.append(between, to_wall) + np.insert(between, 0, 0.0)
    carried = 2.0 * (1.0 - r**2) * r
    # made symmetric: what a cell carries belongs to both sides
    scale = 1.0 / np.sqrt(carried)
    rates, shapes = eigh_tridiagonal(across * scale**2, -between * scale[1:] * scale[:-1])
    weights = (shapes.T @ np.sqrt(carried)) ** 2 / carried.sum()
    return np.array([1.0 - (weights * np.exp(-4.0 * fo * rates)).sum() for fo in fouriers])


@pytest.mark.parametrize("biot", [8.0, 20.0, 100.0, np.inf])
def test_tube_loss_against_the_whole_graetz_problem(biot):
    fouriers = np.array([0.001, 0.003, 0.01, 0.03, 0.1, 0.3, 1.0])
    off = heat.tube_heat_loss(fouriers, biot) - tube_losses(fouriers, biot)
    assert np.all(np.abs(off) < (0.002 if biot == np.inf else 0.015))


def test_tube_loss_of_long_times_and_published_eigenvalues():
    """First three terms of the series: eigenvalues and weights as printed in textbooks (memory)."""
    squares, weights = np.array([7.313, 44.61, 113.9]), np.array([0.749, 0.544, 0.463])
    for fo in (0.02, 0.05, 0.1, 0.2):
        left = 8.0 * (weights / squares * np.exp(-2.0 * squares * fo)).sum()
        assert heat.tube_heat_loss(fo) == pytest.approx(1.0 - left, abs=0.003)


def test_tube_loss_begins_at_nothing_and_ends_at_all():
    found = heat.tube_heat_loss(np.array([0.0, 1e-12, 1e3, np.nan]))
    assert found[:3] == pytest.approx([0.0, 0.0, 1.0], abs=1e-6)
    assert np.isnan(found[3])
    assert heat.tube_heat_loss(0.1, 0.0) == 0.0
    assert heat.tube_heat_loss(0.0, 0.0) == 0.0
    assert heat.tube_heat_loss(0.1) == heat.tube_heat_loss(np.array([0.1]))[0]
    with pytest.raises(ValueError, match="fourier"):
        heat.tube_heat_loss(-0.1)


@pytest.mark.parametrize("fourier", [0.01, 0.3, 4.0])
def test_poor_contact_alone_sets_the_loss(fourier):
    """Melt all of one temperature loses 2 Bi dFo to two walls: on average over the length Bi Fo."""
    biot = 1e-6
    mean = _integral(lambda fo: (1.0 - fo / fourier) * 2.0 * biot + 0.0 * fo, fourier)
    assert mean == pytest.approx(biot * fourier)
    assert heat.filling_heat_loss(fourier, biot) == pytest.approx(mean, rel=1e-3)


def test_poor_contact_makes_the_loss_small_and_in_proportion():
    lost = heat.filling_heat_loss(0.3, np.array([1e-7, 1e-6, 1e-5]))
    assert lost[1:] / lost[:-1] == pytest.approx([10.0, 10.0], rel=1e-3)
    assert lost[0] < 1e-6
    assert heat.filling_heat_loss(0.3, 0.0) == 0.0


def test_perfect_contact_is_the_default_and_any_other_loses_less():
    fourier = np.array([0.0, 1e-6, 0.01, 0.3, 4.0])
    perfect = heat.filling_heat_loss(fourier)
    assert np.array_equal(heat.filling_heat_loss(fourier, np.inf), perfect)
    assert heat.filling_heat_loss(fourier, 1e9) == pytest.approx(perfect, rel=1e-6)
    biots = np.geomspace(1e-2, 1e5, 30)[:, None]
    assert np.all(np.diff(heat.filling_heat_loss(fourier[1:], biots), axis=0) > 0)
    assert np.all(heat.filling_heat_loss(fourier[1:], biots) < perfect[1:])


@pytest.mark.parametrize("biot", [0.5, 20.0, np.inf])
def test_filling_loss_starts_at_nothing_and_grows_toward_everything(biot):
    assert heat.filling_heat_loss(0.0, biot) == 0.0
    assert heat.filling_heat_loss(1e-12, biot) < 1e-7
    fourier = np.linspace(0.0, 4.0, 200)
    lost = heat.filling_heat_loss(fourier, biot)
    assert np.all(np.diff(lost) > 0)
    assert np.all(lost < 1.0)
    assert heat.filling_heat_loss(1e6, biot, check=False) == pytest.approx(1.0)


def test_filling_loss_grows_as_time_to_two_thirds_at_first_and_ever_more_slowly():
    ratio = heat.filling_heat_loss(8e-6) / heat.filling_heat_loss(1e-6)
    assert ratio == pytest.approx(4.0, rel=1e-5)  # eight times as long: Fo^(2/3)
    lost = heat.filling_heat_loss(np.linspace(0.0, 4.0, 200))
    assert np.all(np.diff(lost, 2) < 0)


def test_flowing_melt_loses_less_than_standing_melt():
    """Standing between its walls it loses 4/sqrt(pi) sqrt(Fo), two thirds of it on average."""
    fourier = np.geomspace(1e-5, 0.1, 40)
    standing = 2 / 3 * 4 / np.sqrt(np.pi) * np.sqrt(fourier)
    assert np.all(heat.filling_heat_loss(fourier) < standing)
    for fo, times in ((0.05, 1.4), (0.01, 1.8)):
        still = 2 / 3 * 4 / np.sqrt(np.pi) * np.sqrt(fo)
        assert still / heat.filling_heat_loss(fo) == pytest.approx(times, abs=0.05)


@pytest.mark.parametrize("biot", [np.inf, 20.0, np.array([np.inf, 20.0, 0.0])])
def test_filling_loss_array_is_scalar_after_scalar(biot):
    fourier = np.array([[0.0, 0.001, 0.01], [0.05, 0.1, np.nan]])
    together = heat.filling_heat_loss(fourier, biot)
    assert together.shape == fourier.shape
    biots = np.broadcast_to(biot, fourier.shape).ravel()
    one_by_one = [
        heat.filling_heat_loss(fo, bi) for fo, bi in zip(fourier.ravel(), biots, strict=True)
    ]
    assert together.ravel() == pytest.approx(one_by_one, rel=1e-14, nan_ok=True)
    assert np.isnan(together[1, 2])
    assert np.ndim(one_by_one[0]) == 0


@pytest.mark.parametrize("fourier", [0.0, 0.1])
def test_filling_loss_of_an_unknown_contact_is_unknown(fourier):
    assert np.isnan(heat.filling_heat_loss(fourier, np.nan))


def test_filling_loss_warns_beyond_what_was_compared():
    heat.filling_heat_loss(4.0)  # the end of the range, no warning
    with pytest.warns(OutOfRangeWarning, match="filling_heat_loss"):
        outside = heat.filling_heat_loss(np.array([0.05, 4.1]))
    assert outside.tolist() == heat.filling_heat_loss(np.array([0.05, 4.1]), check=False).tolist()


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: heat.cooling_time("ball", 2e-3, 1e-7, *MELT, "mean"), "ball"),
        (lambda: heat.cooling_time("plate", 2e-3, 1e-7, *MELT, "skin"), "skin"),
        (lambda: heat.cooling_time("plate", 0.0, 1e-7, *MELT, "mean"), "size"),
        (lambda: heat.cooling_time("bar", 2e-3, 1e-7, *MELT, "mean"), "width"),
        (lambda: heat.cooling_time("plate", 2e-3, 1e-7, 150.0, 30.0, 60.0, "mean"), "°C"),
        (lambda: heat.filling_heat_loss(-1e-6), "fourier"),
        (lambda: heat.filling_heat_loss([0.01, -0.01], check=False), "fourier"),
        (lambda: heat.filling_heat_loss(0.01, -1e-6), "biot"),
        (lambda: heat.filling_heat_loss(0.01, [20.0, -20.0], check=False), "biot"),
    ],
)
def test_refuses_the_impossible(call, match):
    with pytest.raises(ValueError, match=match):
        call()
