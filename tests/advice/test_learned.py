"""What the page says that trials have done to the barrel window."""

from __future__ import annotations

import pytest

from moldwin.advice.learned import Learned


@pytest.mark.parametrize(
    ("now", "before", "effect"),
    [
        ((118.0, 139.0), (104.0, 151.0), "Narrowed"),
        ((113.0, 174.0), (104.0, 133.0), "Widened"),
        ((110.0, 140.0), (100.0, 130.0), "Moved"),
        ((110.2, 140.1), (109.9, 139.8), "Unchanged"),  # as the page rounds them
        ((110.0, 140.0), (None, None), "Opened"),
        ((None, None), (110.0, 140.0), "Closed"),
        ((None, None), (None, None), "Still closed"),
    ],
)
def test_a_window_that_grew_is_not_called_narrowed(now, before, effect):
    assert Learned(6, *now, 0.9, *before, 0.8).effect == effect


@pytest.mark.parametrize(
    ("trials", "words"), [(0, "your weighings"), (1, "your 1 trial"), (6, "your 6 trials")]
)
def test_by_what(trials, words):
    assert Learned(trials, 1.0, 2.0, 0.9, 1.0, 2.0, 0.9).by == words
