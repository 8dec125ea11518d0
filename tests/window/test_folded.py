"""Many moistures at once are what one after another gives, to the last bit."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.inputs.read_job import read_job
from moldwin.stages.bench import Bench
from moldwin.window.folded import _folded, _singly
from moldwin.window.windows import Setup
from tests.jobs import BAR, DRY, KELP

_BEND = ("blend.softening_c=60", "blend.softening_moisture_pct=9")


@pytest.mark.parametrize("count", [64, 1000])
@pytest.mark.parametrize(
    ("base", "sets"),
    [
        (BAR, ()),
        (KELP, ()),
        (DRY, ("press.sealed_nozzle=true",)),
        (BAR, ("part.wall_mm=15",)),
        (BAR, _BEND),
        (BAR, ("mold.temperature_c=60",)),
        (BAR, ("mold.material=steel",)),
        (KELP, ("blend.cooked=false",)),
    ],
    ids=str,
)
def test_all_moistures_at_once_are_the_same_bits(base, sets, count):
    setup = Setup(Bench(read_job(base, sets), count=count))
    grid = np.linspace(0.03, 0.25, 5)
    chances, margins = _singly(setup, grid)
    at_once, folded = _folded(setup, grid)
    assert np.array_equal(at_once, chances)
    assert set(folded) == set(margins)
    for name, margin in margins.items():
        assert np.array_equal(folded[name], margin), name
