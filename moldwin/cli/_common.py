"""What every command shares: options, printing, exit codes."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable
from typing import Annotated, Any

import typer

from moldwin.inputs.errors import Fault, InputError

__all__ = [
    "EXIT_STRICT",
    "EXIT_WRONG",
    "ConfidenceOption",
    "ForceOption",
    "JobArgument",
    "JsonOption",
    "SeedOption",
    "SetOption",
    "check_confidence",
    "emit",
    "guarded",
    "notes_on",
    "tell",
]

EXIT_WRONG = 2
EXIT_STRICT = 4
_EXIT_STOPPED = 130
_CONFIDENCE_LOW, _CONFIDENCE_HIGH = 0.5, 0.99

JobArgument = Annotated[
    str | None, typer.Argument(metavar="JOB.toml", help="Your job; left out: the bundled example.")
]
SeedOption = Annotated[int, typer.Option(help="Of the random draws; same seed, same answer.")]
ConfidenceOption = Annotated[
    float, typer.Option(help="Share of samples that must be fine, 0.5 to 0.99.")
]
ForceOption = Annotated[bool, typer.Option("--force", help="Overwrite the file if it is there.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print one JSON object.")]
SetOption = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="KEY=VALUE",
        help="What if: change one value of the job, such as pellets.moisture_pct=12. Repeatable.",
    ),
]


def emit(text: str) -> None:
    """Write the whole answer to stdout, at once, so that an error leaves it empty.

    A reader that has seen enough (``| head``) is no error.
    """
    if sys.stdout is None:
        raise _unwritable("it is closed")
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        _drop_stdout()
    except OSError as error:
        _drop_stdout()
        raise _unwritable(error.strerror or str(error)) from None


def tell(lines: Iterable[object]) -> None:
    """Write remarks or errors to stderr, one a line, without control characters."""
    from moldwin.report.words import clean

    if sys.stderr is None:
        return
    try:
        for line in lines:
            sys.stderr.write(clean(str(line)) + "\n")
        sys.stderr.flush()
    except OSError:
        pass  # nobody is left to be told


def notes_on(notes: Iterable[str], overrides: Iterable[str] = ()) -> list[str]:
    """Lines for stderr: how the job was read, and which cards of the user's won over ours.

    Examples
    --------
    >>> notes_on(["pellets.length_mm is not used"], ["agar"])
    ['note: pellets.length_mm is not used', 'note: your own card agar is used, not ours']
    >>> notes_on([], ["agar", "press"])
    ['note: your own cards agar, press are used, not ours']
    """
    names = list(overrides)
    cards = f"cards {', '.join(names)} are" if len(names) > 1 else f"card {''.join(names)} is"
    own = [f"your own {cards} used, not ours"] if names else []
    return [f"note: {note}" for note in (*notes, *own)]


def guarded(run: Callable[[], Any]) -> int:
    """Run the command line; whatever the user got wrong becomes a sentence and an exit code.

    Parameters
    ----------
    run : callable
        Parses and runs; it leaves by ``SystemExit``. [-]

    Returns
    -------
    int
        The exit code. [-]
    """
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a terminal without ° or ² shows ? instead of failing
            stream.reconfigure(errors="replace")
    try:
        run()
    except InputError as error:
        tell(error.faults)
        return error.exit_code
    except KeyboardInterrupt:
        return _EXIT_STOPPED
    except SystemExit as leaving:
        code = leaving.code if isinstance(leaving.code, int) else int(bool(leaving.code))
        return EXIT_WRONG if code == 1 else code  # 1 comes from the parser's own aborts
    return 0


def _unwritable(why: str) -> InputError:
    return InputError([Fault("stdout", "", f"the answer cannot be written: {why}")])


def _drop_stdout() -> None:
    """Send what is still buffered nowhere, or Python complains about it on its way out."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


def check_confidence(confidence: float) -> None:
    if _CONFIDENCE_LOW <= confidence <= _CONFIDENCE_HIGH:
        return
    as_share = confidence / 100
    percent = confidence > 1 and _CONFIDENCE_LOW <= as_share <= _CONFIDENCE_HIGH
    hint = f"; did you mean {as_share:g}?" if percent else ""
    message = (
        f"got {confidence:g}, allowed: {_CONFIDENCE_LOW:g} to {_CONFIDENCE_HIGH:g}, the share of "
        f"samples in which every limit must hold{hint}"
    )
    raise InputError([Fault("--confidence", "", message)])
