"""A card with an isotherm of one's own: odd files are refused, never half changed."""

from __future__ import annotations

import numpy as np
import pytest

from moldwin.inputs.cards import Library, load_card
from moldwin.inputs.errors import InputError
from moldwin.inputs.write_card import card_with_isotherm

VALUES = {"xm": 0.07, "c": 12.0, "k": 0.86}
FACTORS = {"xm": 1.1, "c": 1.8, "k": 1.03}
TIED = [[1.0, -0.99, -0.95], [-0.99, 1.0, 0.94], [-0.95, 0.94, 1.0]]


def made(card, name="mine", values=VALUES, factors=FACTORS, correlation=TIED, source="w.csv"):
    return card_with_isotherm(card, name, values, factors, correlation, source, "33, 57 %")


@pytest.fixture
def kelp():
    return Library([]).card("brown-seaweed-powder")


def test_strongly_tied_constants_can_still_be_drawn(kelp, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_bytes(made(kelp))
    group = load_card(path).groups[-1]
    assert np.linalg.eigvalsh(np.array(group.correlation)).min() > 0.0
    assert np.array(group.correlation) == pytest.approx(np.array(TIED), abs=2e-3)


def test_words_from_outside_cannot_break_the_file(kelp, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_bytes(made(kelp, source='a "quoted"\\ name\nwith = "lines".csv'))
    assert "quoted" in load_card(path).sources["own_weighings"]


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_card_written_by_hand_keeps_its_own_values(kelp, tmp_path, end):
    own = tmp_path / "hand.toml"
    text = kelp.path.read_text(encoding="utf-8").replace("brown-seaweed-powder", "hand", 1)
    text = text.replace("value = 450.0", "value = 411.0   # bent a strip [May]")
    own.write_bytes(text.replace("\n", end).encode())
    path = tmp_path / "mine.toml"
    path.write_bytes(made(load_card(own)))
    found = load_card(path)
    assert found["tg_dry"].value == 411.0
    assert b"# bent a strip [May]" in path.read_bytes()
    assert found["xm"].value == 0.07


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"values": {**VALUES, "xm": 0.9}}, "xm.value: got 0.9, allowed"),
        ({"values": {**VALUES, "k": 1.3}}, "k.value"),
        ({"name": "no/such"}, "no name for a card"),
    ],
)
def test_what_no_card_may_hold_is_refused(kelp, change, says):
    with pytest.raises(InputError, match=says):
        made(kelp, **change)
