"""``moldwin cards``: what is known about each material, and from where."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from moldwin.cli._common import JsonOption, emit

__all__ = ["cards"]


def cards(
    name: Annotated[
        str | None, typer.Argument(metavar="NAME", help="One card; left out: all of them.")
    ] = None,
    as_json: JsonOption = False,
    job: Annotated[
        str | None,
        typer.Option(metavar="JOB.toml", help="Look in the folder cards/ beside this job too."),
    ] = None,
    template: Annotated[
        str | None,
        typer.Option(metavar="NEW", help="Print a card for NEW to be filled in, like this one."),
    ] = None,
) -> None:
    """List the materials, or all that is known of one.

    \b
    Example:
      moldwin cards corn-starch

    \b
    Exit codes:
      0  shown
      2  no such card, or the job cannot be read
      3  something in a card is wrong
    """
    from moldwin.inputs.cards import library_for

    library = library_for(None if job is None else _folder(job))
    if template is not None:
        from moldwin.inputs.card_template import card_template
        from moldwin.inputs.errors import Fault, InputError

        if name is None or as_json:
            message = f"name the card that {template!r} is most like: moldwin cards CARD --template"
            raise InputError([Fault("--template", "", message)])
        emit(card_template(library.card(name), template))
        return
    if as_json:
        from moldwin.report.cards_data import card_data, cards_data
        from moldwin.report.json_out import to_json

        emit(to_json(cards_data(library) if name is None else card_data(library.card(name))))
        return
    from moldwin.report.cards_page import card_page, cards_page

    emit(cards_page(library) if name is None else card_page(library.card(name)))


def _folder(job: str) -> Path:
    """Folder of a job that can be read; its contents do not matter here."""
    from moldwin.inputs.text_files import read_text

    read_text(job)
    return Path(job).parent
