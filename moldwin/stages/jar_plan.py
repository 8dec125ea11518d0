"""What to put in the jar for a target: which source, how much of it, and whether a jar at all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moldwin.inputs.errors import Fault, InputError
from moldwin.physics.jar_parts import GlycerolBath, SaltBath
from moldwin.stages.humidity_sources import (
    NEAR_ENOUGH,
    Charge,
    NoSource,
    Source,
    choose,
    list_sources,
    missing_source,
    weigh_out,
)
from moldwin.stages.jar_stage import JarStage

__all__ = ["JarPlan", "plan_jar"]

#: Pellets to be dried are too wet for a jar from here: mold is quicker than still air (judgment),
#: and starch gel kept above 20 % water crystallizes (Forssell 1997, read). [-], [kg/kg]
_TOO_DAMP, _TOO_WET = 0.80, 0.20


@dataclass(frozen=True)
class JarPlan:
    """A source chosen and weighed out.

    Parameters
    ----------
    sources : list of Source
        All there are cards for. [-]
    source : Source
        The one to use. [-]
    charge : Charge
        How much of it. [kg]
    moved : float
        Water the pellets take, likely value; negative where they give it. [kg]
    by_mass : bool
        It goes on past the target: the scale says when to stop. [-]
    dry_first : bool
        The pellets are too wet for a jar: oven or air come first. [-]
    """

    sources: list[Source]
    source: Source
    charge: Charge
    moved: float
    by_mass: bool
    dry_first: bool

    @property
    def bath(self) -> SaltBath | GlycerolBath:
        """As the solver takes it."""
        return self.charge.bath(self.source)

    @property
    def words(self) -> str:
        """What to put in the jar, with the mixing ratio where there is one."""
        glycerol = self.charge.glycerol
        if glycerol is None:
            return self.source.words
        share = glycerol / (glycerol + self.charge.water)
        return f"{self.source.words}, {100.0 * share:.0f} % glycerol by mass"


def plan_jar(
    stage: JarStage,
    target: float,
    *,
    source: str | None = None,
    bath_water: float | None = None,
    strict: bool = True,
) -> JarPlan:
    """Choose the source for a target and weigh it out.

    Parameters
    ----------
    stage : JarStage
        The pellets in their jar. [SI]
    target : float
        Wet basis. [kg/kg]
    source : str, optional
        Name or formula of the source to use. [-]
    bath_water : float, optional
        Water in the jar's source, where it is there already. [kg]
    strict : bool, optional
        Refuse where no source at hand leads to the target; otherwise the plan names what is
        missing. [-]

    Returns
    -------
    JarPlan
        [SI]

    Raises
    ------
    InputError
        A source that is unknown or does not reach the target, or without enough water.
    """
    now = stage.now.nominal
    wanted = float(np.median(stage.activity_at(target)))
    sources = list_sources(stage.bench, stage.isotherm, stage.t, wanted)
    try:
        chosen = choose(stage.bench, sources, now, target, source)
    except NoSource:
        if strict:
            raise
        chosen = missing_source(wanted, target)
    moved = stage.mass * ((1.0 - now) / (1.0 - target) - 1.0)
    charge = weigh_out(chosen, moved, stage.t, float(np.median(stage.jar.slurry_area)))
    if bath_water is not None:
        charge = _as_given(charge, bath_water, moved)
    damp = float(np.median(stage.activity_at(now))) > _TOO_DAMP
    return JarPlan(
        sources=sources,
        source=chosen,
        charge=charge,
        moved=moved,
        by_mass=abs(chosen.lands - target) > NEAR_ENOUGH,
        dry_first=moved < 0.0 and (damp or now > _TOO_WET),
    )


def _as_given(charge: Charge, water: float, moved: float) -> Charge:
    """The bath as it stands in the jar, refused where it would run out."""
    if water - moved <= 0.0:
        message = (
            f"got {1e3 * water:g} g of water in the jar, but the pellets take "
            f"{1e3 * moved:.1f} g: no slurry would be left. "
            f"Weigh out {1e3 * charge.water:.0f} g"
        )
        raise InputError([Fault("--bath-water-g", "", message)])
    return Charge(water, charge.salt, charge.glycerol, charge.solubility, water - moved)
