"""Cards as pages and data: nothing a card states is left out."""

from __future__ import annotations

import pytest

from moldwin.inputs.cards import Library, library_for
from moldwin.report.cards_data import card_data, cards_data
from moldwin.report.cards_page import card_page, cards_page

LIBRARY = Library()
NAMES = LIBRARY.names()


def flat(page: str) -> str:
    return " ".join(page.split())


@pytest.mark.parametrize("name", NAMES)
def test_a_card_shows_every_value_with_its_source_and_everything_missing(name):
    card = LIBRARY.card(name)
    page = flat(card_page(card, width=80))
    for key, quantity in card.quantities.items():
        assert f"{key} - " in page
        assert f"{quantity.value:.6g}" in page
        assert f"{quantity.source}" in page
        for text in (quantity.conditions, quantity.where, quantity.u_from, quantity.printed):
            assert flat(text) in page
    for others in card.alternatives.values():
        for other in others:
            assert f"not used: {other['value']:.6g}" in page
    for text in (*card.missing, *card.sources.values(), card.about):
        assert flat(text) in page


@pytest.mark.parametrize("name", NAMES)
def test_every_value_of_a_card_has_a_meaning(name):
    values = card_data(LIBRARY.card(name))["values"]
    assert not [value["key"] for value in values if not value["what"]]


def test_the_list_names_every_card_once():
    data = cards_data(LIBRARY)
    benches = {value["card"] for value in data["bench"]}
    others = [row["name"] for row in data["materials"] + data["humidity_sources"]]
    assert sorted([*others, *benches]) == sorted(NAMES)
    page = cards_page(LIBRARY, width=80)
    assert not [name for name in others if f"\n{name} " not in page]


def test_the_counts_of_a_material_are_those_of_its_card():
    for row in cards_data(LIBRARY)["materials"]:
        assert sum(row["values"].values()) == len(LIBRARY.card(row["name"]).quantities)


def test_no_row_of_the_list_is_cut_or_wrapped():
    page = cards_page(LIBRARY, width=80)
    assert "…" not in page
    assert all(len(line) <= 80 for line in page.splitlines())


def test_kelvin_that_are_a_temperature_are_shown_in_celsius_too():
    page = flat(card_page(LIBRARY.card("corn-starch"), width=80))
    assert "523.15 K = 250 °C (± 10)" in page
    assert "5000 K = " not in page  # a rate, not a temperature


def test_a_users_own_card_says_so(tmp_path):
    folder = tmp_path / "cards"
    folder.mkdir()
    own = LIBRARY.card("agar").path.read_text(encoding="utf-8")
    (folder / "agar.toml").write_text(own, encoding="utf-8")
    library = library_for(tmp_path)
    assert cards_data(library)["overrides"] == ["agar"]
    assert "Agar (your own card)." in cards_page(library, width=80)
    assert "your own card" in card_page(library.card("agar"), width=80)
