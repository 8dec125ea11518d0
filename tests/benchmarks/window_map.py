"""The map of one job, against its cells worked out one after another by the same stages."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldwin.inputs.files import shipped
from moldwin.inputs.read_job import read_job
from moldwin.stages.bench import Bench
from moldwin.window.judge import chance
from moldwin.window.mapping import Map, moisture_map
from moldwin.window.windows import Setup
from tests.benchmarks.measuring import peak_mib, seconds
from tests.benchmarks.row import Row

#: Points along either axis, samples of each.
GRID, COUNT = 60, 2000
REPEATS = 3
EXAMPLE = "kelp-plant-labels.toml"


def ours() -> Map:
    """All of it: frame, chances, limits, places; one thread, as the peer."""
    return moisture_map(_setup(), GRID, threads=1)


def cell_by_cell(moisture: Any, barrel: Any) -> Any:
    """Barrel chances alone, at places found before, shape (t, w): every set point at every soak."""
    setup, found = _setup(), np.empty((len(barrel), len(moisture)))
    for j, water in enumerate(moisture):
        stage = setup.barrel(float(water))
        for i, t_set in enumerate(barrel):
            found[i, j] = chance(stage.margins(np.array([t_set]), setup.soaks)).max()
    return found


def run() -> Row:
    """Processor times, the better of some runs each."""
    ours_s, drawn = min((seconds(ours) for _ in range(REPEATS)), key=lambda pair: pair[0])
    places = drawn.moisture, drawn.barrel
    peer_s, plain = min(
        (seconds(lambda: cell_by_cell(*places)) for _ in range(REPEATS)), key=lambda pair: pair[0]
    )
    return Row(
        name="window-map",
        ours_s=ours_s,
        peer="a loop over the cells, each by the same stages at every soak; barrel chances alone",
        peer_s=peer_s,
        ratio=peer_s / ours_s,
        gate=f"all {GRID} x {GRID} barrel chances equal, of {COUNT} samples each",
        passed=bool(np.array_equal(drawn.barrel_chance, plain)),
        peak_mib=peak_mib(ours),
        peer_peak_mib=peak_mib(lambda: cell_by_cell(*places)),
    )


def _setup() -> Setup:
    return Setup(Bench(read_job(shipped("examples") / EXAMPLE, ()), count=COUNT))
