"""What to measure next: how much each cheap measurement would narrow the barrel window."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import numpy as np

from moldwin.advice.answer import Measurement
from moldwin.advice.bench_tests import BenchTest, bench_tests
from moldwin.stages.melting import Barrel
from moldwin.window import judge
from moldwin.window.sensitivity import Influence, influences
from moldwin.window.windows import Setup, Window

__all__ = ["measure_next", "own_middle", "unknowns"]

_MOST_UNKNOWNS = 20
#: A measurement that narrows by less than this share is not worth an evening.
_WORTH = 0.03
#: Tests that are made on the draws: those whose unknowns explain most.
_TRIED = 5
#: Samples that must work somewhere before their own windows are compared.
_ENOUGH = 100
#: A reading that varies by less than this many times its own error is known already.
_KNOWN = 2.0
_T_TEST = 403.15
#: Of the logarithm of pressure, where a kelvin changes next to nothing. [1/K]
_LEAST_SLOPE = 0.02
#: Multiples of it fill the unit interval evenly.
_GOLDEN = 0.5 * (np.sqrt(5.0) - 1.0)


def measure_next(
    setup: Setup, window: Window, *, heating: bool = True, among: list[Influence] | None = None
) -> list[Measurement]:
    """Measurements by how much of the width of the best barrel temperature they take away.

    Each sample has its own window; its middle is what nobody knows. The Sobol' indices say which
    unknowns move it, and so which tests are worth a try. Each of those is then made on the draws:
    they are moved by its likely reading as they would be by a real one, and the middle is worked
    out anew.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    window : Window
        The window at the moisture in question. [-]
    heating : bool
        Whether the page tells to heat; if not, nothing is asked for that needs a hot press. [-]
    among : list of Influence, optional
        What `unknowns` found; left out, it is asked. [-]

    Returns
    -------
    list of Measurement
        The short shot first where flow is the question, then the most telling. [K, min]
    """
    found = unknowns(setup, window) if among is None else among
    stage, barrel = window.barrel_stage, window.barrel
    width = _width(stage, barrel.grid, barrel.soak)
    told: list[tuple[BenchTest, float]] = []
    tests = [test for test in bench_tests(setup, window) if heating or not test.hot]
    tests.sort(key=lambda test: -_explained(found, test.unknowns))
    for test in tests[:_TRIED]:
        after = _width(_measured(setup, window, test), barrel.grid, barrel.soak)
        if after < width:
            told.append((test, after))
    worth = [pair for pair in told if pair[1] < (1.0 - _WORTH) * width]
    # where nothing tells much, what tells most is still better than a guess
    told = worth or sorted(told, key=lambda pair: pair[1])[:1]
    told.sort(key=lambda pair: (not _leads(pair[0]), pair[1]))
    return [
        Measurement(test.what, test.how, test.key, width, after, test.minutes)
        for test, after in told
    ]


def unknowns(setup: Setup, window: Window) -> list[Influence]:
    """The unknowns that move the middle of the samples' own windows, by first-order Sobol' index.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    window : Window
        The window at the moisture in question. [-]

    Returns
    -------
    list of Influence
        Largest first. [-]
    """
    barrel = window.barrel
    middle, kept = own_middle(window.barrel_stage, barrel.grid, barrel.soak)
    return influences(setup.bench, middle, kept, most=_MOST_UNKNOWNS)


def own_middle(stage: Barrel, grid: Any, soak: float) -> tuple[Any, Any]:
    """Middle of each sample's own window, and which samples have one. [K]

    Where hardly any sample works at all, the lowest temperature that fills stands in.

    Parameters
    ----------
    stage : Barrel
        At one moisture. [-]
    grid : array, shape (t,)
        Rising set points, evenly spaced. [K]
    soak : float
        Time in the barrel. [s]
    """
    # a grid of its own for each sample: on one for all every middle would be a multiple of its step
    step = float(np.median(np.diff(grid)))
    spread = (np.arange(stage.bench.count) * _GOLDEN) % 1.0 - 0.5
    at = grid[:, None, None] + step * spread
    verdict = judge.holds(stage.margins(at, np.array([soak])))[:, 0]
    works = verdict.any(axis=0)
    if works.sum() >= _ENOUGH:
        weights = verdict[:, works]
        return (at[:, 0, works] * weights).sum(0) / weights.sum(0), works
    return _lowest_that_fills(stage, soak), np.ones_like(works)


def _width(stage: Barrel, grid: Any, soak: float) -> float:
    """Width of the 90 % interval of the middle. [K]"""
    middle, _ = own_middle(stage, grid, soak)
    return float(np.subtract(*np.quantile(middle, [0.95, 0.05])))


def _measured(setup: Setup, window: Window, test: BenchTest) -> Barrel:
    """The barrel after the test gave its likely readings."""
    job = setup.bench.job
    # the draws have heard of a bend test in the job already
    bench = setup.bench.with_job(replace(job, blend=replace(job.blend, softening=None)))
    bench.draws = setup.bench.draws.copy()
    for reading, u in test.readings:
        reading = np.broadcast_to(reading, (bench.count,))
        columns = setup.bench.columns.values()
        bench.draws.shift(columns, reading, float(np.median(reading)), u)
    return Setup(bench, setup.confidence).barrel(window.state.nominal)


def _explained(found: Iterable[Influence], endings: tuple[str, ...]) -> float:
    """Share of the variance that the unknowns a test tells of explain together. [-]"""
    return sum(i.share for i in found if i.name.endswith(endings))


def _leads(test: BenchTest) -> bool:
    """Whether this is the short shot and flow is not known yet: that costs most by far."""
    reading, u = test.readings[0]
    return test.hot and float(np.std(reading)) > _KNOWN * u


def _lowest_that_fills(stage: Barrel, soak: float) -> Any:
    """Temperature at which each sample would fill, carried on past the grid where none does. [K]

    By one slope for all: where hardly anything flows each sample's own is next to nothing.
    """
    at = np.array([_T_TEST, _T_TEST + 20.0])
    cold, warm = np.clip(stage.margins(at, np.array([soak]))["fill"][:, 0], -50.0, 50.0)
    slope = max(float(np.median(warm - cold)) / 20.0, _LEAST_SLOPE)
    return _T_TEST - cold / slope
