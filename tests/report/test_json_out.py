"""JSON that any reader takes."""

from __future__ import annotations

import json

import numpy as np

from moldwin.report.json_out import to_json
from tests.report.sample import conditioned


def strict(text: str) -> object:
    """Parsed, refusing what is no JSON."""

    def refuse(name: str) -> None:
        raise AssertionError(f"{name} is no JSON")

    return json.loads(text, parse_constant=refuse)


def test_what_is_not_finite_becomes_null_however_deep():
    value = {"a": [1.0, {"b": float("nan")}, (float("inf"), -float("inf"))]}
    assert strict(to_json(value)) == {"a": [1.0, {"b": None}, [None, None]]}


def test_numbers_keep_full_precision():
    assert strict(to_json({"x": 0.1 + 0.2}))["x"] == 0.1 + 0.2


def test_array_numbers_are_plain_numbers():
    value = {"x": np.float64(1.5), "n": np.int64(3), "yes": np.bool_(True), "a": np.arange(2)}
    assert strict(to_json(value)) == {"x": 1.5, "n": 3, "yes": True, "a": [0, 1]}
    assert strict(to_json({"x": np.float32("nan"), "a": np.array([np.inf])})) == {
        "x": None,
        "a": [None],
    }


def test_the_text_is_ascii_and_ends_with_a_line():
    text = to_json({"unit": "°C", "bad": "\x1b\udc80"})
    assert text.isascii()
    assert text.endswith("}\n")
    assert "\x1b" not in text


def test_an_answer_survives_the_round_trip():
    advice = conditioned()
    found = strict(to_json(advice.to_dict()))
    assert found["barrel"]["limits"][0]["name"] == "weld"
    assert found["after_conditioning"]["barrel"]["chance"] == 0.91
    assert found["conditioning"]["days_90"]["high"] is None
