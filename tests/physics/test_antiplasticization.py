"""A little plasticizer in a dry glass: where it is published to act, and where not."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.physics.antiplasticization import embrittling, stiffening

LOADINGS = np.linspace(0.0, 0.5, 501)


def test_it_stiffens_at_the_published_loading_and_dryness():
    """Chang 2006: 2.5 % of glycerol in tapioca films at a water activity of 0.22 and below."""
    assert np.all(stiffening(0.025, 0.15, np.array([0.11, 0.22])) > 0.5)


def test_it_embrittles_the_most_where_toughness_was_least():
    """Chang 2006: 10 to 15 % of glycerol at a water activity of 0.11 and 0.22."""
    worst = LOADINGS[np.argmax(embrittling(LOADINGS, 0.15, 0.11))]
    assert 0.10 <= worst <= 0.15


def test_it_is_over_near_twenty_percent():
    """Myllärinen 2002: a great change near 20 % of glycerol."""
    assert embrittling(0.21, 0.15, 0.1) == 0.0
    assert embrittling(0.18, 0.15, 0.1) > 0.0


def test_stiffness_rises_once_and_falls_once():
    for law in (stiffening, embrittling):
        effect = law(LOADINGS, 0.15, 0.2)
        top = int(np.argmax(effect))
        assert effect[top] == pytest.approx(1.0, abs=1e-3)
        assert effect[0] == effect[-1] == 0.0
        assert np.all(np.diff(effect[: top + 1]) > 0)
        assert np.all(np.diff(effect[top:]) <= 0)


def test_water_undoes_it():
    by_humidity = stiffening(0.05, 0.15, np.linspace(0.0, 1.0, 21))
    assert np.all(np.diff(by_humidity) <= 0)
    assert stiffening(0.05, 0.15, 0.6) == 0.0
    assert embrittling(0.13, 0.15, 0.75) == 0.0


def test_array_is_scalar_after_scalar_and_nan():
    some = np.array([0.01, 0.05, 0.3])
    assert stiffening(some, 0.15, 0.2).tolist() == [stiffening(p, 0.15, 0.2) for p in some]
    assert np.isnan(stiffening(np.nan, 0.15, 0.2))
    assert np.isnan(embrittling(0.05, 0.15, np.nan))


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda: stiffening(-0.1, 0.15, 0.2), "loading"),
        (lambda: stiffening(0.1, 0.0, 0.2), "end"),
        (lambda: embrittling(0.1, 0.15, 20.0), "percentage"),
    ],
)
def test_what_cannot_be_is_refused(call, match):
    with pytest.raises(ValueError, match=match):
        call()
