"""``moldwin evidence``: everything published that the tool is held against, recomputed."""

from __future__ import annotations

from typing import Annotated

import typer

from moldwin.cli._common import JsonOption, emit

__all__ = ["evidence"]


def evidence(
    full: Annotated[
        bool, typer.Option("--full", help="Every value with its source, and what is left out.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Hold the tool against what others published: every miss, and how far off it is.

    \b
    Example:
      moldwin evidence

    Recomputed on the spot from the shipped cards; your own cards play no part. Takes some seconds.

    \b
    Exit codes:
      0  shown, misses and all
      2  the command line is wrong
    """
    from moldwin.advice.evidence.gather import gather
    from moldwin.cli._progress import progress

    with progress("recomputing") as tell:
        found = gather(tell)
    if as_json:
        from moldwin.report.json_out import to_json

        emit(to_json(found.to_dict()))
        return
    from moldwin.report.evidence_page import evidence_page

    emit(evidence_page(found, full=full))
