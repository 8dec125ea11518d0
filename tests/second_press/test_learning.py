"""Makers who learn from their own trials on a press that obeys other laws."""

from __future__ import annotations

import numpy as np
import pytest

from tests.second_press.hidden import truths
from tests.second_press.known import makers
from tests.second_press.learning import learn, witness
from tests.second_press.press import shoot
from tests.second_press.trial import alike

#: Makers who ask; about six in seven of them can be served.
MAKERS = 60


@pytest.fixture(scope="module")
def learned():
    """What becomes of them; what does not bear on the settings is not worked out, to save time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("moldwin.advice.advise.find_remedies", lambda *_, **__: [])
        patch.setattr("moldwin.advice.advise.measure_next", lambda *_, **__: [])
        return learn(MAKERS)


def test_there_are_makers_enough_to_tell(learned):
    assert learned.served > 0.7 * MAKERS


def test_trials_teach(learned):
    assert learned.first < learned.second <= learned.third <= learned.afterward
    assert learned.third > learned.first + 0.05


def test_three_trials_serve_nine_makers_in_ten(learned):
    assert learned.third >= 0.9


# -- what a maker notes ----------------------------------------------------------------------


def one(barrel, soak=600.0, seed=3):
    known = makers(np.random.default_rng(seed), 1)
    truth = truths(np.random.default_rng(seed + 1), known)
    settings = alike(known, truth, (12.0, barrel, soak, 60.0))
    return known, truth, settings


def test_the_notes_agree_with_the_verdict():
    for seed in range(12):
        known, truth, settings = one(125.0, seed=seed)
        seen, verdict = witness(known, truth, settings, np.random.default_rng(0))
        again = {name: bool(broken[0]) for name, broken in shoot(known, truth, settings).items()}
        assert verdict == again
        assert seen.filled == (None if verdict["little-charge"] else not verdict["short"])
        assert (seen.fill == 1.0) == (seen.filled is True)
        assert (seen.bubbles == "none") == (
            not (verdict["spat"] or verdict["bubbles"] or verdict["puffed"])
        )


def test_longer_and_hotter_is_darker_and_minded_from_where_it_counts_as_spoiled():
    colors = []
    for barrel in (100.0, 140.0, 180.0):
        known, truth, settings = one(barrel)
        seen, verdict = witness(known, truth, settings, np.random.default_rng(0))
        colors.append(seen.color)
        assert verdict["browned"] == (seen.color > 2.5) or abs(seen.color - 2.5) <= 0.5
    assert colors == sorted(colors)
    assert colors[-1] > colors[0]
