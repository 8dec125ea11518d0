"""Values written as TOML read back as they were."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldwin.inputs.toml_value import toml_value

_PLAIN = st.one_of(
    st.booleans(),
    st.integers(-(2**53), 2**53),
    st.floats(allow_nan=False),
    st.text(st.characters(codec="utf-8")),
)


@given(st.one_of(_PLAIN, st.lists(_PLAIN, max_size=3)))
def test_what_is_written_reads_back(value: Any) -> None:
    assert tomllib.loads(f"key = {toml_value(value)}")["key"] == value


@pytest.mark.parametrize(
    ("value", "text"), [(3.0, "3"), (0.65, "0.65"), (True, "true"), ("a\x7fb", '"a\\u007fb"')]
)
def test_it_is_written_short(value: Any, text: str) -> None:
    assert toml_value(value) == text
