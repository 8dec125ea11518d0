"""Published conditioning and drying, case by case: what gives enough is computed, and held to it.

Most of the cases tell a time without a size, or a humidity without a moisture; the table says of
each what is missing. None of them allows the time in a jar to be checked.
"""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.advice.evidence.predictions import gel_rods
from tests.published.blends import BLENDS, evidence_of
from tests.published.tables import number, rows

CASES = rows("conditioning_cases.csv")


def judged(how: str) -> list[dict[str, str]]:
    found = [case for case in CASES if case["judge"] == how]
    assert found
    return found


@pytest.mark.parametrize("case", judged("moisture"), ids=lambda case: case["id"])
def test_moisture_at_a_humidity_lies_inside_the_interval(case):
    band = BLENDS.uptake_band(case["recipe"], number(case, "aw"))
    assert band.low <= number(case, "low") <= number(case, "high") <= band.high


def test_the_likely_moisture_with_plasticizer_lies_between_the_printed_minima():
    case = next(case for case in CASES if case["id"] == "D002")
    for glycerol in (10, 15, 20):
        band = BLENDS.uptake_band(f"potato-starch {100 - glycerol} + glycerol {glycerol}", 0.57)
        assert number(case, "low") <= band.likely <= number(case, "high")


@pytest.mark.parametrize("case", judged("trend"), ids=lambda case: case["id"])
def test_moisture_falls_as_it_gets_warmer(case):
    cold, warm = (float(t) for t in case["t_c"].split(" to "))
    low, high = (float(a) for a in case["aw"].split(" to "))
    aw = np.linspace(low, high, 7)
    assert np.all(BLENDS.uptake(case["recipe"], aw, warm) < BLENDS.uptake(case["recipe"], aw, cold))


def test_a_gel_rod_dries_to_the_printed_size():
    found = evidence_of(gel_rods)
    assert set(found) == {case["id"] for case in judged("size")}
    assert all(row.inside for row in found.values())


def test_every_case_is_computed_or_says_why_not():
    for case in CASES:
        assert case["judge"] in {"moisture", "trend", "size", "none"}
        assert bool(case["why_not"]) or case["judge"] in {"moisture", "trend"}
        assert case["source"]
        assert case["status"] in {"read", "memory", "derived"}
