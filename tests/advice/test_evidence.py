"""Evidence: how a row is judged, how rows are counted, and that the check can say no."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from moldwin.advice.evidence import tables
from moldwin.advice.evidence.blends import Blends
from moldwin.advice.evidence.constants import water_vapor
from moldwin.advice.evidence.gather import gather
from moldwin.advice.evidence.predictions import glass_transitions
from moldwin.advice.evidence.row import (
    CONSTANT,
    PREDICTION,
    EvidenceRow,
    Subject,
    origins,
    summaries,
    told,
)
from moldwin.advice.evidence.sorbed import moistures
from moldwin.base.percentiles import Triple
from moldwin.physics import vapor

STRENGTH = Subject("strength", PREDICTION, "MPa", "made-up.csv", by_factor=True)
DENSITY = Subject("density", CONSTANT, "kg/m3", "made-up.csv")


def row(published=10.0, predicted=12.0, subject=STRENGTH, **more):
    known = {"id": "a", "what": "a bar", "source": "A. Author 1990", "status": "read", **more}
    if not {"tolerance", "hit"} & set(more):
        known = {"low": 8.0, "high": 18.0, **known}
    return EvidenceRow(subject, predicted=predicted, published=published, **known)


@cache
def found():
    return gather()


# -- one row --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("published", "inside"), [(7.9, False), (8.0, True), (18.0, True), (18.1, False)]
)
def test_a_prediction_is_held_to_its_interval(published, inside):
    assert row(published).inside is inside


@pytest.mark.parametrize(("predicted", "inside"), [(999.4, False), (999.6, True), (1000.6, False)])
def test_a_constant_is_held_to_its_digits(predicted, inside):
    assert row(1000.0, predicted, DENSITY, tolerance=0.5).inside is inside


def test_a_verdict_is_taken_as_it_is():
    assert row(0.0, 0.9, hit=True).inside
    assert not row(0.0, 0.0, hit=False).inside


def test_a_row_that_nothing_is_asked_of_is_refused():
    with pytest.raises(ValueError, match="a has neither interval, tolerance nor verdict"):
        _ = replace(row(), low=None).inside


def test_nan_is_never_inside():
    assert not row(math.nan).inside
    assert not row(1000.0, math.nan, DENSITY, tolerance=0.5).inside


def test_the_sign_of_an_error_is_ours_less_theirs():
    assert row(10.0, 12.0).error == pytest.approx(2.0)


def test_a_printed_range_is_judged_by_its_middle():
    cells = {"id": "x", "source": "s", "status": "read"}
    band = Triple(1.0, 2.0, 3.0)
    one = told(STRENGTH, cells, band, (2.0, 3.0), what="")
    assert (one.published, one.published_low, one.published_high) == (2.5, 2.0, 3.0)
    far = told(STRENGTH, cells, band, (1.0, 100.0), what="")
    assert far.published == pytest.approx(10.0)  # of the logarithms
    assert told(STRENGTH, cells, band, (2.0, 2.0), what="").published_low is None


# -- many rows ------------------------------------------------------------------------------------


def test_ten_values_of_one_paper_are_one_source():
    assert origins([row(id=str(n)) for n in range(10)]) == 1
    assert origins([row(), row(source="B. Author 1991")]) == 2


@pytest.mark.parametrize(
    "source",
    [
        "A. Author 1990 (abstract)",
        "A. Author 1990 (abstract; authors from memory)",
        "A. Author 1990, from a public data file",
        "A. Author 1990, from an open program file",
        "A. Author 1990 as usually printed",
        "A. Author 1990; slope as usually printed (a public data file has a tenth of it)",
    ],
)
def test_how_a_source_was_come_by_makes_no_second_one(source):
    assert origins([row(), row(source=source)]) == 1


def test_two_tables_of_one_standard_are_one_source():
    rows = [*water_vapor()]
    assert len({each.source for each in rows}) == 2
    assert origins(rows) == 1


@pytest.mark.parametrize(
    ("source", "identified", "second_hand"),
    [
        ("A. Author, Some Journal 1 (1990) 2 (abstract; authors from memory)", True, False),
        ("A paper on starch (abstract; authors and journal not noted)", False, False),
        ("Unidentified thesis (a passage of it; author and year not shown)", False, False),
        ("review, probably A. Author, Some Journal 1 (1990) 2", False, True),
        ("A. Author 2020, table 10, after B. Author 2008", True, True),
        ("A. Author 1993 by way of B. Author 1996, from an open program file", True, True),
        ("A. Author, measured in the afternoon and reviewed (1990)", True, False),
    ],
)
def test_sources_that_may_be_one_of_the_others_are_told_apart(source, identified, second_hand):
    each = row(source=source)
    assert (each.identified, each.second_hand) == (identified, second_hand)


def test_our_own_arithmetic_is_no_source():
    assert origins([row(subject=DENSITY, tolerance=1.0, status="derived")]) == 0
    # but a heat that we work out of two printed isotherms is theirs
    assert origins([row(status="derived")]) == 1


def test_rmse_bias_and_factors_by_hand():
    summary = summaries([row(10.0, 20.0), row(10.0, 5.0)])[0]
    assert summary.rmse == pytest.approx(math.sqrt((100.0 + 25.0) / 2.0))
    assert summary.bias == pytest.approx(2.5)
    assert summary.rms_factor == pytest.approx(2.0)
    assert summary.bias_factor == pytest.approx(1.0)


def test_rows_used_to_choose_our_numbers_are_counted_apart():
    rows = [row(used_for_fit=True), row(used_for_fit=True), row(), row(30.0)]
    summary = summaries(rows)[0]
    assert (summary.rows, summary.inside, summary.fitted) == (4, 3, 2)
    assert (summary.fresh, summary.fresh_inside) == (2, 1)


def test_predictions_stand_first_and_nothing_is_lost():
    rows = [row(1000.0, 1000.0, DENSITY, tolerance=1.0), row()]
    assert [s.subject.kind for s in summaries(rows)] == [PREDICTION, CONSTANT]
    assert sum(s.rows for s in summaries(found().rows)) == len(found().rows)


# -- the real thing can be proved wrong -----------------------------------------------------------


def test_a_formula_that_is_off_in_the_seventh_digit_is_seen(monkeypatch):
    assert all(row.inside for row in water_vapor())
    real = vapor.water_saturation_pressure
    monkeypatch.setattr(vapor, "water_saturation_pressure", lambda t: real(t) * (1 + 1e-7))
    assert not any(row.inside for row in water_vapor() if row.subject.unit == "Pa")


def test_a_changed_published_value_is_seen(monkeypatch):
    def shifted(name):
        return [{**row, "tg_c": str(float(row["tg_c"]) + 60)} for row in tables.published(name)]

    before = [row.inside for row in glass_transitions(Blends(256))]
    monkeypatch.setattr("moldwin.advice.evidence.predictions.published", shifted)
    after = [row.inside for row in glass_transitions(Blends(256))]
    assert sum(before) >= 11
    assert sum(after) <= 3


def test_the_same_from_run_to_run():
    first, second = (list(moistures(Blends(256))) for _ in range(2))
    assert first == second


def test_the_users_own_cards_play_no_part(tmp_path, monkeypatch):
    card = (tables.shipped("material_cards") / "potato-starch.toml").read_text(encoding="utf-8")
    assert "value = 0.08\n" in card
    own = card.replace("value = 0.08\n", "value = 0.12\n")
    (tmp_path / "potato-starch.toml").write_text(own, encoding="utf-8")
    before = list(moistures(Blends(256)))
    monkeypatch.setenv("MOLDWIN_CARDS", str(tmp_path))
    assert list(moistures(Blends(256))) == before


def test_progress_is_told_to_the_end():
    steps = []
    gather(lambda done, total: steps.append((done, total)), count=64)
    assert steps[0][0] == 0
    assert steps[-1][0] == steps[-1][1]
    assert [done for done, _ in steps] == sorted(done for done, _ in steps)


# -- the data -------------------------------------------------------------------------------------


def test_what_others_rely_on_is_there():
    asked = {
        *("quantity", "kind", "predicted", "published", "inside"),
        *("used_for_fit", "source", "status"),
    }
    data = found().to_dict()
    assert data["schema"] == "moldwin.evidence/1"
    for each in data["rows"]:
        assert asked <= set(each)
        assert each["kind"] in ("constant", "prediction")
        assert isinstance(each["predicted"], float)
        assert isinstance(each["published"], float)
        assert np.isfinite([each["predicted"], each["published"], each["error"]]).all()
        assert each["inside"] in (True, False)
        assert each["used_for_fit"] in (True, False)
        assert each["status"] in ("read", "memory", "derived")
    totals = data["totals"]
    assert totals["prediction"]["rows"] + totals["constant"]["rows"] == len(data["rows"])
    for total in totals.values():
        doubtful = total["sources_not_identified"] + total["sources_second_hand"]
        assert 0 < doubtful < total["independent_sources"]


def test_the_summary_follows_from_the_rows():
    data = found().to_dict()
    for each in data["summary"]:
        mine = [
            row
            for row in data["rows"]
            if (row["quantity"], row["kind"]) == (each["quantity"], each["kind"])
        ]
        off = np.array([row["predicted"] - row["published"] for row in mine])
        assert each["rmse"] == pytest.approx(float(np.sqrt(np.mean(off**2))))
        assert each["bias"] == pytest.approx(float(np.mean(off)), abs=1e-12)
        assert each["inside_share"] == pytest.approx(np.mean([row["inside"] for row in mine]))
        assert len({row["unit"] for row in mine}) == 1
        assert each["independent_sources"] <= len(mine)


def test_every_interval_lies_round_its_value():
    for each in found().rows:
        if each.low is not None:
            assert each.low <= each.predicted <= each.high, each.id


def test_no_quantity_of_many_rows_rests_on_a_single_paper():
    """Quantities with ten rows or more: several publications stand behind each."""
    for summary in found().summary:
        if summary.subject.kind == PREDICTION and summary.rows >= 10:
            assert summary.sources >= 3


def test_what_is_left_out_is_told_with_its_number():
    told_of = {(each.table, each.id): each.what for each in found().not_compared}
    assert told_of["starch_tg.csv", "S23"] == "wheat starch TPS, 143 °C"
    assert told_of["starch_tg.csv", "P15"] == "sorbitol, -5.15 °C"
    assert told_of["part_properties.csv", "P15"] == "cassava starch, 10 % Sargassum, 2.22 MPa"
    assert told_of["water_diffusivity.csv", "W4"].endswith("1.0e-10 to 5.0e-10 m2/s")
    assert told_of["water_diffusivity.csv", "W9"] == "sodium alginate film"
    assert told_of["gelatinization.csv", "G14"] == "potato"
