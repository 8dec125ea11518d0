"""Gelatinization against what is printed: each figure inside the interval of the cards."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.base.percentiles import triple
from moldwin.inputs.cards import Library
from moldwin.physics.gelatinization import peak_in_liquid
from tests.published.blends import BLENDS
from tests.published.tables import number, rows

TABLE = {row["id"]: row for row in rows("gelatinization.csv")}
HEXOSE, WATER = 162.14, 18.015  # g/mol


def test_every_row_is_read_and_used_somewhere_below():
    assert {row["status"] for row in TABLE.values()} == {"read"}
    assert len(TABLE) == 16


def test_potato_peaks_where_donovan_saw_it():
    assert BLENDS.peak("potato-starch").likely == pytest.approx(
        number(TABLE["G01"], "low"), abs=0.5
    )


@pytest.mark.parametrize(("key", "row"), [("onset", "G04"), ("end", "G06")])
def test_rice_begins_and_ends_as_eleven_varieties_do(key, row):
    cooking = BLENDS.cooking("rice-starch")
    found = triple(getattr(cooking, key) - 273.15)
    low, high = number(TABLE[row], "low"), number(TABLE[row], "high")
    assert low < found.likely < high
    assert found.low < low + 3.0
    assert found.high > high - 3.0


def test_peak_of_the_rice_card_spans_the_varieties():
    peak = Library().card("rice-starch")["gelatinization_peak"]
    row = TABLE["G05"]
    assert (peak.low - 273.15, peak.high - 273.15) == pytest.approx(
        (number(row, "low"), number(row, "high")), abs=0.1
    )


def test_waxy_corn_cooks_through_at_75_to_85():
    hot = BLENDS.cooking("corn-starch", cook_c=number(TABLE["G07"], "high"))
    assert np.median(hot.by_heat) == 1.0
    cooking = BLENDS.cooking("corn-starch")
    assert triple(cooking.end - 273.15).low < number(TABLE["G07"], "high")
    assert triple(cooking.end - 273.15).high > number(TABLE["G07"], "low")


@pytest.mark.parametrize("row", ["G02", "G08"])
def test_the_water_it_takes_lies_in_the_interval(row):
    whole = BLENDS.typical("pot", "water_whole")
    assert whole.min() - 1e-9 <= number(TABLE[row], "low") <= whole.max() + 1e-9


def test_full_hydration_is_the_same_number_from_the_molecules():
    """14 water molecules per hexose are 1.56 g/g: beside the printed 1.5."""
    per_gram = number(TABLE["G03"], "low") * WATER / HEXOSE
    assert per_gram == pytest.approx(number(TABLE["G02"], "low"), rel=0.05)


def test_sago_is_as_wide_from_beginning_to_end():
    cooking = BLENDS.cooking("cassava-starch")
    width = cooking.end - cooking.onset
    assert width.min() < number(TABLE["G13"], "low") < width.max()


@pytest.mark.parametrize("row", ["G14", "G15"])
def test_glycerol_and_sugars_raise_it(row):
    shift = BLENDS.typical("pot", "plasticizer_shift")
    moved = peak_in_liquid(339.15, 0.3, shift) - 339.15
    assert np.all(np.sign(moved) == number(TABLE[row], "low"))


def test_the_time_a_kitchen_takes_is_longer_than_starch_needs():
    minutes = Library().card("pot")["cook_time"].value / 60.0
    assert minutes > number(TABLE["G16"], "high")
