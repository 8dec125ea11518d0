"""A template for a card of one's own: usable at once, and honest about where it comes from."""

from __future__ import annotations

import pytest

from moldwin.inputs.card_template import card_template
from moldwin.inputs.cards import Library, load_card
from moldwin.inputs.errors import InputError

LIBRARY = Library()
MATERIALS = [
    name
    for name in LIBRARY.names()
    if LIBRARY.card(name).role in ("polymer", "plasticizer", "fiber", "additive", "comparator")
]


@pytest.mark.parametrize("name", MATERIALS)
def test_every_material_gives_a_card_that_loads(tmp_path, name):
    path = tmp_path / "my-own.toml"
    path.write_text(card_template(LIBRARY.card(name), "my-own"), encoding="utf-8")
    made, like = load_card(path), LIBRARY.card(name)
    assert made.name == "my-own"
    assert (made.role, made.family) == (like.role, like.family)
    assert {k: q.value for k, q in made.quantities.items()} == {
        k: q.value for k, q in like.quantities.items()
    }
    assert {q.status for q in made.quantities.values()} == {"assumed"}
    assert all(
        name in made.sources[q.source] or q.source == "like" for q in made.quantities.values()
    )
    assert [g.members for g in made.groups] == [g.members for g in like.groups]


@pytest.mark.parametrize("name", ["Oat Starch", "../x", "", "-x", "ä"])
def test_no_name_for_a_card(name):
    with pytest.raises(InputError, match="--template"):
        card_template(LIBRARY.card("agar"), name)


@pytest.mark.parametrize("name", ["press", "NaCl", "steel"])
def test_no_material(name):
    with pytest.raises(InputError, match="no material"):
        card_template(LIBRARY.card(name), "mine")
