"""The evidence page on made-up rows: nothing is hidden, nothing is wider than the page."""

from __future__ import annotations

import pytest

from moldwin.advice.evidence.gather import Evidence, NotCompared
from moldwin.advice.evidence.row import CONSTANT, PREDICTION, EvidenceRow, Subject
from moldwin.report.evidence_page import evidence_page, evidence_summary

TG = Subject("glass transition", PREDICTION, "°C", "tg.csv")
STRENGTH = Subject("strength of parts", PREDICTION, "MPa", "parts.csv", by_factor=True)
TRIAL = Subject("molding attempts", PREDICTION, "chance", "cases.csv")
DENSITY = Subject("density", CONSTANT, "kg/m3", "rho.csv")


def row(subject, name, predicted, published, **more):
    known = {"what": f"blend {name}", "source": f"Source of {name} (1990)", "status": "read"}
    if subject.kind == PREDICTION and "hit" not in more:
        known |= {"low": 0.5 * predicted, "high": 2.0 * predicted}
    return EvidenceRow(subject, name, predicted=predicted, published=published, **{**known, **more})


EVIDENCE = Evidence(
    (
        row(TG, "S1", 50.0, 60.0, used_for_fit=True),
        row(TG, "S2", 50.0, 200.0, status="memory"),
        row(STRENGTH, "P1", 10.0, 100.0, known_miss="flaws are not in the law"),
        row(TRIAL, "C1", 0.14, 1.0, hit=False),
        row(DENSITY, "rho 1", 1000.2, 1000.0, tolerance=0.05),
        row(DENSITY, "rho 2", 1000.01, 1000.0, tolerance=0.05, status="derived"),
    ),
    (NotCompared("tg.csv", "S3", "gel", "ice is present", "Somebody 1987", "read"),),
)


def words(page):
    return " ".join(page.split())


def test_every_miss_is_told_with_both_numbers_and_its_source():
    text = words(evidence_page(EVIDENCE, width=80))
    assert "predicted 50 °C (25 to 100), published 200. No reason known." in text
    assert "[Source of S2 (1990); from memory]" in text
    assert "predicted 10 MPa (5 to 20), published 100. Flaws are not in the law." in text
    assert "works in 14 % of the samples, published that it worked" in text
    assert "predicted 1000.2 kg/m3, published 1000" in text
    assert "S1" not in text  # what is met stands in --full


def test_it_counts_what_is_met_and_what_was_used():
    text = words(evidence_page(EVIDENCE, width=80))
    assert "predictions: 1 of 4 inside, of 4 independent sources" in text
    assert "of the 3 that no number of ours was chosen by, 0 are inside" in text
    assert "constants: 1 of 2 inside, of 1 independent sources" in text


def test_errors_that_are_factors_are_told_as_factors():
    line = next(
        line
        for line in evidence_page(EVIDENCE, width=80).splitlines()
        if line.startswith("strength of parts")
    )
    assert line.split()[-2:] == ["x10", "x0.1"]


def test_full_shows_every_row_and_what_is_left_out():
    text = words(evidence_page(EVIDENCE, full=True, width=80))
    for name in ("S1", "S2", "P1", "C1", "rho 1", "rho 2"):
        assert f"[Source of {name} (1990);" in text
    assert text.count("OUTSIDE.") == 4
    assert "Used to choose a number of ours." in text
    assert "S3, gel: Ice is present. [Somebody 1987; read]" in text


def test_rows_missed_for_one_reason_are_told_together_by_the_worst():
    rows = (
        row(STRENGTH, "P1", 10.0, 30.0, known_miss="flaws are not in the law"),
        row(STRENGTH, "P2", 10.0, 90.0, known_miss="flaws are not in the law"),
        row(STRENGTH, "P3", 10.0, 40.0, known_miss="too old", used_for_fit=True),
        row(TG, "S1", -10.0, 30.0),
        row(TG, "S2", -10.0, 40.0),
    )
    text = words(evidence_page(Evidence(rows, ()), width=80))
    assert "2 rows (P1, P2), the worst P2 (blend P2): predicted 10 MPa" in text
    assert "[Source of P1 (1990); read] [Source of P2 (1990); read]" in text
    assert "row P3 (blend P3)" in text
    assert "Too old. Used to choose a number of ours." in text
    assert "row S1" in text  # no reason is no reason to be told together
    assert "row S2" in text


def test_sources_in_doubt_are_counted_apart():
    rows = (
        row(TG, "S1", 50.0, 60.0, source="A paper (abstract; authors and journal not noted)"),
        row(TG, "S2", 50.0, 60.0, source="A. Author 2020, after B. Author 2008"),
        row(TG, "S3", 50.0, 60.0),
    )
    text = words(evidence_page(Evidence(rows, ()), width=80))
    assert "of 3 independent sources (1 not identified, 1 quoting others)" in text
    assert "not identified" not in words(evidence_page(EVIDENCE, width=80))


def test_a_value_without_an_interval_is_told_without_one():
    rows = (row(STRENGTH, "P1", 10.0, 30.0, low=10.0, high=10.0),)
    assert "predicted 10 MPa, published 30." in words(evidence_page(Evidence(rows, ()), width=80))


@pytest.mark.parametrize("width", [40, 80])
def test_nothing_is_wider_than_the_page(width):
    page = evidence_page(EVIDENCE, full=True, width=width)
    assert max(len(line) for line in page.splitlines()) <= width


def test_the_summary_is_a_table_with_the_misses_below():
    text = evidence_summary(EVIDENCE)
    table = [line for line in text.splitlines() if line.startswith("|")]
    assert {line.count("|") for line in table} == {9}
    assert len(table) == 2 + 3
    below = text[text.index("Predictions missed") :]
    assert all(name in below for name in ("S2", "P1", "C1"))
    assert "rho" not in below
