"""What a recipe comes to, as data: what goes in, what comes out, how it cooks, what it costs."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

from moldwin.advice.answer import Assumption
from moldwin.advice.recipe_change import Change
from moldwin.advice.recipe_looks import Look
from moldwin.base.percentiles import Triple
from moldwin.base.remarks import Remark
from moldwin.inputs.job import Job

__all__ = ["SCHEMA", "Asked", "CookingAdvice", "CostAdvice", "Line", "RecipeAdvice"]

SCHEMA = "moldwin.recipe/1"


@dataclass(frozen=True)
class Asked:
    """What the user wants of the recipe; nothing of it is asked by default.

    Parameters
    ----------
    parts : int, optional
        Parts that the batch should give. [-]
    aim : str, optional
        ``"flexible"`` or ``"firm"``. [-]
    tg : float, optional
        Median glass transition in the room. [K]
    swap : tuple of str, optional
        Plasticizer that goes, and the one that takes its place. [-]
    ladder : str, optional
        Plasticizer to be shown in steps. [-]
    """

    parts: int | None = None
    aim: str | None = None
    tg: float | None = None
    swap: tuple[str, str] | None = None
    ladder: str | None = None


@dataclass(frozen=True)
class Line:
    """One ingredient: what to weigh, and where its dry matter goes. [kg], cost in currency"""

    card: str
    lot: str
    weighed: float
    before: float
    water: Triple
    dry: Triple
    in_pan: Triple
    trimmed: Triple
    in_pellets: Triple
    share_of_dry: Triple
    cost: float | None

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "card": self.card,
            "lot": self.lot,
            "weigh_g": 1e3 * self.weighed,
            "before_g": 1e3 * self.before,
            "water_g": _grams(self.water),
            "dry_g": _grams(self.dry),
            "left_in_pan_g": _grams(self.in_pan),
            "trimmed_g": _grams(self.trimmed),
            "in_pellets_g": _grams(self.in_pellets),
            "share_of_dry_pct": _percent(self.share_of_dry),
            "cost": self.cost,
        }


@dataclass(frozen=True)
class CookingAdvice:
    """Whether the starch cooks: K, s, kg/kg, shares of granules and of samples."""

    t: Triple
    t_given: bool
    time: Triple
    time_given: bool
    boils: Triple
    onset: Triple | None
    end: Triple | None
    cooked: Triple | None
    too_cold: float
    water: Triple
    add: Triple
    evaporated_share: Triple

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "cook_c": _celsius(self.t),
            "cook_c_given": self.t_given,
            "cook_min": {k: v / 60.0 for k, v in self.time.to_dict().items()},
            "cook_min_given": self.time_given,
            "boils_c": _celsius(self.boils),
            "gelatinizes_from_c": None if self.onset is None else _celsius(self.onset),
            "gelatinized_at_c": None if self.end is None else _celsius(self.end),
            "cooked_granules_pct": None if self.cooked is None else _percent(self.cooked),
            "too_cold_share": self.too_cold,
            "water_per_dry_polymer": self.water.to_dict(),
            "water_to_add_g": _grams(self.add),
            "boiled_off_pct_of_water": _percent(self.evaporated_share),
        }


@dataclass(frozen=True)
class CostAdvice:
    """What the batch, a kg of its pellets at the moisture to mold at, and one part cost.

    In the currency of [price]; ``missing`` are the cards without a price.
    """

    batch: float
    per_kg: float
    per_part: float | None
    missing: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "batch": self.batch,
            "per_kg_pellets": self.per_kg,
            "per_part": self.per_part,
            "no_price": list(self.missing),
        }


@dataclass(frozen=True)
class RecipeAdvice:
    """What the page of ``moldwin recipe`` shows; masses in kg, moistures as fractions.

    ``final`` is the job with everything that was asked for in it.
    """

    job: str
    asked: Asked
    lines: list[Line]
    poured: Triple
    poured_before: float | None
    poured_given: bool
    loss_given: bool
    steps: dict[str, Triple]
    moisture: float
    solids: Triple
    sheet_area: Triple | None
    charge: Triple | None
    shots: Triple | None
    parts: Triple | None
    cavities: int
    chance: float | None
    confidence: float
    factor: float
    cooking: CookingAdvice | None
    cost: CostAdvice | None
    look: Look
    change: Change | None
    rungs: list[Look]
    final: Job
    warnings: list[Remark] = field(default_factory=list)
    assumptions: list[Assumption] = field(default_factory=list)
    bundled: bool = False
    overrides: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """The object that ``moldwin recipe --json`` prints."""
        likely = {name: 1e3 * mass.likely for name, mass in self.steps.items()}
        return {
            "schema": SCHEMA,
            "job": self.job,
            "wet_gel_g": likely["gel"],
            "dry_g": likely["dry"],
            "pellets_g": likely["pellets"],
            "parts": None if self.parts is None else self.parts.likely,
            "moisture_pct": 100.0 * self.moisture,
            "ingredients": [line.to_dict() for line in self.lines],
            "water_g": _grams(self.poured),
            "water_given": self.poured_given,
            "loss_given": self.loss_given,
            "steps_g": {name: _grams(mass) for name, mass in self.steps.items()},
            "solids_pct": _percent(self.solids),
            "sheet_area_cm2": None if self.sheet_area is None else _times(self.sheet_area, 1e4),
            "charge_g": None if self.charge is None else _grams(self.charge),
            "shots": None if self.shots is None else self.shots.to_dict(),
            "parts_between": None if self.parts is None else self.parts.to_dict(),
            "parts_asked": self.asked.parts,
            "confidence": self.confidence,
            "chance_of_parts": self.chance,
            "batch_factor": self.factor,
            "cooking": None if self.cooking is None else self.cooking.to_dict(),
            "cost": None if self.cost is None else self.cost.to_dict(),
            "in_room": self.look.to_dict(),
            "change": None if self.change is None else self.change.to_dict(),
            "ladder": [rung.to_dict() for rung in self.rungs],
            "warnings": [remark.to_dict() for remark in self.warnings],
            "assumptions": [asdict(assumed) for assumed in self.assumptions],
        }


def _grams(mass: Triple) -> dict[str, float]:
    return _times(mass, 1e3)


def _percent(part: Triple) -> dict[str, float]:
    return _times(part, 100.0)


def _times(t: Triple, factor: float) -> dict[str, float]:
    return {name: factor * value for name, value in t.to_dict().items()}


def _celsius(kelvin: Triple) -> dict[str, float]:
    return {name: value - 273.15 for name, value in kelvin.to_dict().items()}
