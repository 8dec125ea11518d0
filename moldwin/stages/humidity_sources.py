"""What keeps the air in a jar at a humidity, and how much of it to weigh out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.inputs.errors import Fault, InputError, nearest
from moldwin.physics.humidity import (
    glycerol_mass_fraction,
    glycerol_water_activity,
    salt_range,
    salt_water_activity,
)
from moldwin.physics.jar_parts import GlycerolBath, SaltBath
from moldwin.stages.bench import Bench
from moldwin.stages.moisture import Isotherm

__all__ = [
    "NEAR_ENOUGH",
    "WET_AIR",
    "Charge",
    "NoSource",
    "Source",
    "choose",
    "list_sources",
    "missing_source",
    "spread_activity",
    "weigh_out",
]

#: A salt is near enough when it brings the pellets this close to the target. [kg/kg]
NEAR_ENOUGH = 0.006
#: Glycerol baths are offered over this range of humidity.
_BATH_LOW, _BATH_HIGH = 0.30, 0.90
#: Plain water counts as this: beyond, the isotherms are not published.
WET_AIR = 0.98
#: Salt that saturates a kilogram of water near 25 °C, as the dry salt (from memory, good to some
#: percent). [kg/kg]
_SOLUBILITY = {
    "CH3COOK": 2.6,
    "K2CO3": 1.1,
    "K2SO4": 0.12,
    "KBr": 0.68,
    "KCl": 0.355,
    "KNO3": 0.38,
    "LiCl": 0.85,
    "Mg(NO3)2": 0.71,
    "MgCl2": 0.55,
    "NaBr": 0.95,
    "NaCl": 0.36,
    "NaNO3": 0.91,
}
#: As much salt as dissolves, times this, so that solid is left over (assumed).
_SOLID_LEFT = 1.5
#: A slurry holds this many times the water it is to give, and is never thinner than that (assumed).
_SPARE_WATER, _LEAST_DEPTH = 3.0, 0.003
#: A glycerol bath weighs this many times the water that moves, so that it drifts little (assumed).
_BATH_PER_WATER, _LEAST_BATH = 20.0, 0.15


class NoSource(InputError):
    """None of the sources that may be used takes these pellets to the target."""


@dataclass(frozen=True)
class Source:
    """One source of humidity at the temperature of the jar.

    Parameters
    ----------
    name, formula : str
        Of its card. [-]
    activity : float
        Humidity it keeps; for glycerol and water what it is mixed for. [-]
    lands : float
        Where it takes the pellets, likely value, wet basis. [kg/kg]
    fitness : str
        ``"kitchen"``, ``"gloves"`` or ``"not-offered"``. [-]
    oxidizer : bool
        It feeds fire. [-]
    safety : str
        What to heed. [-]
    outside : str
        Why its humidity is not known here; empty where it is. [-]
    """

    name: str
    formula: str
    activity: float
    lands: float
    fitness: str
    oxidizer: bool
    safety: str
    outside: str = ""

    @property
    def words(self) -> str:
        """What to put in the jar."""
        if not self.formula:
            return f"a source you do not have yet: {self.outside}"
        if self.formula == "glycerol":
            return "glycerol and water"
        return "plain water" if self.formula == "water" else f"saturated {self.formula} slurry"


@dataclass(frozen=True)
class Charge:
    """What to weigh out for a jar: masses in kg, None where there is none of it.

    ``end`` is the water left in it when the pellets are where they should be.
    """

    water: float
    salt: float | None = None
    glycerol: float | None = None
    solubility: float = 1.0
    end: float = 0.0

    def bath(self, source: Source) -> SaltBath | GlycerolBath:
        """As the solver takes it."""
        if self.glycerol is not None:
            return GlycerolBath(self.glycerol, self.water)
        salt = np.inf if self.salt is None else self.salt
        return SaltBath(source.activity, self.water, salt, self.solubility)


def list_sources(bench: Bench, isotherm: Isotherm, t: float, wanted: float) -> list[Source]:
    """Every source there is a card for, driest first.

    Parameters
    ----------
    bench : Bench
        The job. [-]
    isotherm : Isotherm
        Of the pellets at the jar's temperature. [-]
    t : float
        Temperature of the jar. [K]
    wanted : float
        Humidity in balance with the target; what glycerol and water are mixed for. [-]

    Returns
    -------
    list of Source
        [SI]
    """
    found = []
    for name in bench.library.names("humidity-source"):
        facts = bench.library.card(name).facts
        formula = str(facts.get("formula", name))
        activity, outside = _humidity(formula, t, wanted)
        lands = float(np.median(isotherm.moisture(np.full(bench.count, activity))))
        found.append(
            Source(
                name=name,
                formula=formula,
                activity=activity,
                lands=lands,
                fitness=str(facts.get("fitness", "not-offered")),
                oxidizer=bool(facts.get("oxidizer")),
                safety=str(facts.get("safety", "")),
                outside=outside,
            )
        )
    return sorted(found, key=lambda source: source.activity)


def choose(
    bench: Bench, sources: list[Source], now: float, target: float, forced: str | None
) -> Source:
    """The source to use: the one asked for, or the best of those at hand.

    Parameters
    ----------
    bench : Bench
        The job, whose ``jar.sources`` narrow the choice. [-]
    sources : list of Source
        From `list_sources`. [-]
    now, target : float
        Moistures, wet basis. [kg/kg]
    forced : str or None
        Name or formula the user insists on. [-]

    Returns
    -------
    Source
        [SI]

    Raises
    ------
    NoSource
        One whose humidity is not known at this temperature, or that never brings the pellets to the
        target.
    InputError
        An unknown source.
    """
    if forced is not None:
        source = _named(sources, forced, "--source")
        if source.outside or not _reaches(source, now, target):
            raise NoSource([Fault("--source", "", _why_not(source, now, target))])
        return source
    asked = bench.job.jar.sources
    if asked is None:
        offered = [s for s in sources if s.fitness == "kitchen"]
    else:
        offered = [_named(sources, name, "jar.sources") for name in asked]
    known = [s for s in offered if not s.outside]
    known = [s for s in known if _leads(s, now, target)]
    salts = [s for s in known if s.formula not in ("glycerol", "water")]
    best = min(salts, key=lambda s: abs(s.lands - target), default=None)
    bath = next((s for s in known if s.formula == "glycerol"), None)
    if best is not None and abs(best.lands - target) <= NEAR_ENOUGH:
        return best
    if bath is not None and abs(bath.lands - target) <= NEAR_ENOUGH:
        return bath
    reaching = [s for s in known if _reaches(s, now, target)]
    if reaching:
        return min(reaching, key=lambda s: abs(s.lands - target))
    if not offered:
        raise InputError([Fault("jar.sources", "", "is empty; leave it out for all that is fit")])
    nearest_one = min(offered, key=lambda s: (bool(s.outside), abs(s.lands - target)))
    raise NoSource([Fault("jar.sources", "", _why_not(nearest_one, now, target))])


def missing_source(activity: float, target: float) -> Source:
    """Stands for what the maker lacks where none of the sources at hand leads to the target.

    Parameters
    ----------
    activity : float
        Humidity it would keep. [-]
    target : float
        Where it would take the pellets, wet basis. [kg/kg]
    """
    outside = "none that was named leads there"
    return Source("missing", "", activity, target, "not-offered", False, "", outside)


def weigh_out(source: Source, moved: float, t: float, area: float) -> Charge:
    """How much to weigh out so that the source carries the water and keeps its humidity.

    Parameters
    ----------
    source : Source
        What is in the jar. [SI]
    moved : float
        Water the pellets take; negative where they give it. [kg]
    t : float
        Temperature. [K]
    area : float
        Open area of the source. [m2]

    Returns
    -------
    Charge
        Glycerol and water are mixed wetter, or drier, by what moves. [kg]
    """
    if source.formula == "glycerol":
        share = float(glycerol_mass_fraction(source.activity, t, check=False))
        whole = max(_LEAST_BATH, _BATH_PER_WATER * abs(moved), -1.5 * moved / (1.0 - share))
        end = (1.0 - share) * whole
        return Charge(water=end + moved, glycerol=share * whole, end=end)
    water = max(_SPARE_WATER * moved, 1000.0 * _LEAST_DEPTH * area)
    if source.formula == "water":
        return Charge(water=water, end=water - moved)
    solubility = _SOLUBILITY.get(source.formula, 1.0)
    salt = _SOLID_LEFT * solubility * (water + max(-moved, 0.0))
    return Charge(water=water, salt=salt, solubility=solubility, end=water - moved)


def _humidity(formula: str, t: float, wanted: float) -> tuple[float, str]:
    """Humidity of a source, and why it is not known here."""
    if formula == "water":
        return WET_AIR, ""
    if formula == "glycerol":
        mixed = min(max(wanted, _BATH_LOW), _BATH_HIGH)
        share = glycerol_mass_fraction(mixed, t, check=False)
        return float(glycerol_water_activity(share, t, check=False)), ""
    fit = salt_range(formula)
    outside = ""
    if fit.outside(t):
        low, high = fit.low - 273.15, fit.high - 273.15
        outside = f"its humidity is known from {low:.0f} to {high:.0f} °C, not at {t - 273.15:.0f}"
    return float(salt_water_activity(formula, t, check=False)), outside


def _named(sources: list[Source], name: str, where: str) -> Source:
    for source in sources:
        if name.lower() in (source.name.lower(), source.formula.lower()):
            return source
    known = sorted({s.name for s in sources} | {s.formula for s in sources})
    message = f"unknown source {name!r}; known: {', '.join(known)}{nearest(name, known)}"
    raise InputError([Fault(where, "", message)])


def _leads(source: Source, now: float, target: float) -> bool:
    """Whether the source takes the pellets toward the target and not away from it."""
    return target == now or (source.lands - now) * (target - now) > 0.0


def _reaches(source: Source, now: float, target: float) -> bool:
    """Whether the pellets pass the target on their way to where this source takes them."""
    if abs(target - now) < 1e-9:
        return abs(source.lands - target) <= NEAR_ENOUGH
    way = 1.0 if target > now else -1.0
    return _leads(source, now, target) and way * (source.lands - target) >= -NEAR_ENOUGH


def _why_not(source: Source, now: float, target: float) -> str:
    """Why a source does not bring the pellets to the target."""
    if source.outside:
        return f"{source.name}: {source.outside}; choose another source or temperature"
    need = "wetter" if target > now else "drier"
    return (
        f"{source.name} keeps {100 * source.activity:.0f} % humidity, over which these pellets "
        f"end near {100 * source.lands:.1f} % water and never reach {100 * target:.1f} %; "
        f"a {need} source is needed"
    )


def spread_activity(isotherm: Isotherm, activity: Any, wettest: float, count: int) -> Any:
    """A source's humidity, kept to what the isotherm reaches at a moisture, shape (s,). [-]

    Parameters
    ----------
    activity : float or array, shape (s,)
        Of the source. [-]
    wettest : float
        Moisture beyond which nobody follows, wet basis. [kg/kg]
    count : int
        Samples. [-]
    """
    top = isotherm.activity(np.full(count, wettest))
    return np.minimum(activity, top)
