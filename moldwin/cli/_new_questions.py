"""The short conversation of ``moldwin new``: what is asked, and how answers become a job."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from moldwin.cli._talk import until_it_reads
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.job_values import SlipError
from moldwin.inputs.new_job import merged

if TYPE_CHECKING:
    from moldwin.inputs.cards import Library
    from moldwin.inputs.new_answers import Tables

__all__ = ["Answers", "PipedAnswers", "Question", "converse", "questions"]

#: Stand in while the first answers are looked at alone.
_STAND_IN: Tables = {
    "ingredient": [{"card": "corn-starch", "mass_g": 100}],
    "pellets": {"moisture_pct": 10, "moisture_u_pct": 1},
}


@dataclass(frozen=True)
class Question:
    """One question: its name, what is asked, a line on why and what is usual, and its reader."""

    name: str
    asks: str
    says: str
    read: Callable[[str], Tables]
    must: bool = False


@dataclass
class Answers:
    """Sections of a job, and the questions that stayed open."""

    tables: Tables = field(default_factory=dict)
    unknown: list[str] = field(default_factory=list)


def questions(library: Library, room_c: float) -> tuple[Question, ...]:
    """Everything that is asked, in the order of the work.

    Parameters
    ----------
    library : Library
        The cards that ingredients are matched to. [-]
    room_c : float
        Temperature of an unheated mold. [°C]

    Returns
    -------
    tuple of Question
        The humidity is asked only where the moisture is not known. [-]
    """
    from moldwin.inputs import new_answers as answers

    return (
        Question(
            "ingredients",
            "Ingredients, as weighed into the pot",
            "Such as 300 g potato starch, 90 g glycerol, or in %. Water may be left out.",
            partial(answers.read_ingredients, library=library),
            must=True,
        ),
        Question(
            "moisture",
            "Water in the pellets now, %",
            "Of their whole mass; 8 to 14 % in a room. `moldwin moisture` tells yours.",
            answers.read_moisture,
        ),
        Question(
            "humidity",
            "Humidity of the room they lie in, %",
            "It gives a guess of the moisture; usual 40 to 60 %.",
            answers.read_humidity,
        ),
        Question(
            "pieces",
            "Shape and size of the pellets",
            "Such as flake 1 mm, cylinder 3 x 4 mm: tells how fast they dry.",
            answers.read_pieces,
        ),
        Question(
            "barrel",
            "Plunger diameter, and depth of the barrel if you know it",
            "Such as 22 mm, or 22 x 80 mm: makes pressure of force; does a charge fit?",
            answers.read_barrel,
        ),
        Question(
            "force",
            "Force on the plunger",
            "Such as 3.5 kN; by a lever 25 kg x 14; by a jack 80 bar on 30 mm piston.",
            answers.read_force,
        ),
        Question(
            "nozzle",
            "Bore of the nozzle, and its length if you know it",
            "Such as 3 mm, or 3 x 12 mm: a narrow one eats the pressure.",
            answers.read_nozzle,
        ),
        Question(
            "sealed",
            "Is the nozzle shut while the charge soaks? yes or no",
            "By a plug or a plate: then its water cannot boil and foam it.",
            answers.read_sealed,
        ),
        Question(
            "mold",
            "Hottest the mold can be held, °C",
            "Such as 90, by a hot plate or an oven; or: unheated.",
            partial(answers.read_mold, room_c=room_c),
        ),
        Question(
            "part",
            "The part",
            "Such as 60 x 15 x 3 mm, disc 40 x 3 mm, rod 8 x 50 mm, ISO 527-2 1BA.",
            answers.read_part,
        ),
    )


def converse(
    asked: tuple[Question, ...],
    folder: Path,
    ask: Callable[[str], str],
    slip: Callable[[str], None],
    say: Callable[[str], None],
) -> Answers:
    """Ask all questions.

    Parameters
    ----------
    asked : tuple of Question
        What to ask. [-]
    folder : pathlib.Path
        Where the job will lie: the user's own cards are looked for beside it. [-]
    ask : callable
        Shows a question and returns what was typed. [-]
    slip : callable
        Told what is wrong with an answer; raises where nobody can answer again. [-]
    say : callable
        Shows a line. [-]

    Returns
    -------
    Answers
        What is known, and what is not. [as in a job file]
    """
    said = Answers()
    total = len(asked) - 1  # the humidity is part of the moisture
    number = 0
    for question in asked:
        if question.name == "humidity":
            if "moisture" not in said.unknown:
                continue
            lead = "     "
        else:
            number += 1
            lead = f"{number}/{total}".ljust(5)
        say("")
        say(f"{lead}{question.asks}")
        say(f"     {question.says}")
        read = partial(_read, question, said.tables, folder)
        _, tables = until_it_reads("     > ", ask, slip, read)
        if tables is None:
            said.unknown.append(question.name)
        else:
            said.tables = merged(said.tables, tables)
    return said


class PipedAnswers:
    """Answers line by line from a pipe; where it ends, nothing more is known."""

    def __init__(self, stream: TextIO) -> None:
        self._stream, self._line = stream, 0

    def ask(self, question: str) -> str:
        """The next line, empty behind the last."""
        try:
            text = self._stream.readline()
        except (OSError, ValueError) as error:  # closed, or not UTF-8
            raise self._fault(f"cannot be read: {error}") from None
        if text:
            self._line += 1
        return text.rstrip("\r\n").removeprefix("\ufeff")

    def slip(self, message: str) -> None:
        """Nobody is there to be asked again."""
        raise self._fault(message)

    def _fault(self, message: str) -> InputError:
        return InputError([Fault("standard input", "", message, self._line or None)])


def _read(question: Question, before: Tables, folder: Path, text: str) -> Tables | None:
    """What an answer adds to the job, None where it is not known; a slip where it cannot be."""
    from moldwin.inputs.new_answers import is_unknown

    if is_unknown(text):
        if question.must:
            raise SlipError(f"{question.asks.partition(',')[0].lower()}: nothing goes without them")
        return None
    tables = question.read(text)
    _check(merged(before, tables), folder)
    return tables


def _check(tables: Tables, folder: Path) -> None:
    """Whether a job of these answers could be read; those before were looked at already."""
    from moldwin.inputs.job import Job
    from moldwin.inputs.read_job import check_job

    whole: dict[str, Any] = merged(_STAND_IN, tables)
    faults = check_job(Job(raw=whole, folder=folder), ["title=answers"])
    # what goes only against a stand-in may be put right by the next answer
    faults = [fault for fault in faults if "is assumed" not in fault.message]
    if faults:
        raise SlipError(_words(faults[0]))


def _words(fault: Fault) -> str:
    """A fault of a job in words for somebody who has not seen the file yet."""
    key = fault.key.rpartition(".")[2]
    return f"{key.replace('_', ' ')}: {fault.message}"
