"""A commented job file from the answers of ``moldwin new``: what is known, and what is not."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any

from moldwin.inputs.cards import Library
from moldwin.inputs.job_keys import UNITS, keys_of
from moldwin.inputs.new_answers import Tables
from moldwin.inputs.text_files import printable
from moldwin.inputs.toml_value import toml_value

__all__ = ["job_text", "job_title", "merged", "stand_ins_for"]

#: What a key means to somebody who reads the file for the first time.
_SAYS = {
    "pot.water_g": "boils off again; it only makes the gel",
    "pellets.moisture_pct": "water in the pellets now, share of their whole mass",
    "pellets.moisture_u_pct": "how far that may be off",
    "pellets.moisture_guessed": "take this line out once you have measured it",
    "pellets.shape": "flake, slab, cylinder or sphere",
    "press.plunger_diameter_mm": "the barrel's bore is taken as the same",
    "press.barrel_capacity_cm3": "bore and depth as you gave them",
    "press.force_kn": "on the plunger, not on a lever",
    "press.lever_force_n": "of your hand on the lever",
    "press.lever_ratio": "long arm over short arm",
    "press.gauge_mpa": "oil pressure of the jack",
    "press.jack_piston_diameter_mm": "of the jack, not of the plunger",
    "press.sealed_nozzle": "shut while the charge soaks?",
    "mold.temperature_max_c": "hottest it can be held",
    "room.humidity_pct": "where pellets and parts lie",
}
#: Keys left out where a question stayed open, and the bench card's value that stands in.
_LEFT_OUT = {
    "barrel": (
        ("press.plunger_diameter_mm", ("press", "plunger_diameter")),
        ("press.barrel_capacity_cm3", None),
    ),
    "force": (("press.force_kn", ("press", "force")),),
    "nozzle": (("press.nozzle_diameter_mm", ("press", "nozzle_diameter")),),
    "sealed": (("press.sealed_nozzle", None),),
    "mold": (("mold.temperature_max_c", ("mold", "temperature_max")),),
    "humidity": (("room.humidity_pct", ("room", "humidity")),),
    "pieces": (("pellets.shape", None),),
    "part": (("part.specimen", None),),
}
_WITHOUT = {
    "press.barrel_capacity_cm3": "how full the barrel gets is then not said",
    "press.sealed_nozzle": "not known: taken as open, so steam limits the barrel sooner",
    "pellets.shape": "not known: 3 mm cylinders stand in for how fast they dry and soak",
    "part.specimen": "no part yet: a 50 x 10 x 2 mm plate stands in",
}
_TAKEN = {
    "sealed": "taken as open",
    "pieces": "3 mm cylinders assumed",
    "part": "a 50 x 10 x 2 mm plate stands in for filling",
}
_SECTIONS = ("pot", "pellets", "press", "mold", "part", "room")
_COLUMN = 30


def merged(tables: Tables, more: Tables) -> Tables:
    """Both, the keys of a section side by side; neither is changed.

    Examples
    --------
    >>> merged({"press": {"force_kn": 3}}, {"press": {"clamp_kn": 9}})
    {'press': {'force_kn': 3, 'clamp_kn': 9}}
    """
    found: Tables = {n: dict(t) if isinstance(t, dict) else list(t) for n, t in tables.items()}
    for name, table in more.items():
        if isinstance(table, dict):
            found[name] = {**found.get(name, {}), **table}
        else:
            found[name] = list(table)
    return found


def job_title(tables: Tables, guessed: bool) -> str:
    """A title from the recipe; it says so where the moisture is a guess, for every page bears it.

    Examples
    --------
    >>> job_title({"ingredient": [{"card": "agar", "mass_g": 300.0}]}, True)
    'agar 300 g (moisture guessed)'
    """
    rows = ", ".join(f"{row['card']} {row['mass_g']:g} g" for row in tables["ingredient"])
    return printable(rows, 240) + (" (moisture guessed)" if guessed else "")


def stand_ins_for(unknown: Collection[str], library: Library) -> dict[str, str]:
    """What is taken for each open question, in a few words.

    Examples
    --------
    >>> stand_ins_for(["force", "sealed"], Library())
    {'force': '4 kN assumed', 'sealed': 'taken as open'}
    """
    words = dict(_TAKEN)
    for question, rows in _LEFT_OUT.items():
        for dotted, card in rows:
            if card is not None:
                words[question] = f"{_at_the_edge(dotted, card, library)} assumed"
    return {question: words[question] for question in unknown if question in words}


def _at_the_edge(dotted: str, card: tuple[str, str], library: Library) -> str:
    """A bench card's value in the unit of a job key; every unit there is a straight line."""
    section, _, name = dotted.partition(".")
    unit = UNITS[keys_of(section)[name].unit]
    zero, one = unit.to_si(0.0), unit.to_si(1.0)
    value = (library.card(card[0])[card[1]].value - zero) / (one - zero)
    return f"{value:.3g} {unit.sign}".rstrip()


def job_text(
    tables: Tables, title: str, unknown: Collection[str], library: Library, guess: str = ""
) -> str:
    """The file.

    Parameters
    ----------
    tables : dict
        Sections of a job. [as in the file]
    title : str
        Of the job. [-]
    unknown : collection of str
        Questions that stayed open. [-]
    library : Library
        Whose values stand in for what is left out. [-]
    guess : str
        Where the moisture comes from, if nobody measured it. [-]

    Returns
    -------
    str
        TOML with a word on every line that needs one. [-]
    """
    lines = [
        "# Your job, from your answers. Change what you like: `moldwin check` says what is wrong",
        "# with it or missing, `moldwin advise` answers anew.",
        f"title = {toml_value(title)}",
    ]
    if guess:
        lines.append('# take "(moisture guessed)" off once you have measured it')
    for row in tables["ingredient"]:
        lines += ["", "[[ingredient]]", f"card = {toml_value(row['card'])}"]
        lines.append(_line("mass_g", row["mass_g"], "as weighed, its own water included"))
    for section in _SECTIONS:
        lines += _section(section, tables.get(section, {}), unknown, library, guess)
    return "\n".join(lines) + "\n"


def _section(
    name: str, table: Tables, unknown: Collection[str], library: Library, guess: str
) -> Iterator[str]:
    """The lines of one section; what is not known stands as a comment to be filled in."""
    body = []
    for key, value in table.items():
        if key == "solid":
            continue
        if key == "moisture_pct" and guess:
            body += [f"# a guess, nobody measured it: {guess};", "# `moldwin moisture` measures it"]
        body.append(_line(key, value, _SAYS.get(f"{name}.{key}", "")))
    for question in _LEFT_OUT:
        if question in unknown:
            body += _open(name, question, table, library)
    if body:
        yield from ("", f"[{name}]", *body)
    for solid in table.get("solid", ()):
        yield from ("", "[[part.solid]]")
        yield from (_line(key, value, "") for key, value in solid.items())


def _open(section: str, question: str, table: Tables, library: Library) -> Iterator[str]:
    for dotted, card in _LEFT_OUT[question]:
        place, _, key = dotted.partition(".")
        if place != section or key in table:
            continue
        what = _WITHOUT.get(dotted, "")
        if card is not None:
            what = f"not known: {_at_the_edge(dotted, card, library)} is assumed"
        yield f"# {key} =".ljust(_COLUMN) + f"# {what}"


def _line(key: str, value: Any, comment: str) -> str:
    line = f"{key} = {toml_value(value)}"
    return f"{line.ljust(_COLUMN)}# {comment}" if comment else line
