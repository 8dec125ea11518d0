"""Plain words for the names the answer uses, and text that is safe to print."""

from __future__ import annotations

import unicodedata

__all__ = ["LIMITS", "SEVERITY_WORDS", "STATUS_WORDS", "clean", "code_words", "limit_words"]

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
