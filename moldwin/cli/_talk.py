"""How commands talk to somebody at a terminal, or read the same answers from a pipe."""

from __future__ import annotations

import sys
from collections.abc import Callable
from textwrap import wrap
from typing import TypeVar

from moldwin.inputs.job_values import SlipError

__all__ = ["ask_at_terminal", "say_at_terminal", "until_it_reads"]

_Read = TypeVar("_Read")


def ask_at_terminal(question: str) -> str:
    """A question on stderr, so that stdout holds the answer of the command alone."""
    sys.stderr.write(question)
    sys.stderr.flush()
    line = sys.stdin.readline()
    if not line:  # Ctrl-D: the maker has left
        raise KeyboardInterrupt
    return line.rstrip("\r\n")


def say_at_terminal(line: str) -> None:
    """A line on stderr, wrapped where it is longer than 80 columns."""
    lead = " " * (len(line) - len(line.lstrip()))
    for piece in wrap(line, 80, subsequent_indent=lead, break_on_hyphens=False) or [""]:
        sys.stderr.write(piece + "\n")


def until_it_reads(
    question: str,
    ask: Callable[[str], str],
    slip: Callable[[str], None],
    read: Callable[[str], _Read],
) -> tuple[str, _Read]:
    """Ask until the answer can be read; what was typed, and what it means.

    Parameters
    ----------
    question : str
        The question. [-]
    ask : callable
        Shows it and returns what was typed. [-]
    slip : callable
        Told what is wrong with an answer; raises where nobody is there to answer again. [-]
    read : callable
        Makes a value of what was typed, or raises ``SlipError``. [-]

    Returns
    -------
    tuple
        Text and value. [-]

    Examples
    --------
    >>> typed = iter(["many", "3"])
    >>> def read(text):
    ...     if text.isdigit():
    ...         return int(text)
    ...     raise SlipError("a number, please")
    >>> until_it_reads("How many? ", lambda question: next(typed), print, read)
    a number, please
    ('3', 3)
    """
    while True:
        text = ask(question)
        try:
            return text, read(text)
        except SlipError as wrong:
            slip(str(wrong))
