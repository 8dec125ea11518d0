"""``moldwin fit``: what your trials say about your material, and a card that keeps it."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from moldwin.cli._common import JobArgument, JsonOption, SeedOption, SetOption, emit, notes_on, tell
from moldwin.cli._pellets import TargetOption, masses_on_the_way, target_moisture
from moldwin.cli._progress import progress
from moldwin.cli._trial_add import BookOption, book_place
from moldwin.inputs.errors import Fault, InputError, nearest
from moldwin.inputs.text_files import printable

if TYPE_CHECKING:
    from moldwin.inputs.job import Job
    from moldwin.learn.fitting import Weighings

__all__ = ["fit"]


def fit(
    job: JobArgument = None,
    book: BookOption = None,
    write: Annotated[
        bool, typer.Option("--write", help="Keep it: in cards/ beside the job; old ones stay.")
    ] = False,
    humidity_weighings: Annotated[
        str | None,
        typer.Option(
            metavar="[CARD=]FILE",
            help="One material over several humidities: sample, humidity_pct, dish_g, gross_g.",
        ),
    ] = None,
    jar_weighings: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="The job's pellets in their jar: hours, gross_g."),
    ] = None,
    source: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="What stands in the jar, such as NaCl or glycerol."),
    ] = None,
    to_moisture_pct: TargetOption = None,
    as_json: JsonOption = False,
    sets: SetOption = None,
    seed: SeedOption = 20260,
) -> None:
    """Fit the cards of your material to your trials and weighings: kept only with --write.

    All trials of these very cards and lots count at once, each with a share for slips, so that one
    odd trial does not wreck the card. Tables of weighings join them: the isotherm, and how fast
    water moves in pellets and jar. What is learned of press and bench is kept in cards of their
    own. What ships with moldwin is never changed.

    \b
    Example:
      moldwin fit my-job.toml --write

    \b
    Exit codes:
      0  shown, and with --write kept
      2  the command line, job, book or a table is wrong, or nothing can be fitted
      3  something in a material card is wrong
    """
    from moldwin.inputs.read_job import read_job

    read = read_job(job, sets or ())
    if write and (read.bundled or read.path is None):
        message = "needs a job of your own: cards are kept beside it"
        raise InputError([Fault("--write", "", message)])
    weighed = _weighings(read, humidity_weighings, jar_weighings, source, to_moisture_pct)
    place = book_place(book, job)
    from moldwin.learn.book import read_trials

    materials = sorted({(row.card, row.lot) for row in read.ingredients})
    alone = book is None and not Path(place).exists() and (weighed.humidity or weighed.jar)
    kept = [] if alone else read_trials(place, must_exist=True)
    trials = [trial for trial in kept if trial.materials == tuple(materials)]
    others = [trial for trial in kept if trial.materials != tuple(materials)]
    from moldwin.learn.fitting import fit_trials

    with progress("fit") as tick:
        told = None if tick is None else partial(_tell_share, tick)
        found = fit_trials(
            read, trials, Path(place).parent, weighed, others=others, seed=seed, told=told
        )
    if found is None:
        raise InputError([Fault(str(place), "", _nothing(place, materials, len(trials)))])
    written = []
    if write and found.jar is not None and found.jar.far:
        message = (
            "lie outside what this job allows, so nothing was written: check pellets and jar in "
            "it, --source and --to-moisture-pct, or leave the table out"
        )
        raise InputError([Fault(str(jar_weighings), "", message)])
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


def _tell_share(tick: Callable[[int, int], None], share: float) -> None:
    tick(round(100.0 * share), 100)


def _weighings(
    job: Job, humidity: str | None, jar: str | None, source: str | None, to_pct: float | None
) -> Weighings:
    """The tables, read; what belongs to the jar is refused without one."""
    from moldwin.inputs.humidity_weighings import read_humidity_weighings
    from moldwin.learn.fitting import Weighings

    if jar is None and (source is not None or to_pct is not None):
        option = "--source" if source is not None else "--to-moisture-pct"
        raise InputError([Fault(option, "", "belongs to --jar-weighings, which is not given")])
    card, path = _card_and_file(job, humidity)
    return Weighings(
        humidity=None
        if path is None
        else read_humidity_weighings(path, job.scale.resolution or None),
        humidity_card=card,
        jar=masses_on_the_way(jar),
        jar_source=source,
        jar_to=target_moisture(to_pct),
    )


def _card_and_file(job: Job, option: str | None) -> tuple[str, str | None]:
    """``CARD=FILE`` taken apart where the job has such a card."""
    if option is None:
        return "", None
    card, equals, path = option.partition("=")
    names = [row.card for row in job.ingredients]
    if not equals or Path(option).exists():
        return "", option
    if card not in names:
        offer = nearest(card, names) or f"; the job has {', '.join(dict.fromkeys(names))}"
        message = f"got '{printable(card)}', which is no card of the job{offer}"
        raise InputError([Fault("--humidity-weighings", "", message)])
    return card, path


def _nothing(place: object, materials: list[tuple[str, str]], count: int) -> str:
    if count:
        return (
            "no trial of this material says anything: a fit needs barrel_c, soak_s and one thing "
            "that was seen, such as filled or color"
        )
    names = ", ".join(f"{card}@{lot}" if lot else card for card, lot in materials)
    return f"holds no trial of exactly these: {names}; `moldwin trial list` shows what it holds"
