"""The ``moldwin`` command: puts the commands together, one line each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

import typer

import moldwin
from moldwin.cli import (
    advise,
    cards,
    check,
    condition,
    dry,
    evidence,
    film,
    fit,
    moisture,
    new,
    plan,
    plasticizer,
    recipe,
    screen,
    service,
    setup_sheet,
    shot,
    trial,
)
from moldwin.cli import map as map_command
from moldwin.cli._common import guarded

__all__ = ["app", "run"]

app = typer.Typer(
    add_completion=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,  # help needs no rich, and so starts fast
    context_settings={"help_option_names": ["-h", "--help"]},
)
app.command("advise")(advise.advise)
app.command("cards")(cards.cards)
app.command("check")(check.check)
app.command("condition")(condition.condition)
app.command("dry")(dry.dry)
app.command("evidence")(evidence.evidence)
app.command("film")(film.film)
app.command("fit")(fit.fit)
app.command("map")(map_command.draw_map)
app.command("moisture")(moisture.moisture)
app.command("plasticizer")(plasticizer.plasticizer)
app.command("new")(new.new)
app.command("plan")(plan.plan)
app.command("recipe")(recipe.recipe)
app.command("screen")(screen.screen)
app.command("service")(service.service)
app.command("setup-sheet")(setup_sheet.setup_sheet)
app.command("shot")(shot.shot)
app.add_typer(trial.trial, name="trial")


def run(arguments: Sequence[str]) -> int:
    """Run one command line.

    Parameters
    ----------
    arguments : sequence of str
        Without the program's name. [-]

    Returns
    -------
    int
        Exit code. [-]
    """
    return guarded(lambda: app(args=list(arguments), prog_name="moldwin"))


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"moldwin {moldwin.__version__}")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def _top(
    context: typer.Context,
    version: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Show the version."),
    ] = False,
) -> None:
    """What to do at a small heated press with your starch or seaweed blend, and how sure it is.

    \b
    Example:
      moldwin advise
    shows the whole answer for an example that comes with moldwin.

    \b
    Exit codes:
      0    an answer, also when it is "not like this"
      2    the command line or a file is wrong
      3    something in a material card is wrong
      4    --strict, and something was extrapolated or unmeasured
      130  stopped with Ctrl-C
    """
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())
