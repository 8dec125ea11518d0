"""What it costs not to know: the window at either end of what a left-out number usually is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from moldwin.advice.situation import celsius
from moldwin.base.draws import DEFAULT_COUNT, DEFAULT_SEED
from moldwin.inputs.errors import InputError
from moldwin.inputs.job import Job
from moldwin.inputs.read_job import read_job
from moldwin.stages.bench import Bench
from moldwin.stages.service import room_moisture
from moldwin.stages.state import Material
from moldwin.window.windows import Setup

__all__ = ["Cost", "End", "costs", "room_dry"]

#: Usual ends of what makers leave out, as ``--set`` takes them (assumed: small presses by hand).
_ENDS: dict[str, tuple[tuple[str, str], tuple[str, str]]] = {
    "barrel": (
        ("a 12 mm plunger", "press.plunger_diameter_mm=12"),
        ("a 30 mm plunger", "press.plunger_diameter_mm=30"),
    ),
    "force": (("1 kN on it", "press.force_kn=1"), ("10 kN on it", "press.force_kn=10")),
    "nozzle": (
        ("a 2 mm nozzle", "press.nozzle_diameter_mm=2"),
        ("a 5 mm nozzle", "press.nozzle_diameter_mm=5"),
    ),
    "sealed": (
        ("an open nozzle", "press.sealed_nozzle=false"),
        ("a shut nozzle", "press.sealed_nozzle=true"),
    ),
    "mold": (
        ("an unheated mold", "mold.temperature_max_c=25"),
        ("a mold at up to 150 °C", "mold.temperature_max_c=150"),
    ),
}
#: A measured moisture is about this sure. [%]
_MEASURED_U = 0.5
#: Pellets said to be room-dry may still be on their way to it, or come from another room (assumed).
_UNSETTLED = 0.02
_DRIEST = 3.0


@dataclass(frozen=True)
class End:
    """The window with one value in the place of what is not known: °C and a share."""

    words: str
    best_c: float
    chance: float


@dataclass(frozen=True)
class Cost:
    """A question that stayed open, and what either end of its answer would lead to."""

    name: str
    ends: tuple[End, ...]

    @property
    def moves_c(self) -> float:
        """How far the best barrel temperature lies apart between the ends. [°C]"""
        best = [end.best_c for end in self.ends]
        return max(best) - min(best) if best else 0.0


def room_dry(job: Job) -> tuple[float, float]:
    """Moisture of pellets that lie in their room, and how far that may be off.

    Parameters
    ----------
    job : Job
        Recipe and room; its own moisture is not looked at. [SI]

    Returns
    -------
    tuple of float
        Median of the isotherm at the room's humidity, wet basis, and a standard uncertainty that
        also holds pellets which have not settled. [kg/kg]

    Examples
    --------
    >>> w, u = room_dry(read_job())
    >>> 0.05 < w < 0.20, u > 0.02
    (True, True)
    """
    bench = Bench(job)
    w = room_moisture(bench, Material(bench))
    return float(np.median(w)), float(np.hypot(np.std(w), _UNSETTLED))


def costs(
    job: Job,
    unknown: Iterable[str],
    moisture: float,
    *,
    seed: int = DEFAULT_SEED,
    count: int = DEFAULT_COUNT,
) -> list[Cost]:
    """The window at either end of everything that stayed open.

    Parameters
    ----------
    job : Job
        As it is, with stand-ins for what is not known. [SI]
    unknown : iterable of str
        Names of the open questions; one without ends is passed over. [-]
    moisture : float
        Moisture that the page advises, wet basis: the other unknowns are judged there. [kg/kg]
    seed, count : int
        Of the draws. [-]

    Returns
    -------
    list of Cost
        What moves the best barrel temperature farthest first.

    Notes
    -----
    The ends are a judgment of what small presses are like; one that cannot be with the rest of the
    job is left out. Everything else stays as it is, on the same draws.
    """
    found = []
    for name in unknown:
        ends = tuple(_ends(job, name, moisture, seed, count))
        if ends:
            found.append(Cost(name, ends))
    return sorted(found, key=lambda cost: -cost.moves_c)


def _ends(job: Job, name: str, moisture: float, seed: int, count: int) -> Iterator[End]:
    pairs = _moistures(job) if name == "moisture" else _ENDS.get(name, ())
    for words, setting in pairs:
        sets = [setting]
        if name == "moisture":
            sets.append(f"pellets.moisture_u_pct={_MEASURED_U}")
        try:
            read = read_job(job, sets)
        except InputError:  # such as a nozzle wider than that barrel
            continue
        at = read.pellets.moisture if name == "moisture" else moisture
        barrel = Setup(Bench(read, seed=seed, count=count)).window(float(at or 0.0)).barrel
        yield End(words, celsius(barrel.best) or 0.0, barrel.chance)


def _moistures(job: Job) -> tuple[tuple[str, str], ...]:
    """Both ends of a guess: nine guesses in ten lie between them."""
    likely, u = 100.0 * (job.pellets.moisture or 0.0), 100.0 * (job.pellets.moisture_u or 0.0)
    reach = 1.645 * u
    ends = (max(likely - reach, _DRIEST), likely + reach)
    return tuple((f"{end:.0f} % water", f"pellets.moisture_pct={end:.3g}") for end in ends)
