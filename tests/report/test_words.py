"""Every name the answer can use has plain words, and text from outside is made safe."""

from __future__ import annotations

import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from moldwin.base.quantities import STATUSES
from moldwin.base.remarks import CODES, SEVERITIES
from moldwin.report.words import (
    LIMITS,
    SEVERITY_WORDS,
    SHORT_LIMITS,
    STATUS_WORDS,
    clean,
    code_words,
    source_words,
)
from moldwin.stages.service import DRY_SIDE, WET_SIDE

BARREL = ("weld", "fill", "granules", "browning", "fiber-scorch", "fumes", "steam", "heater")


def test_every_limit_has_words_and_no_words_lack_a_limit():
    assert set(LIMITS) == {*BARREL, *WET_SIDE, *DRY_SIDE}


def test_every_barrel_limit_has_short_words():
    assert set(SHORT_LIMITS) == set(BARREL)
    assert max(map(len, SHORT_LIMITS.values())) <= 14


def test_salts_are_named_and_baths_left_alone():
    assert "potassium acetate" in source_words("saturated CH3COOK slurry")
    for plain in ("glycerol and water, 77 % glycerol by mass", "plain water"):
        assert source_words(plain) == plain


def test_every_severity_and_status_has_a_word():
    assert set(SEVERITY_WORDS) == set(SEVERITIES)
    assert set(STATUS_WORDS) == set(STATUSES)


def test_codes_read_as_words():
    assert not [code for code in CODES if "-" in code_words(code)]


@given(st.text())
def test_cleaned_text_is_one_line_without_controls(text):
    safe = clean(text)
    assert not [c for c in safe if unicodedata.category(c).startswith("C")]
    assert clean(safe) == safe


def test_letters_of_every_script_survive():
    assert clean("Ascophyllum – Knotentang, 海帯, é") == "Ascophyllum – Knotentang, 海帯, é"
