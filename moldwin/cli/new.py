"""``moldwin new``: a few questions, a commented job file, and the first answer."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from moldwin.cli._common import ForceOption, emit, notes_on, tell
from moldwin.inputs.errors import Fault, InputError

if TYPE_CHECKING:
    from moldwin.cli._new_questions import Answers
    from moldwin.inputs.cards import Library
    from moldwin.inputs.job import Job

__all__ = ["new"]

_ENDINGS = (".toml",)
#: Lets a job be read for its recipe and room while its moisture is not known yet.
_STAND_IN = ("pellets.moisture_pct=10", "pellets.moisture_u_pct=1")
_INTRO = (
    "Ten short questions at most, and a first answer. Press Enter, or type ?, for",
    "what you do not know: the answer says what that costs. Ctrl-C keeps nothing.",
)


def new(
    file: Annotated[
        str, typer.Argument(metavar="[FILE.toml]", help="The job to write.")
    ] = "my-job.toml",
    force: ForceOption = False,
) -> None:
    """Ask a few questions, write a job file, and say what to do.

    Units are understood as you type them (22 mm, 7 in, 3,5 kN, 30 kg), and "don't know" is an
    answer. From a pipe or a file one answer is read from each line, in the order asked; where it
    ends, nothing more is known.

    \b
    Example:
      moldwin new my-blend.toml

    \b
    Exit codes:
      0    the job is written, and answered
      2    the file is there already, or an answer from a pipe cannot be read
      3    something in a material card is wrong
      130  stopped with Ctrl-C; nothing was written
    """
    from moldwin.inputs.whole_file import checked_target, write_whole

    target = checked_target(file, _ENDINGS, force=force)
    from moldwin.inputs.cards import library_for

    library = library_for(Path(file).parent)
    said = _answers(Path(file).parent, library)
    text, stand_ins = _job(said, library, Path(file).parent)
    write_whole(target, text.encode(), named=file)
    tell(["", f"The job is in {file}.", ""] if _at_terminal() else [f"The job is in {file}."])
    _answer(file, said, stand_ins)


def _at_terminal() -> bool:
    return sys.stdin is not None and sys.stdin.isatty()


def _answers(folder: Path, library: Library) -> Answers:
    """From whoever sits at the terminal, or from a pipe."""
    from moldwin.cli._new_questions import PipedAnswers, converse, questions
    from moldwin.cli._talk import ask_at_terminal, say_at_terminal

    room_c = library.card("room")["temperature"].value - 273.15
    asked = questions(library, round(room_c, 1))
    if sys.stdin is None:
        raise InputError([Fault("standard input", "", "is closed; answers are read from it")])
    if _at_terminal():
        for line in _INTRO:
            say_at_terminal(line)

        def slip(message: str) -> None:
            say_at_terminal(f"     {message}")

        return converse(asked, folder, ask_at_terminal, slip, say_at_terminal)
    piped = PipedAnswers(sys.stdin)
    return converse(asked, folder, piped.ask, piped.slip, lambda line: None)


def _job(said: Answers, library: Library, folder: Path) -> tuple[str, dict[str, str]]:
    """The file, and what stands in for what is not known."""
    from moldwin.inputs.new_job import job_text, job_title, merged, stand_ins_for

    stand_ins = stand_ins_for(said.unknown, library)
    guess = ""
    if "moisture" in said.unknown:
        from moldwin.advice.not_known import room_dry

        w, u = room_dry(_read(said.tables, folder, _STAND_IN))
        moisture: dict[str, Any] = {
            "moisture_pct": round(100.0 * w, 1),
            "moisture_u_pct": round(100.0 * u, 1),
            "moisture_guessed": True,
        }
        said.tables = merged(said.tables, {"pellets": moisture})
        room = said.tables.get("room", {}).get("humidity_pct")
        where = stand_ins.get("humidity", "") if room is None else f"{room:g} %"
        guess = f"what this blend holds in a room at {where.removesuffix(' assumed')} humidity"
        stand_ins["moisture"] = (
            f"a guess, {moisture['moisture_pct']:.0f} % give or take"
            f" {moisture['moisture_u_pct']:.0f}, {guess}"
        )
    title = job_title(said.tables, bool(guess))
    _read(said.tables, folder, (f"title={title}",))  # nothing is written that could not be read
    return job_text(said.tables, title, said.unknown, library, guess), stand_ins


def _read(tables: dict[str, Any], folder: Path, sets: tuple[str, ...]) -> Job:
    """A job from its tables; cards are looked for in the folder where it will lie."""
    from moldwin.inputs.job import Job
    from moldwin.inputs.read_job import read_job

    return read_job(Job(raw=tables, folder=folder), sets)


def _answer(file: str, said: Answers, stand_ins: dict[str, str]) -> None:
    """What `advise` says of the job, and what was not known of it."""
    from moldwin.advice.advise import advise as advise_on
    from moldwin.advice.not_known import costs
    from moldwin.inputs.read_job import read_job
    from moldwin.report.new_page import not_known_section
    from moldwin.report.terminal import advice_page

    read = read_job(file)
    advice = advise_on(read)
    known = advice.settings  # none where nobody should heat: then no other setting is named either
    at = None if known is None else known.moisture_pct
    open_ends = [] if at is None else costs(read, said.unknown, at / 100.0)
    emit(advice_page(advice, file) + not_known_section(open_ends, said.unknown, stand_ins))
    tell(notes_on(read.notes, advice.overrides))
