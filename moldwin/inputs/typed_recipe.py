"""A recipe as people type it: ``300 g potato starch, 90 g glycerol``."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from moldwin.inputs.cards import Library
from moldwin.inputs.job_values import SlipError, nearest_name
from moldwin.inputs.text_files import printable
from moldwin.inputs.typed_amounts import MASSES_G, NUMBER, number

__all__ = ["IN_A_POT", "Weighed", "card_for", "read_recipe"]

#: Roles of cards that go into a pot.
IN_A_POT = ("polymer", "comparator", "plasticizer", "water", "fiber", "additive")

#: What kitchens say, in the words of the card that is meant; plain facts of language.
_SPOKEN: Mapping[str, str] = {
    "cornstarch": "corn starch",
    "maize": "corn",
    "tapioca": "cassava starch",
    "manioc": "cassava",
    "kelp": "brown seaweed",
    "algae": "seaweed",
    "glycerin": "glycerol",
    "glycerine": "glycerol",
    "sorbit": "sorbitol",
    "bicarbonate": "baking soda",
    "gelatine": "gelatin",
    "linen": "flax",
    "sawdust": "wood",
    "fibre": "fiber",
}
#: Say nothing about which material is meant, nor does a card need them to be named.
_FILLERS = frozenset(
    {"of", "the", "a", "dried", "dry", "ground", "milled", "fine", "pure", "food", "grade"}
    | {"powder", "brown"}
)
_UNNAMED = frozenset({*_FILLERS, "sodium", "fiber"})

_BETWEEN = re.compile(r"\s*(?:;|\n|\+|,(?<!\d,)|,(?!\d)|\band\b|&)\s*", re.IGNORECASE)
_UNITS = {**MASSES_G, "ml": 1.0, "l": 1000.0, "cl": 10.0, "%": 1.0, "percent": 1.0, "parts": 1.0}
_UNIT = "|".join(sorted(map(re.escape, _UNITS), key=len, reverse=True))
_FIRST = re.compile(rf"({NUMBER})\s*(?:({_UNIT})(?![a-z]))?\s*(\D*)", re.IGNORECASE)
_LAST = re.compile(rf"(\D+?)[\s:=]*({NUMBER})\s*({_UNIT})?", re.IGNORECASE)
_VOLUMES = ("ml", "l", "cl")
_SHARES = ("%", "percent", "parts")
_LIKE = "300 g potato starch, 90 g glycerol"


@dataclass(frozen=True)
class Weighed:
    """One ingredient: its card, and grams, or parts where the recipe is in percent."""

    card: str
    mass_g: float


def read_recipe(text: str, library: Library) -> tuple[Weighed, ...]:
    """The ingredients of a line.

    Parameters
    ----------
    text : str
        As typed. [-]
    library : Library
        The cards to choose from. [-]

    Returns
    -------
    tuple of Weighed
        In the order typed; of a recipe in percent or parts one part counts as a gram. [g]

    Raises
    ------
    SlipError
        A mass or a material cannot be told.

    Examples
    --------
    >>> from moldwin.inputs.cards import Library
    >>> [(row.card, row.mass_g) for row in read_recipe("1,5 kg kelp and 90g glycerin", Library())]
    [('brown-seaweed-powder', 1500.0), ('glycerol', 90.0)]
    """
    items = [item for item in _BETWEEN.split(text.strip()) if item]
    if not items:
        raise SlipError(f"nothing can be molded from nothing; write it like {_LIKE}")
    read = [_item(item, library) for item in items]
    shares = {unit in _SHARES for _, unit in read}
    if len(shares) > 1:
        raise SlipError("some are in percent and some in grams; write all of them alike")
    return tuple(weighed for weighed, _ in read)


def card_for(words: str, library: Library) -> str:
    """The card that some words mean.

    Parameters
    ----------
    words : str
        As typed. [-]
    library : Library
        The cards to choose from. [-]

    Returns
    -------
    str
        Name of the card. [-]

    Raises
    ------
    SlipError
        No card, or several.

    Examples
    --------
    >>> from moldwin.inputs.cards import Library
    >>> card_for("Corn starch", Library()), card_for("tapioca", Library())
    ('corn-starch', 'cassava-starch')
    """
    names = [name for role in IN_A_POT for name in library.names(role)]
    typed = _words(words)
    exact = [name for name in names if _words(name) == typed]
    if exact:
        return exact[0]
    telling = {word for word in typed if word not in _FILLERS}
    fitting = [name for name in names if telling and telling <= set(_words(name))]
    whole = [name for name in fitting if set(_words(name)) - _UNNAMED <= telling]
    if len(whole) == 1:
        return whole[0]
    said = printable(words.strip(), 40)
    if len(fitting) > 1:
        raise SlipError(f"{said}: which one? {', '.join(sorted(fitting))}")
    if fitting:  # rice is not rice starch
        raise SlipError(f"{said}: did you mean {fitting[0]!r}?")
    offer = _nearest(typed, names) or "; `moldwin cards` lists what is known"
    raise SlipError(f"no material is known as '{said}'{offer}")


def _nearest(typed: list[str], names: list[str]) -> str:
    """The card meant by misspelled words, by the whole name or word by word."""
    known = sorted({word for name in names for word in _words(name)} | set(_SPOKEN))
    close = [get_close_matches(word, known, n=1, cutoff=0.7) or [word] for word in typed]
    mended = set(_words(" ".join(word for (word,) in close)))
    fitting = [name for name in names if mended <= set(_words(name))]
    if len(fitting) == 1:
        return f"; did you mean {fitting[0]!r}?"
    return nearest_name("-".join(typed), names)


def _words(name: str) -> list[str]:
    """The words of a name, singular, small, and as the cards have them."""
    found = []
    for word in re.findall(r"[^\W\d_]+", name.casefold()):
        single = word[:-1] if len(word) > 4 and re.search("[^s]s$", word) else word
        found += _SPOKEN.get(single, single).split()
    return found


def _item(item: str, library: Library) -> tuple[Weighed, str]:
    """One ingredient and the unit it was typed in."""
    match = _FIRST.fullmatch(item)
    value, unit, words = match.groups() if match else ("", "", "")
    if not words:
        match = _LAST.fullmatch(item)
        words, value, unit = match.groups() if match else ("", "", "")
    if not match or not words.strip():
        raise SlipError(
            f'cannot read "{printable(item, 40)}"; a mass and a material belong here, like {_LIKE}'
        )
    card, unit = card_for(words, library), (unit or "").casefold()
    mass = number(value)
    if not unit:
        raise SlipError(f"{value} of what for {card}? Write g, kg, oz or %")
    if unit in _VOLUMES and library.card(card).role != "water":
        raise SlipError(f"{value} {unit} of {card}: weigh it, a volume does not tell its mass")
    if not mass > 0.0:
        raise SlipError(f"{card}: the mass must be above 0")
    return Weighed(card, round(mass * _UNITS[unit], 9)), unit
