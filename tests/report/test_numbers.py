"""Numbers carry no more digits than their interval allows."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldwin.base.percentiles import Triple, in_words
from moldwin.report.numbers import around, days, duration, interval, percent

plain = st.floats(0.01, 500.0)


@given(plain, plain, plain)
def test_a_wide_interval_shows_no_decimals(a, b, c):
    low, best, high = sorted((a, b, c))
    shown = around(low, best, high, "°C")
    if high - low >= 5.0:
        assert "." not in shown
    assert all(len(tail) <= 2 for tail in re.findall(r"\.(\d+)", shown))


@given(plain, plain, plain)
def test_an_interval_is_shown_in_order(a, b, c):
    low, best, high = sorted((a, b, c))
    numbers = [float(n) for n in re.findall(r"\d+(?:\.\d+)?", around(low, best, high, ""))]
    assert len(numbers) in (1, 3)
    if len(numbers) == 3:
        assert numbers[1] <= numbers[0] <= numbers[2]


def test_an_exact_number_stands_alone():
    assert interval(Triple(12.0, 12.0, 12.0), "kN") == "12 kN"


@given(st.floats(0.0, 1e6))
def test_a_time_keeps_its_size(seconds):
    number, unit = duration(seconds).split()
    shown = float(number) * {"s": 1.0, "min": 60.0, "h": 3600.0}[unit]
    assert shown == pytest.approx(seconds, rel=0.15, abs=2.5)


@given(st.floats(0.0, 1.0))
def test_only_certainty_is_shown_as_certain(share):
    assert (percent(share) == "100 %") == (share == 1.0)
    assert (percent(share) == "0 %") == (share == 0.0)
    assert (in_words(share) == "every case") == (share == 1.0)
    assert (in_words(share) == "no case") == (share == 0.0)


def test_endless_times_are_words():
    forever = float("inf")
    assert days(Triple(3.0, forever, forever)) == "years (3 to years)"
    assert duration(forever) == "without limit"
