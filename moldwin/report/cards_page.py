"""Cards as text: the list of materials, and one card with every value and its source."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from moldwin.inputs.cards import Card, Library
from moldwin.report.cards_data import card_data, cards_data
from moldwin.report.page import Page
from moldwin.report.words import STATUS_WORDS, code_words

__all__ = ["card_page", "cards_page"]

#: Keys in kelvin that are a temperature, not a difference or a rate: shown in °C as well.
_TEMPERATURES = (
    "fume_t",
    "heater_max",
    "isotherm_t",
    "melting_dry",
    "scorch_t",
    "temperature",
    "temperature_max",
    "tg_dry",
    "tg_prime",
)
_ZERO_C = 273.15
_COUNTED = ("measured", "read", "memory", "derived", "assumed")


def cards_page(library: Library, width: int | None = None) -> str:
    """The list of all cards.

    Parameters
    ----------
    library : Library
        The cards at hand. [-]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        The page. [-]
    """
    page, data = Page(width), cards_data(library)
    _materials(page, data["materials"])
    _humidity_sources(page, data["humidity_sources"])
    _bench(page, data["bench"])
    page.gap()
    page.paragraph("moldwin cards NAME shows every value of one card and where it comes from.")
    return page.text()


def card_page(card: Card, width: int | None = None) -> str:
    """One card: every value with its unit, spread, status, source, conditions and rivals.

    Parameters
    ----------
    card : Card
        The card. [-]
    width : int, optional
        Columns; left out, the terminal's own, at most 80. [-]

    Returns
    -------
    str
        The page. [-]
    """
    page, data = Page(width), card_data(card)
    owner = "" if data["shipped"] else ", your own card"
    page.heading(f"{data['title']} ({data['name']})")
    page.paragraph(f"{code_words(data['role'])}, family {data['family']}{owner}")
    if data["about"]:
        page.paragraph(data["about"])
    _facts(page, data["facts"])
    if data["values"]:
        page.heading("VALUES")
    for value in data["values"]:
        _value(page, value)
    _drawn_together(page, data["groups"])
    _list(page, "MISSING: nobody has published", data["missing"])
    _list(page, "SOURCES", [f"{name}: {full}" for name, full in data["sources"].items()])
    return page.text()


def _materials(page: Page, materials: list[dict[str, Any]]) -> None:
    shown = [status for status in _COUNTED if any(row["values"][status] for row in materials)]
    page.heading("MATERIALS, and how many values of each come from where")
    titles = ("name", "role", *(STATUS_WORDS[status] for status in shown))
    table = [titles]
    for row in materials:
        counts = (str(row["values"][status]) for status in shown)
        table.append((row["name"], row["role"], *counts))
    numbers = tuple(range(2, len(titles)))
    lines = [_notes(row) for row in materials]
    page.rows(table, right=numbers, below=["", *lines])


def _notes(row: Mapping[str, Any]) -> str:
    """Title, and what is missing, under a material's row."""
    own = "" if row["shipped"] else " (your own card)"
    lacks = "; ".join(row["missing"])
    return f"{row['title']}{own}." + (f" Not published: {lacks}." if lacks else "")


def _humidity_sources(page: Page, sources: list[dict[str, Any]]) -> None:
    if not sources:
        return
    page.heading("HUMIDITY SOURCES for the jar")
    table = [("name", "formula", "fit for", "what it is")]
    for row in sources:
        what = row["title"] + (" (feeds fire)" if row.get("oxidizer") else "")
        fitness = code_words(str(row.get("fitness", "")))
        table.append((row["name"], str(row.get("formula", "")), fitness, what))
    page.rows(table)


def _bench(page: Page, rows: list[dict[str, Any]]) -> None:
    if not rows:
        return
    page.heading("TAKEN FOR PRESS, MOLD, JAR, PART, ROOM AND MELT, where the job does not say")
    page.rows([(f"{row['card']}.{row['key']}", _number(row), _status(row)) for row in rows])


def _facts(page: Page, facts: Mapping[str, Any]) -> None:
    for name, fact in facts.items():
        said = {True: "yes", False: "no"}.get(fact, fact) if isinstance(fact, bool) else fact
        page.paragraph(said, lead=f"{code_words(name.replace('_', '-'))}: ")


def _value(page: Page, value: Mapping[str, Any]) -> None:
    page.paragraph(f"- {value['what']}" if value["what"] else "", strong=value["key"])
    page.paragraph(_number(value) + _why_spread(value), indent=4)
    where = f", {value['where']}" if value["where"] else ""
    printed = f"; printed as {value['printed']}" if value["printed"] else ""
    page.paragraph(f"{_status(value)}: {value['source_key']}{where}{printed}", indent=4)
    if value["conditions"]:
        page.paragraph(f"for: {value['conditions']}", indent=4)
    for other in value["alternatives"]:
        number = f"{other['value']:.6g} {_unit(value)}".rstrip()
        note = f", {other['note']}" if other.get("note") else ""
        page.paragraph(f"not used: {number} ({other['source']}{note})", indent=4)


def _number(value: Mapping[str, Any]) -> str:
    """Value, unit and spread, in the card's own unit."""
    number = f"{value['value']:.6g} {_unit(value)}".rstrip()
    if value["key"] in _TEMPERATURES and value["unit"] == "K":
        number += f" = {value['value'] - _ZERO_C:.6g} °C"
    parts = []
    if value["u"]:
        parts.append(f"± {value['u']:.6g}")
    if value["factor"]:
        parts.append(f"within a factor {value['factor']:.6g}")
    if value["low"] is not None and value["high"] is not None:
        parts.append(f"{value['low']:.6g} to {value['high']:.6g}")
    return f"{number} ({', '.join(parts)})" if parts else number


def _why_spread(value: Mapping[str, Any]) -> str:
    return f"; spread: {value['u_from']}" if value["u_from"] else ""


def _unit(value: Mapping[str, Any]) -> str:
    return "" if value["unit"] == "1" else str(value["unit"])


def _status(value: Mapping[str, Any]) -> str:
    return STATUS_WORDS.get(value["status"], value["status"])


def _drawn_together(page: Page, groups: list[dict[str, Any]]) -> None:
    for group in groups:
        members = ", ".join(group["members"])
        page.paragraph(f"drawn together: {members} ({group['why']})")


def _list(page: Page, heading: str, rows: list[str]) -> None:
    if rows:
        page.heading(heading)
        for row in rows:
            page.paragraph(row, lead=" - ")
