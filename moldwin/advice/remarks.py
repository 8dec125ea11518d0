"""Remarks on the answer: each from the samples of a limit, with its share or its number."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from moldwin.advice.blend_remarks import blend_remarks, moisture_remarks
from moldwin.advice.press_remarks import press_remarks
from moldwin.advice.sharing import PRACTICE, SOME
from moldwin.advice.situation import Found
from moldwin.base.percentiles import share
from moldwin.base.remarks import Remark, weightiest_first
from moldwin.stages.conditioning import Conditioning
from moldwin.window.windows import Setup

__all__ = ["present_remarks", "remarks"]

#: Metal this warm burns skin within a minute of contact (ISO 13732-1, from memory). [K]
_BURNS = 324.15


#: What is true of the pellets in their bag; the rest is about parts molded from them.
_OF_STORED_PELLETS = ("extrapolated", "pellets-fuse", "sticky", "mold-growth")


def remarks(setup: Setup, found: Found, conditioning: Conditioning | None) -> list[Remark]:
    """Everything worth saying about pellets of this state, stops first.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    found : Found
        The window that is advised. [-]
    conditioning : Conditioning or None
        The way to it, if pellets are to be conditioned. [-]

    Returns
    -------
    list of Remark
        Stops, cautions, information. [-]
    """
    said = [*blend_remarks(setup, found), *press_remarks(setup, found)]
    if setup.bench.job.pellets.weighings is not None:
        from moldwin.stages.weighing import weighing_remarks

        said.extend(weighing_remarks(setup.bench))
    if conditioning is not None and conditioning.oxidizer:
        said.append(
            Remark(
                "oxidizer",
                "caution",
                f"{conditioning.source}: this salt feeds fire. Keep it apart from dry starch, "
                "fiber and"
                " dust, and choose another source if you can.",
                "conditioning",
                PRACTICE,
            )
        )
    said.extend(_always(found))
    return weightiest_first(said)


def present_remarks(setup: Setup, now: Found, said: list[Remark]) -> list[Remark]:
    """What is to be said of pellets as they are, where the page starts with conditioning them.

    What was ``said`` of the conditioned ones already is not said again.
    """
    known = {remark.message for remark in said}
    return [
        replace(remark, message=f"As the pellets are now: {remark.message}")
        for remark in moisture_remarks(setup, now)
        if remark.code in _OF_STORED_PELLETS and remark.message not in known
    ]


def _always(found: Found) -> Iterator[Remark]:
    wall = found.window.barrel_stage.true_temperature(np.array([found.window.barrel.best]))
    if share(wall > _BURNS) >= SOME:
        yield Remark(
            "hot-metal",
            "info",
            "Hot metal, steam, a ram that crushes: gloves, guards on, eyes off the nozzle. The"
            " press's own manual and local rules come first.",
            "melting",
            "ISO 13732-1 (from memory); common practice",
        )
    yield Remark(
        "dust",
        "info",
        "Dust of starch or seaweed can explode: no cloud near flame or heater.",
        "blend",
        "US Bureau of Mines RI 4725 (read)",
    )
