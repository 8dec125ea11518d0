"""What is wrong with a file, said so that the reader can mend it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["CardError", "Fault", "InputError", "nearest"]


@dataclass(frozen=True)
class Fault:
    """One thing wrong in a file: where, what came, what is allowed, the likely slip.

    Parameters
    ----------
    file : str
        File as the user named it. [-]
    key : str
        Dotted key, empty where the whole file is meant. [-]
    message : str
        What came and what is allowed, in one sentence. [-]
    line : int, optional
        Line number, from 1. [-]

    Examples
    --------
    >>> str(Fault("job.toml", "pellets.moisture_pct", "got 120, allowed 0 to 60", 7))
    'job.toml, line 7: pellets.moisture_pct: got 120, allowed 0 to 60'
    """

    file: str
    key: str
    message: str
    line: int | None = None

    def __str__(self) -> str:
        place = f"{self.file}, line {self.line}" if self.line else self.file
        return f"{place}: {self.key}: {self.message}" if self.key else f"{place}: {self.message}"


class InputError(ValueError):
    """A job, a table or the command line is wrong; carries every fault found."""

    exit_code = 2

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class CardError(InputError):
    """What a material card says is wrong."""

    exit_code = 3


def nearest(word: str, allowed: Iterable[str]) -> str:
    """A question offering the nearest spelling, or nothing.

    Parameters
    ----------
    word : str
        What came. [-]
    allowed : iterable of str
        What may come. [-]

    Returns
    -------
    str
        ``"; did you mean 'x'?"`` or an empty string. [-]

    Examples
    --------
    >>> nearest("moisture", ["moisture_pct", "mass_g"])
    "; did you mean 'moisture_pct'?"
    """
    close = difflib.get_close_matches(str(word), list(allowed), n=1, cutoff=0.6)
    return f"; did you mean {close[0]!r}?" if close else ""
