"""A value written as TOML, so that it reads back as the same value."""

from __future__ import annotations

import json
from typing import Any

__all__ = ["toml_value"]


def toml_value(value: Any) -> str:
    """Text, number, yes or no, or a list of them, as it stands behind ``=`` in a TOML file.

    Parameters
    ----------
    value : str, bool, int, float, list or tuple
        What is to be written. [as given]

    Returns
    -------
    str
        No more digits than it takes to read the very number back. [-]

    Examples
    --------
    >>> [toml_value(v) for v in (True, 3.0, 0.1 + 0.2, "7° \\n", ["NaCl", "KCl"])]
    ['true', '3', '0.30000000000000004', '"7° \\\\n"', '["NaCl", "KCl"]']
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        short = f"{value:.12g}"
        return short if float(short) == value else repr(value)
    if isinstance(value, list | tuple):
        return "[" + ", ".join(toml_value(item) for item in value) + "]"
    # JSON's text is TOML's, but for the one control character that JSON lets pass
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
