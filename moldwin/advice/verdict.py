"""What is said of the windows looked at, and whether to heat at each of them."""

from __future__ import annotations

from dataclasses import dataclass

from moldwin.advice.heating import may_heat, stops_among
from moldwin.advice.remarks import present_remarks, remarks
from moldwin.advice.situation import Found
from moldwin.base.remarks import Remark, weightiest_first
from moldwin.stages.conditioning import Conditioning
from moldwin.window.windows import Setup

__all__ = ["OTHER", "Verdict", "judge_windows"]

#: Of no use where nobody heats.
_OF_HOT_PRESSES = ("held-too-long",)
#: Another material than ours, where it is a stop, and the stages whose laws do not hold for it.
OTHER = "not-polysaccharide"
_PRESS_STAGES = ("melting", "molding", "shot")


@dataclass(frozen=True)
class Verdict:
    """Whether to heat, and what is said.

    Parameters
    ----------
    said : list of Remark
        All that the answer tells, weightiest first. [-]
    of_now : list of Remark
        Those on the pellets as they are. [-]
    heat, heat_now, heat_after : bool
        Whether heating is advised at all, for the pellets as they are, and once they are
        conditioned. [-]
    stopped : bool
        Whether anything stops it. [-]
    other : bool
        Whether that is another material, which none of the laws holds for. [-]
    """

    said: list[Remark]
    of_now: list[Remark]
    heat: bool
    heat_now: bool
    heat_after: bool
    stopped: bool
    other: bool


def judge_windows(
    setup: Setup,
    now: Found,
    after: Found | None = None,
    *,
    leads: bool = False,
    way: Conditioning | None = None,
) -> Verdict:
    """Remarks on the windows looked at, and what follows from them.

    Parameters
    ----------
    setup : Setup
        The job. [-]
    now : Found
        The pellets as they are. [SI]
    after : Found, optional
        Once they are conditioned. [SI]
    leads : bool
        Whether conditioning them is advised. [-]
    way : Conditioning, optional
        How they get there. [SI]

    Returns
    -------
    Verdict
        [-]
    """
    chosen = after if after is not None and leads else now
    said = remarks(setup, chosen, way)
    of_now = said if chosen is now else remarks(setup, now, None)
    heat = may_heat(chosen.window.barrel.chance, said)
    heat_now = may_heat(now.window.barrel.chance, of_now, said)
    heat_after = after is not None and may_heat(after.window.barrel.chance, said)
    stops = stops_among(said)
    other = any(remark.code == OTHER for remark in stops)
    if chosen is not now:
        said = weightiest_first([*said, *present_remarks(setup, now, said)])
    if not heat:
        said = [remark for remark in said if _still_said(remark, other)]
    return Verdict(said, of_now, heat, heat_now, heat_after, bool(stops), other)


def _still_said(remark: Remark, other: bool) -> bool:
    """What is of use where nobody heats; for another material no law of the press holds."""
    if remark.code in _OF_HOT_PRESSES:
        return False
    return not (other and remark.stage in _PRESS_STAGES)
