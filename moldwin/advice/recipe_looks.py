"""How a blend's part will be in its room, and which recipe gets it where it should be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from moldwin.advice.at_home import most_common
from moldwin.advice.sharing import MANY, SOME
from moldwin.base.percentiles import Triple, share, triple
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.job import Ingredient, Job
from moldwin.stages.bench import Bench
from moldwin.stages.blend import Blend
from moldwin.stages.in_use import Home, places
from moldwin.stages.loading import loading, separates, stiffens_in_room
from moldwin.stages.service import room_moisture
from moldwin.stages.state import Material

__all__ = ["Look", "dry_polymer", "look_at", "plasticizer_of", "solve_mass", "with_mass"]

#: Plasticizer is solved for between none and this much per dry polymer. [kg/kg]
_MOST = 1.0
#: Glass transitions this close are the same; bisection halves until then. [K]
_CLOSE = 0.05


@dataclass(frozen=True)
class Look:
    """A part of one blend, settled in its room; masses in kg, temperatures in K, shares 0..1.

    ``mass`` is that of the plasticizer looked at, ``about`` what its card says of it,
    ``per_polymer`` the load of it alone per dry polymer, ``loading`` that of all plasticizers, the
    seaweed's own too. ``swing`` is the water it takes up from
    the dry to the damp season, whose humidities ``seasons`` holds. ``broken`` holds shares of
    samples by the code of a warning: brittle in the dry season once the weeks of use have passed,
    sticky or too soft in the damp one.
    """

    card: str
    about: str
    mass: float
    per_polymer: Triple
    loading: Triple
    moisture: Triple
    tg: Triple
    above: Triple
    state: str
    modulus: Triple
    swing: Triple
    seasons: tuple[float, ...]
    broken: dict[str, float]

    @property
    def codes(self) -> list[str]:
        """What is worth a word, by the thresholds of all remarks."""
        enough = {"antiplasticization": MANY}
        return [code for code, part in self.broken.items() if part >= enough.get(code, SOME)]

    def to_dict(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "card": self.card,
            "mass_g": 1e3 * self.mass,
            "g_per_100g_dry_polymer": _scaled(self.per_polymer, 100.0),
            "all_plasticizer_g_per_100g_dry_polymer": _scaled(self.loading, 100.0),
            "moisture_pct": _scaled(self.moisture, 100.0),
            "tg_c": _scaled(self.tg, 1.0, -273.15),
            "room_above_tg_c": self.above.to_dict(),
            "state": self.state,
            "modulus_mpa": _scaled(self.modulus, 1e-6),
            "moisture_swing_pct": _scaled(self.swing, 100.0),
            "swing_from_pct": 100.0 * self.seasons[0],
            "swing_to_pct": 100.0 * self.seasons[1],
            "shares": dict(self.broken),
            "warnings": self.codes,
        }


def _scaled(t: Triple, factor: float, offset: float = 0.0) -> dict[str, float]:
    return {name: factor * value + offset for name, value in t.to_dict().items()}


def look_at(bench: Bench, card: str, material: Material | None = None) -> Look:
    """The part in its room, by the very functions that the whole answer uses.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    card : str
        The plasticizer whose mass is told. [-]
    material : Material, optional
        Where it was prepared already. [-]

    Returns
    -------
    Look
        [SI]
    """
    material = material or Material(bench)
    blend, count = material.blend, bench.count
    molded = material.at(float(np.median(room_moisture(bench, material))))
    home = Home(bench, material, molded)
    dry, now, damp = (home.at(place) for place in places(bench))
    polymer = np.maximum(blend.polymer, 1e-9)
    own = np.broadcast_to(blend.dry_share_of(card) / polymer, (count,))
    broken = {
        "brittle": share(dry.margins["brittle-later"] <= 0.0),
        "antiplasticization": share(stiffens_in_room(bench, blend)),
        "soft-part": share(damp.margins["soft-part"] <= 0.0),
        "sticky": share(damp.margins["sticky"] <= 0.0),
        "phase-separation": share(separates(bench, blend)),
    }
    return Look(
        card=card,
        about=bench.library.card(card).about,
        mass=sum(row.mass for row in bench.job.ingredients if row.card == card),
        per_polymer=triple(own),
        loading=triple(loading(bench, blend)),
        moisture=triple(now.w_water),
        tg=triple(now.tg),
        above=triple(now.place.t - now.tg),
        state=most_common(now.state),
        modulus=triple(now.modulus),
        swing=triple(damp.w_water - dry.w_water),
        seasons=tuple(float(np.median(there.place.humidity)) for there in (dry, damp)),
        broken=broken,
    )


def dry_polymer(bench: Bench, blend: Blend) -> float:
    """Median dry mass of what melts. [kg]"""
    return float(np.median(blend.polymer * blend.dry_mass))


def plasticizer_of(bench: Bench) -> str:
    """The plasticizer there is most of among the ingredients; glycerol where there is none."""
    masses: dict[str, float] = {}
    for row in bench.job.ingredients:
        if bench.card(row.card, row.lot).role == "plasticizer":
            masses[row.card] = masses.get(row.card, 0.0) + row.mass
    return max(masses, key=lambda name: masses[name]) if masses else "glycerol"


def with_mass(job: Job, card: str, mass: float) -> Job:
    """The job with this much of a card in all; its rows share it as before. [kg]

    Parameters
    ----------
    card : str
        Name of a material. [-]
    mass : float
        All of it as weighed, 0 takes it out. [kg]
    """
    there = sum(row.mass for row in job.ingredients if row.card == card)
    rows = []
    for row in job.ingredients:
        if row.card != card:
            rows.append(row)
        elif mass > 0.0:
            rows.append(replace(row, mass=row.mass * mass / there))
    if not there and mass > 0.0:
        rows.append(Ingredient(card, mass))
    return replace(job, ingredients=tuple(rows))


def solve_mass(bench: Bench, card: str, target: float, asked: str) -> float:
    """Mass of one plasticizer that brings the median glass transition in the room to a target.

    Parameters
    ----------
    bench : Bench
        The job; it is tried with other masses on the same draws. [-]
    card : str
        Plasticizer. [-]
    target : float
        Median glass transition of the settled part. [K]
    asked : str
        What the user asked for, for the message. [-]

    Returns
    -------
    float
        Mass as weighed, to four digits. [kg]

    Raises
    ------
    InputError
        Nothing between none and as much as there is polymer gets there; the nearest is named.
    """
    most = _MOST * dry_polymer(bench, Material(bench).blend)
    miss = _miss(bench, card, target)
    masses = np.linspace(0.0, most, 9)
    misses = np.array([miss(mass) for mass in masses])
    crossed = np.flatnonzero(np.sign(misses[:-1]) != np.sign(misses[1:]))
    if not crossed.size:
        raise InputError([_out_of_reach(asked, card, target, masses, misses)])
    low, high = masses[crossed[0]], masses[crossed[0] + 1]
    rising = misses[crossed[0]] < 0.0
    while high - low > 1e-4 * most:
        middle = 0.5 * (low + high)
        found = miss(middle)
        if abs(found) < _CLOSE:
            low = high = middle
        elif (found < 0.0) == rising:
            low = middle
        else:
            high = middle
    return float(f"{0.5 * (low + high):.4g}")


def _miss(bench: Bench, card: str, target: float) -> Callable[[float], float]:
    def miss(mass: float) -> float:
        there = bench.with_job(with_mass(bench.job, card, mass)).with_draws(bench.draws)
        material = Material(there)
        return float(np.median(material.glass_transition(room_moisture(there, material)))) - target

    return miss


def _out_of_reach(asked: str, card: str, target: float, masses: Any, misses: Any) -> Fault:
    nearest = int(np.abs(misses).argmin())
    at_none, at_most = (misses[i] + target - 273.15 for i in (0, -1))
    message = (
        f"asks for a glass transition of {target - 273.15:.0f} °C in the room; {card} reaches "
        f"{at_most:.0f} (as much as there is polymer) to {at_none:.0f} °C (none): the nearest is "
        f"{misses[nearest] + target - 273.15:.0f} °C with {1e3 * masses[nearest]:.0f} g"
    )
    return Fault(asked, "", message)
