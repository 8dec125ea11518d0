"""The chance promised must be the chance kept, on a press that obeys other laws."""

from __future__ import annotations

import pytest

from tests.second_press.report import TARGET, largest_gap, run

#: Makers who ask. Quarters of the scale of promises then hold enough of them each; 25 others who
#: know the same try each page, so that a quarter of 12 makers is known to about 0.07.
MAKERS = 120
TWINS = 25
QUARTERS = 4
ENOUGH = 12


@pytest.fixture(scope="module")
def report():
    """What the makers show; remedies and what to measure next are not worked out, to save time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("moldwin.advice.advise.find_remedies", lambda *_, **__: [])
        patch.setattr("moldwin.advice.advise.measure_next", lambda *_, **__: [])
        return run(MAKERS, twins=TWINS, parts=QUARTERS)


def test_there_are_makers_enough_to_tell(report):
    assert report.served > 0.7 * MAKERS
    assert sum(part.makers >= ENOUGH for part in report.barrel) >= 3
    assert all(part.error < TARGET for part in report.barrel if part.makers >= ENOUGH)


def test_higher_promises_are_kept_more_often(report):
    kept = [part.kept for part in report.whole if part.makers >= ENOUGH]
    assert kept[-1] > kept[0]


def test_advisor_beats_drying_overnight(report):
    assert report.advisor > report.overnight


def test_advisor_beats_the_one_setting_that_is_best_for_all(report):
    """By a maker in a hundred, the best of a thousand settings known afterward: level with it."""
    assert report.advisor > report.one_setting


@pytest.mark.xfail(
    strict=True,
    reason="misses by 0.25 on the safe side: melts of this press flow easier than is known of "
    "such melts, a third should stay short, one in eleven does; at the blind press it is kept",
)
def test_chance_of_the_whole_is_kept(report):
    assert abs(largest_gap(report.whole, ENOUGH)) <= TARGET


@pytest.mark.xfail(
    strict=True,
    reason="misses by 0.25 on the safe side, for the same reason",
)
def test_chance_of_the_barrel_is_kept(report):
    assert abs(largest_gap(report.barrel, ENOUGH)) <= TARGET
