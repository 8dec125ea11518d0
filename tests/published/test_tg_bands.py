"""Glass transitions of starch as the whole tool tells them, against published points.

The points are those of ``starch_tg.csv`` marked as fit; each row names its own source. Here the
cards' own draws make the band: end values, weights, their correlation, and the law's misfit.
"""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.advice.evidence.predictions import glass_transitions
from tests.published.blends import evidence_of
from tests.published.tables import number, rows


def _points():
    """Starch with water, with or without glycerol, that some number of the cards was fitted to."""
    return [row for row in rows("starch_tg.csv") if row["use"] == "fit" and row["card"]]


@pytest.fixture(scope="module")
def bands():
    """What the tool says of each point. [°C]"""
    return evidence_of(glass_transitions)


def test_the_points_are_all_there():
    points = _points()
    assert len(points) == 10
    assert sum(row["plasticizer"] == "none" for row in points) == 5
    assert all(row["source"] for row in points)


def test_the_90_percent_band_holds_at_least_four_in_five(bands):
    held = {row["id"]: bands[row["id"]].inside for row in _points()}
    assert np.mean(list(held.values())) >= 0.80, held


@pytest.mark.parametrize(
    "row", [r for r in _points() if r["plasticizer"] == "none"], ids=lambda row: row["id"]
)
def test_starch_and_water_within_25_kelvin(bands, row):
    assert bands[row["id"]].predicted == pytest.approx(number(row, "tg_c"), abs=25.0)


def test_starch_and_water_rms(bands):
    misses = [bands[row["id"]].error for row in _points() if row["plasticizer"] == "none"]
    assert np.sqrt(np.mean(np.square(misses))) <= 13.5


def test_the_bands_are_no_wider_than_what_is_unknown(bands):
    """40 K from the law's misfit alone, about twice 25 K with glycerol's uncertain weight."""
    for row in _points():
        width = bands[row["id"]].high - bands[row["id"]].low
        assert 38.0 < width < (46.0 if row["plasticizer"] == "none" else 62.0)
