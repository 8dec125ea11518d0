"""``moldwin fit``: what your trials say about your material, and a card that keeps it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from moldwin.cli._common import JobArgument, JsonOption, SeedOption, SetOption, emit, notes_on, tell
from moldwin.cli._trial_add import BookOption, book_place
from moldwin.inputs.errors import Fault, InputError

__all__ = ["fit"]


def fit(
    job: JobArgument = None,
    book: BookOption = None,
    write: Annotated[
        bool, typer.Option("--write", help="Keep it: in cards/ beside the job; old ones stay.")
    ] = False,
    as_json: JsonOption = False,
    sets: SetOption = None,
    seed: SeedOption = 20260,
) -> None:
    """Fit the cards of your material to your trials: shown first, kept only with --write.

    All trials of these very cards and lots count at once, each with a share for slips, so that one
    odd trial does not wreck the card. What ships with moldwin is never changed.

    \b
    Example:
      moldwin fit my-job.toml --write

    \b
    Exit codes:
      0  shown, and with --write kept
      2  the command line, the job or the book is wrong, or no trial can be fitted
      3  something in a material card is wrong
    """
    from moldwin.inputs.read_job import read_job

    read = read_job(job, sets or ())
    if write and (read.bundled or read.path is None):
        message = "needs a job of your own: cards are kept beside it"
        raise InputError([Fault("--write", "", message)])
    place = book_place(book, job)
    from moldwin.learn.book import read_trials

    materials = sorted({(row.card, row.lot) for row in read.ingredients})
    trials = read_trials(place, materials=materials, must_exist=True)
    from moldwin.learn.fitting import fit_trials

    found = fit_trials(read, trials, Path(place).parent, seed=seed)
    if found is None:
        raise InputError([Fault(str(place), "", _nothing(place, materials, len(trials)))])
    written = []
    if write:
        from moldwin.inputs.cards import library_for
        from moldwin.learn.keeping import keep

        folder = read.folder or Path()
        written = [str(path) for path in keep(found, folder, Path(place), library_for(folder))]
    if as_json:
        from moldwin.report.fit_page import fit_data
        from moldwin.report.json_out import to_json

        emit(to_json(fit_data(found, str(place), written)))
    else:
        from moldwin.report.fit_page import fit_page

        emit(fit_page(found, str(place), written))
    tell(notes_on(read.notes))


def _nothing(place: object, materials: list[tuple[str, str]], count: int) -> str:
    if count:
        return (
            "no trial of this material says anything: a fit needs barrel_c, soak_s and one thing "
            "that was seen, such as filled or color"
        )
    names = ", ".join(f"{card}@{lot}" if lot else card for card, lot in materials)
    return f"holds no trial of exactly these: {names}; `moldwin trial list` shows what it holds"
