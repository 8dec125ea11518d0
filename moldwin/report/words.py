"""Plain words for the names the answer uses, and text that is safe to print."""

from __future__ import annotations

import re
import unicodedata

__all__ = [
    "LIMITS",
    "SEVERITY_WORDS",
    "SHORT_LIMITS",
    "STATUS_WORDS",
    "clean",
    "code_words",
    "first_up",
    "job_heading",
    "limit_words",
    "sentence",
    "short_words",
    "source_words",
    "unknown_words",
]

#: What goes wrong when a limit is broken: the barrel's limits, then the moisture's.
LIMITS: dict[str, str] = {
    "weld": "the pellets do not weld into one melt",
    "fill": "the melt is too stiff to fill the mold",
    "granules": "granules of starch stay unmelted",
    "browning": "it browns",
    "fiber-scorch": "the fiber scorches",
    "fumes": "it gives off harmful vapor",
    "steam": "its water turns to steam",
    "heater": "the heater does not get there",
    "pellets-fuse": "the pellets fuse in the bag",
    "sticky": "the pellets stick to the press",
    "soft-part": "the part is too soft in its room",
    "drying-cracks": "the part warps or cracks as it dries",
    "mold-growth": "mold can grow on it",
    "hot-core": "the core takes too long to cool",
    "brittle": "the part is brittle in its room",
}

#: The barrel's limits for a column of a table.
SHORT_LIMITS: dict[str, str] = {
    "weld": "no weld",
    "fill": "too stiff",
    "granules": "granules",
    "browning": "browning",
    "fiber-scorch": "fiber scorch",
    "fumes": "fumes",
    "steam": "steam",
    "heater": "heater",
}

#: Columns of draws by how they end, in words a maker uses. What is not here is not named.
_UNKNOWNS: dict[str, str] = {
    "melt_viscosity": "how stiff the melt is",
    "flow_activation": "how fast heat thins the melt",
    "flow_plasticizer": "how much plasticizer thins it",
    "flow_water": "how much water thins it",
    "flow_index": "how pushing thins it",
    "entrance_radii": "what the way into the nozzle takes",
    "browning_limit": "how soon it browns",
    "browning_activation": "how fast heat browns it",
    "heater_error": "the true barrel temperature",
    "force_share": "the force lost in cold pellets",
    "wall_transfer": "how heat passes the barrel wall",
    "loose_diffusivity": "how heat passes the pellets",
    "weld_offset": "when pellets weld",
    "tg_misfit": "the glass transition",
    "tg_dry": "the glass transition when dry",
    "k_water": "how much water softens it",
    "k_starch": "how much plasticizer softens it",
    "chi1": "how firmly the melt holds its water",
    "sorption_heat_factor": "how warmth frees its water",
    "heat_capacity_factor": "how much heat it takes to warm",
    "moisture": "the true moisture",
    "solids_packing": "how solids thicken it",
    "dissolved_share": "how much seaweed melts",
    "mannitol": "the mannitol in the seaweed",
    "mannitol_dissolved_share": "how much of its mannitol is dissolved",
    "packing_share": "how well the charge is packed",
    "browning_speedup": "how acid browns it",
    "crosslink_share": "how much calcium binds",
}

SEVERITY_WORDS: dict[str, str] = {"stop": "STOP", "caution": "Caution", "info": "Note"}

#: Where a number comes from, as a heading of a column or the word behind a value.
STATUS_WORDS: dict[str, str] = {
    "measured": "measured",
    "read": "published",
    "memory": "from memory",
    "derived": "derived",
    "assumed": "assumed",
}


def limit_words(name: str) -> str:
    """What goes wrong when this limit is broken.

    Examples
    --------
    >>> limit_words("browning")
    'it browns'
    """
    return LIMITS.get(name, code_words(name))


def short_words(name: str) -> str:
    """The same for a column of a table.

    Examples
    --------
    >>> short_words("fill")
    'too stiff'
    """
    return SHORT_LIMITS.get(name, code_words(name))


def unknown_words(column: str) -> str:
    """What a maker does not know, by the name of its draws; empty where there are no plain words.

    Examples
    --------
    >>> unknown_words("starch.melt_viscosity"), unknown_words("corn-starch.moisture = 0.12")
    ('how stiff the melt is', 'the true moisture')
    >>> unknown_words("jar.convection")
    ''
    """
    return _UNKNOWNS.get(column.partition(" = ")[0].rsplit(".", 1)[-1], "")


def source_words(source: str) -> str:
    """A humidity source with the name of its salt before the formula.

    Examples
    --------
    >>> source_words("saturated CH3COOK slurry")
    'saturated potassium acetate (CH3COOK) slurry'
    """
    from moldwin.inputs.cards import Library

    library = Library()
    known = set(library.names("humidity-source"))

    def named(match: re.Match[str]) -> str:
        name = match.group()
        card = library.card(name) if name in known else None
        salt = card is not None and card.family == "salt"
        return f"{card.title.lower()} ({name})" if card is not None and salt else name

    return re.sub(r"[A-Za-z][\w-]*", named, source)


def sentence(words: str) -> str:
    """Words with a colon behind them, unless they end already."""
    words = words.strip()
    return words if words.endswith((".", "!", "?", ":")) else words + ":"


def first_up(words: str) -> str:
    """Words with a capital."""
    words = words.strip()
    return words[:1].upper() + words[1:]


def code_words(code: str) -> str:
    """A code as words.

    Examples
    --------
    >>> code_words("unmeasured-material")
    'unmeasured material'
    """
    return code.replace("-", " ")


def clean(text: object) -> str:
    """Text from a file or a command line made safe: no control characters, one line.

    Parameters
    ----------
    text : object
        Anything; its ``str`` is taken. [-]

    Returns
    -------
    str
        Line ends and tabs become spaces; what would steer a terminal, or turn the direction of
        writing, is dropped. [-]

    Examples
    --------
    >>> clean("a\\x1b[31m\\nb\\u202e")
    'a[31m b'
    """
    spaced = " ".join(str(text).split("\n")).replace("\t", " ").replace("\r", " ")
    if spaced.isascii() and spaced.isprintable():
        return spaced
    return "".join(c for c in spaced if not unicodedata.category(c).startswith("C"))


def job_heading(title: str, bundled: bool) -> str:
    """What stands over an answer: the job's own title, unless no job was named.

    Examples
    --------
    >>> job_heading("", False)
    'Your job'
    """
    return "Bundled example, not your blend" if bundled else clean(title) or "Your job"
