"""What helps a drying sheet, and what to beware of: the same samples, one thing changed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from moldwin.advice.blend_remarks import protein_remarks
from moldwin.advice.sharing import PRACTICE, SOME
from moldwin.base.percentiles import Triple, in_words, share, triple
from moldwin.base.remarks import Remark, weightiest_first
from moldwin.inputs.job import Ingredient, Job
from moldwin.stages.sheet import HOUR, STORE_AW, Drying, SheetAir, WetSheet
from moldwin.stages.tearing import Tearing, tearing

__all__ = ["Help", "film_remarks", "helps"]

#: Warm air that is looked at, and from where molds of kitchens no longer grow. [K]
_WARM, _TOO_WARM_FOR_MOLD = 318.15, 318.0
#: Where the room is already this warm, warmer air is no other choice. [K]
_WARMER = 5.0
#: Glycerol added per dry mass, as one step. [kg/kg]
_MORE_GLYCEROL = 0.10
#: What holds less than so many times the water of its dry sheet is no gel (judgment). [-]
_GEL = 3.0
#: From here glycerol leaves an oven in vapor that wants air. [K]
_VAPORS = 333.15


@dataclass(frozen=True)
class Help:
    """The same sheet with one thing changed: hours to dry, chance to tear and to mold."""

    change: str
    hours: Triple
    tears: float
    molds: float

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "change": self.change,
            "hours": self.hours.to_dict(),
            "tear_chance": self.tears,
            "mold_chance": self.molds,
        }


def helps(sheet: WetSheet, drying: Drying, tears: Tearing, air: SheetAir, order: Any) -> list[Help]:
    """The sheet as it is, and changed in one thing at a time.

    Parameters
    ----------
    sheet, drying, tears, air
        The sheet, its course, where it tears, and the air. [SI]
    order : array, shape (s,)
        Draws to tell of. [-]

    Returns
    -------
    list of Help
        As it is first. [-]
    """

    def row(words: str, wet: WetSheet, dried: Drying, torn: Tearing, warm: float | None) -> Help:
        molds = 0.0 if _sterile(warm) else share(_molds(wet, dried)[order])
        tearing_share = share((torn.spread < wet.spread)[order])
        return Help(words, triple(dried.dry[order] / HOUR), tearing_share, molds)

    found = [row("as it is", sheet, drying, tears, air.t)]
    for words, thinner in (("spread half as thick", 0.5), ("spread twice as thick", 2.0)):
        changed = sheet.spread_to(thinner * sheet.spread)
        found.append(row(words, changed, changed.drying(air), tears, air.t))
    for words, other in _airs(sheet, air):
        found.append(row(words, sheet, sheet.drying(other), tearing(sheet, other), other.t))
    turned = sheet.drying(replace(air, both_faces=True), x_start=drying.mean_at(drying.peel))
    twice = replace(drying, dry=drying.peel + turned.dry)
    loose = replace(tears, spread=tears.peeled)
    found.append(row("peeled early, on a mesh", sheet, twice, loose, air.t))
    softer = WetSheet(sheet.bench.with_job(with_more_glycerol(sheet.bench.job, sheet)))
    words = f"{100 * _MORE_GLYCEROL:.0f} g more glycerol per 100 g dry"
    found.append(row(words, softer, softer.drying(air), tearing(softer, air), air.t))
    return found


def with_more_glycerol(job: Job, sheet: WetSheet, more: float = _MORE_GLYCEROL) -> Job:
    """The job with a row of glycerol added.

    Parameters
    ----------
    job : Job
        As it is. [-]
    sheet : WetSheet
        Its gel. [-]
    more : float, optional
        Per dry mass. [kg/kg]

    Returns
    -------
    Job
        [SI]
    """
    mass = more * float(np.median(sheet.blend.dry_mass))
    row = Ingredient(card="glycerol", mass=mass, moisture=0.0)
    return replace(job, ingredients=(*job.ingredients, row))


def _airs(sheet: WetSheet, air: SheetAir) -> Iterator[tuple[str, SheetAir]]:
    now = air.t if air.t is not None else float(np.median(sheet.room_t))
    if not air.fan:
        yield "with a fan", replace(air, fan=True)
        yield "under a cloth", replace(air, covered=True)
    if now < _WARM - _WARMER:
        yield f"in air of {_WARM - 273.15:.0f} °C", replace(air, t=_WARM)


def film_remarks(
    sheet: WetSheet,
    drying: Drying,
    tears: Tearing,
    air: SheetAir,
    order: Any,
    calibrated: bool,
) -> list[Remark]:
    """Everything to beware of, weightiest first.

    Parameters
    ----------
    sheet, drying, tears, air
        The sheet, its course, where it tears, and the air. [SI]
    order : array, shape (s,)
        Draws to tell of. [-]
    calibrated : bool
        Whether sheets that tore or held have been heard. [-]

    Returns
    -------
    list of Remark
        [-]
    """
    said = [
        *protein_remarks(sheet.bench, sheet.blend),
        *_no_gel(sheet, drying, order),
        *_mold(sheet, drying, air, order),
        *_handling(sheet, drying, order),
    ]
    if not calibrated:
        said.append(
            Remark(
                "unmeasured-material",
                "info",
                "Stiffness and toughness of such gels are assumed, nothing is published: the spread"
                " that tears is an order of magnitude. One torn and one whole sheet narrow it:"
                " --torn-mm, --whole-mm, or torn_mm, whole_mm in [sheet].",
                "sheet",
                "our own choice",
            )
        )
    if np.any(sheet.blend.plasticizer > 0.0) and air.t is not None and air.t >= _VAPORS:
        said.append(
            Remark(
                "fume",
                "caution",
                "Glycerol leaves a warm oven with the water: ventilate, and stay below 60 °C.",
                "sheet",
                "Cammenga 1977; " + PRACTICE,
            )
        )
    return weightiest_first(said)


def _no_gel(sheet: WetSheet, drying: Drying, order: Any) -> Iterator[Remark]:
    dry = share((sheet.x_wet < _GEL * drying.x_end)[order])
    if dry >= SOME:
        yield Remark(
            "extrapolated",
            "caution",
            f"This pot makes dough rather than a gel ({in_words(dry)}): hardly wetter than the dry"
            " sheet. Thickness and tearing are told as of a gel all the same; check pot.water_g.",
            "sheet",
            "our own choice",
        )


def _mold(sheet: WetSheet, drying: Drying, air: SheetAir, order: Any) -> Iterator[Remark]:
    soaked, never = drying.soaked[order], share(~np.isfinite(drying.store[order]))
    molds = share(_molds(sheet, drying)[order])
    if molds >= SOME and not _sterile(air.t):
        wet = triple(soaked / HOUR / 24.0)
        yield Remark(
            "mold-growth",
            "caution",
            f"Its underside stays wet {_wet_days(wet)}: mold may come first ({in_words(molds)})."
            " Spread thinner, warm the air, or use a fan; throw away what has molded.",
            "sheet",
            "days until mold shows: kitchen experience, assumed",
        )
    if never >= SOME:
        yield Remark(
            "mold-growth",
            "caution",
            f"This air may be too damp to make it safe to store ({in_words(never)}): above a water"
            f" activity of {STORE_AW:g} mold can grow. Finish it in warm air, then seal it.",
            "sheet",
            "Abdullah et al. 2000 (read)",
        )


def _handling(sheet: WetSheet, drying: Drying, order: Any) -> Iterator[Remark]:
    sticks = share((sheet.x_peel < drying.x_end)[order])
    if sticks >= SOME:
        yield Remark(
            "sticky",
            "caution",
            f"Even dry it may stick to hand and plate ({in_words(sticks)}): less glycerol, drier"
            " air, or a dusting of starch.",
            "sheet",
            "glass transition plus 35 to 85 K (assumed)",
        )
    snaps = share((drying.x_end < sheet.x_glass)[order])
    if snaps >= SOME:
        yield Remark(
            "dust",
            "info",
            f"Once dry it may snap instead of bending ({in_words(snaps)}): cut it while it bends,"
            " or break it by hand; milled dry it makes dust that can explode.",
            "sheet",
            "US Bureau of Mines RI 4725 (read)",
        )


def _wet_days(days: Triple) -> str:
    """How long, in words where no end is seen: days without end are no number."""
    if not np.isfinite(days.likely):
        least = f"for {days.low:.1f} days, likely " if np.isfinite(days.low) else ""
        return f"{least}for good"
    most = f"up to {days.high:.0f}" if np.isfinite(days.high) else "perhaps for good"
    return f"for {days.likely:.1f} days ({most})"


def _molds(sheet: WetSheet, drying: Drying) -> Any:
    """Where mold shows before the underside is dry enough, shape (s,)."""
    return drying.soaked > sheet.bench.typical("sheet", "mold_time")


def _sterile(t: float | None) -> bool:
    return t is not None and t >= _TOO_WARM_FOR_MOLD
