"""JSON that every reader accepts: no infinities, no NaN, plain ASCII."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any

__all__ = ["to_json"]


def to_json(value: Any) -> str:
    """One JSON object as text, with a line end.

    Parameters
    ----------
    value : mapping
        Plain data; numbers keep full precision, what is not finite becomes null. [any]

    Returns
    -------
    str
        ASCII only, so that no terminal or pipe can spoil it. [-]

    Examples
    --------
    >>> print(to_json({"days": float("inf"), "unit": "°C"}), end="")
    {
      "days": null,
      "unit": "\\u00b0C"
    }
    """
    return json.dumps(_finite(value), indent=2, allow_nan=False, default=_unpacked) + "\n"


def _finite(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def _unpacked(value: Any) -> Any:
    """An array's number, or an array, as plain data."""
    if hasattr(value, "tolist"):
        return _finite(value.tolist())
    raise TypeError(f"{type(value).__name__} is not plain data")
