"""The cards a job names: are they there, do they go into a pot, is one of them a polymer?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from moldwin.inputs.cards import Library
from moldwin.inputs.job import Job
from moldwin.inputs.job_typical import against_typical
from moldwin.inputs.job_values import nearest_name
from moldwin.inputs.text_files import printable

__all__ = ["card_faults"]

#: What a part is made of, and what else goes into a pot.
_POLYMERS = ("polymer", "comparator")
_IN_A_POT = (*_POLYMERS, "plasticizer", "water", "fiber", "additive")


def card_faults(raw: Mapping[str, Any], job: Job, library: Library) -> Iterator[tuple[str, str]]:
    """What is wrong with the cards a job names.

    Parameters
    ----------
    raw : mapping
        The job as in the file. [-]
    job : Job
        The rows that could be read. [SI]
    library : Library
        The cards the job sees. [-]

    Yields
    ------
    tuple of str
        Dotted key and message.

    Raises
    ------
    CardError
        One of those cards is wrong.
    """
    names = library.names()
    roles: dict[str, str] = {}
    rows = _given_rows(raw)
    for number, card in enumerate(row.get("card") for row in rows):
        if not isinstance(card, str) or not card.strip():
            continue  # reported as a value
        if card not in names:
            offer = nearest_name(card, names) or "; `moldwin cards` lists them"
            offer += (
                "; `moldwin cards CARD --template NEW` starts one of your own from the most like"
            )
            yield f"ingredient.{number}.card", f"no card is named '{printable(card)}'{offer}"
            continue
        roles[card] = library.card(card).role
        if roles[card] not in _IN_A_POT:
            message = f"'{card}' is a {roles[card]}, nothing that goes into a pot"
            yield f"ingredient.{number}.card", message
        elif roles[card] != "fiber" and "length_mm" in rows[number]:
            message = f"means nothing for '{card}', a {roles[card]}: it is the length of a fiber"
            yield f"ingredient.{number}.length_mm", message
    for card in job.price:
        if card not in names:
            yield f"price.{card}", f"no card is named so{nearest_name(card, names)}"
    yield from _unknown_sources(job, library)
    yield from _unknown_mold(job, library)
    if len(job.ingredients) == len(rows):  # else the row that could not be read may be the polymer
        yield from _no_polymer(job, roles)
    if all(row.card in roles for row in job.ingredients):
        yield from against_typical(job, library)


def _given_rows(raw: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    rows = raw.get("ingredient")
    return [row for row in rows if isinstance(row, Mapping)] if isinstance(rows, list) else []


def _unknown_sources(job: Job, library: Library) -> Iterator[tuple[str, str]]:
    """Names in jar.sources that are no humidity source; a bath goes by what is in it, too."""
    names = library.names()
    for source in job.jar.sources or ():
        full = next((n for n in (f"{source}-bath", f"plain-{source}", source) if n in names), "")
        if not full or library.card(full).role != "humidity-source":
            offer = _nearest_source(source, library)
            yield "jar.sources", f"no humidity source is named '{printable(source)}'{offer}"


def _nearest_source(source: str, library: Library) -> str:
    """The source meant: by its formula or title, by the letters of its name, or all there are."""
    known = [library.card(name) for name in library.names("humidity-source")]
    for card in known:
        if _folded(source) in (_folded(card.title), _folded(card.facts.get("formula", ""))):
            return f"; did you mean {card.name!r}?"
    names = [card.name for card in known]
    # a formula that no card has is another salt, however near its letters come
    offer = "" if "(" in source else nearest_name(source, names)
    return offer or f"; known: {', '.join(names)}"


def _folded(name: str) -> str:
    return "".join(letter for letter in name.casefold() if letter.isalnum())


def _unknown_mold(job: Job, library: Library) -> Iterator[tuple[str, str]]:
    """A mold of something whose conductivity and heat nobody has told."""
    material = job.mold.material
    if material is None:
        return
    names = library.names()
    if material not in names or library.card(material).role != "mold":
        known = library.names("mold")
        offer = nearest_name(material, known) or f"; known: {', '.join(known)}"
        yield "mold.material", f"no mold material is named '{printable(material)}'{offer}"


def _no_polymer(job: Job, roles: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    rows = job.ingredients
    if not rows or any(row.card not in roles for row in rows):
        return
    dry = [row for row in rows if row.moisture is None or row.moisture < 1]
    if not any(roles[row.card] in _POLYMERS for row in dry):
        listed = ", ".join(dict.fromkeys(row.card for row in rows))
        yield "ingredient", f"no polymer among {listed}; add a starch, alginate or seaweed powder"
