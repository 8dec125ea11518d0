"""From a blend, a press and a part to one honest page: what to do, and how sure it is.

Nothing heavy is loaded until one of the names below is used.

Examples
--------
>>> import moldwin
>>> moldwin.advise is moldwin.advise
True
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from moldwin.advice.advise import advise
    from moldwin.advice.answer import Advice
    from moldwin.advice.screen import screen
    from moldwin.inputs.errors import CardError, InputError

__all__ = ["Advice", "CardError", "InputError", "advise", "screen"]

__version__ = "0.1.0"

#: Public names and the modules they live in.
_HOMES = {
    "Advice": "moldwin.advice.answer",
    "CardError": "moldwin.inputs.errors",
    "InputError": "moldwin.inputs.errors",
    "advise": "moldwin.advice.advise",
    "screen": "moldwin.advice.screen",
}


def __getattr__(name: str) -> Any:
    """A public name, its module loaded on first use."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(_HOMES[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
