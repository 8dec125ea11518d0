"""What commands that bring pellets to a moisture share: the target, and weighings on the way."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from moldwin.inputs.errors import Fault, InputError

if TYPE_CHECKING:
    from moldwin.inputs.jar_weighings import JarWeighings

__all__ = ["MeasuredOption", "TargetOption", "masses_on_the_way", "target_moisture"]

_DRIEST, _WETTEST = 1.0, 40.0

TargetOption = Annotated[
    float | None,
    typer.Option(
        "--to-moisture-pct", metavar="X", help="Target, wet basis; left out: the best to mold."
    ),
]
MeasuredOption = Annotated[
    str | None,
    typer.Option(metavar="MASS.csv", help="Weighings on the way: hours, gross_g; narrows."),
]


def target_moisture(percent: float | None) -> float | None:
    """A target from the command line as a mass fraction, held to what pellets can be. [kg/kg]"""
    if percent is None:
        return None
    if _DRIEST <= percent <= _WETTEST:
        return percent / 100.0
    hint = f"; did you mean {100 * percent:g}?" if _DRIEST <= 100 * percent <= _WETTEST else ""
    message = f"got {percent:g}, allowed: {_DRIEST:g} to {_WETTEST:g} % water, wet basis{hint}"
    raise InputError([Fault("--to-moisture-pct", "", message)])


def masses_on_the_way(measured: str | None) -> JarWeighings | None:
    """The table of weighings, where one is named."""
    if measured is None:
        return None
    from moldwin.inputs.jar_weighings import read_jar_weighings

    return read_jar_weighings(measured)
