"""Whatever the tool says comes from one verdict: bend that, and everything else bends with it."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.advice.advise import advise
from moldwin.window import judge
from tests.jobs import BAR, DRY, KELP

COUNT = 128


def _shape(margins):
    return np.broadcast_shapes(*(np.shape(m) for m in margins.values()))


def _always(margins):
    return np.ones(_shape(margins), dtype=bool)


def _never(margins):
    return np.zeros(_shape(margins), dtype=bool)


def _above_400(top):
    """Fine wherever the barrel is set above 400 K, and nowhere else."""

    def verdict(margins):
        if "heater" not in margins:
            return _always(margins)
        set_point = top - margins["heater"]
        return np.broadcast_to(set_point > 400.0, _shape(margins)).copy()

    return verdict


def _below_400(top):
    """Fine wherever the barrel is set below 400 K: a limit of the high side that turns once."""

    def verdict(margins):
        if "heater" not in margins:
            return _always(margins)
        set_point = top - margins["heater"]
        return np.broadcast_to(set_point < 400.0, _shape(margins)).copy()

    return verdict


@pytest.fixture
def judged(monkeypatch):
    """Advice under another judge."""

    def under(verdict, source, **options):
        monkeypatch.setattr(judge, "holds", verdict)
        told = advise(source, count=COUNT, **options)
        monkeypatch.undo()
        return told

    return under


@pytest.mark.parametrize("path", [BAR, DRY, KELP], ids=lambda path: path.stem)
def test_a_judge_who_lets_everything_pass(judged, path):
    told = judged(_always, path)
    assert told.now.barrel.chance == 1.0
    assert told.now.barrel.open
    assert told.now.barrel.high_c - told.now.barrel.low_c > 150.0
    assert all(limit.broken_share == 0.0 for limit in told.now.barrel.limits)
    assert all(limit.broken_share == 0.0 for limit in told.moisture.limits)
    assert told.remedies == []
    assert told.settings is not None
    limits = {"degradation", "too-stiff-to-fill", "short-shot", "brittle", "heater-limit"}
    assert not limits & {warning.code for warning in told.warnings}


@pytest.mark.parametrize("path", [BAR, DRY, KELP], ids=lambda path: path.stem)
def test_a_judge_who_lets_nothing_pass(judged, path):
    told = judged(_never, path)
    assert told.now.barrel.chance == 0.0
    assert not told.now.barrel.open
    assert told.now.barrel.best_c is None
    assert told.settings is None
    assert told.heat is False
    assert all(limit.broken_share == 1.0 for limit in told.now.barrel.limits)
    assert not any(remedy.low_c is not None or remedy.chance > 0 for remedy in told.remedies)
    if told.after_conditioning is not None:
        assert told.after_conditioning.barrel.chance == 0.0
    assert {"degradation", "too-stiff-to-fill", "brittle", "mold-growth"} <= {
        warning.code for warning in told.warnings
    }


def test_a_judge_of_his_own_mind(judged):
    """220 °C is what the example's heater reaches."""
    told = judged(_below_400(493.15), BAR)
    assert told.now.barrel.chance == 1.0
    # the last set point below 400 K: no straight line leads past what the heater's judge allows
    assert told.now.barrel.high_c == pytest.approx(125.0)
    assert told.now.barrel.low_c == pytest.approx(30.0)
    assert told.now.barrel.best_c == pytest.approx(0.5 * (30.0 + 125.0), abs=5.0)
    assert told.remedies == []


def test_what_to_measure_next_hears_the_same_judge(judged):
    plain = advise(BAR, count=COUNT).measure_next
    assert plain
    # every sample has the same window now: nothing could tell them apart
    assert judged(_above_400(493.15), BAR).measure_next == []
    assert judged(_always, BAR).measure_next == []
    assert judged(_never, BAR).measure_next != plain


def test_remedies_hear_the_same_judge(judged):
    """With a judge who only asks for heat the dry pellets' closed window needs no remedy."""
    assert advise(DRY, count=COUNT).remedies
    told = judged(_above_400(503.15), DRY)
    assert told.now.barrel.open
    assert told.remedies == []


def test_a_judge_who_minds_one_limit_less_gives_a_higher_chance(judged):
    def without_fill(margins):
        kept = {name: m for name, m in margins.items() if name != "fill"} or margins
        verdict = np.ones(_shape(margins), dtype=bool)
        for margin in kept.values():
            verdict &= margin > 0
        return verdict

    plain = advise(KELP, count=COUNT).now.barrel
    told = judged(without_fill, KELP).now.barrel
    assert told.chance > plain.chance + 0.1
    # the lower edge falls: only welding holds it
    assert told.low_c < 110.0


def test_the_judge_is_asked_through_one_name(monkeypatch):
    asked = []
    real = judge.holds

    def counting(margins):
        asked.append(frozenset(margins))
        return real(margins)

    monkeypatch.setattr(judge, "holds", counting)
    told = advise(DRY, count=64)
    seen = set().union(*asked)
    assert {"weld", "fill", "browning", "steam", "heater"} <= seen
    assert {"brittle", "drying-cracks", "mold-growth"} <= seen
    assert {"condensation", "soft-at-ejection"} <= seen
    assert len(asked) > 40  # target, both windows, every remedy
    assert told.remedies
