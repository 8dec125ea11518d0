"""The shot: part, runners, charge, the fill of the barrel, the force on the mold."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from moldwin.inputs.job import Job
from moldwin.stages.bench import Bench, UsedNumber
from moldwin.stages.blend import Blend
from moldwin.stages.melt import melt_density
from moldwin.stages.part import body
from moldwin.stages.state import State

__all__ = [
    "Geometry",
    "Ram",
    "Shot",
    "charge",
    "charge_volume",
    "fillings",
    "nozzle_bore",
    "nozzle_length",
    "part_geometry",
    "ram",
]

#: A barrel this much overfull is heaped, not filled twice; one with less room than this is full.
_HEAPED, _SPOONFUL = 0.05, 0.05
#: Length of the cold end that a ram keeps in front of it, in bores (assumed).
_COLD_END = 0.8


@dataclass(frozen=True)
class Geometry:
    """What flow and cooling need to know of the part; SI, one cavity unless said otherwise.

    ``given`` is False for the stand-in that is used where the job describes no part.
    """

    volume: float
    projected_area: float
    thickness: float
    thickest: float
    flow_length: float
    cavities: int
    runner_volume: float
    runner_area: float
    cooling_shape: str
    given: bool

    @property
    def width(self) -> float:
        """Mean width of the flow path. [m]"""
        return self.volume / (self.thickness * self.flow_length)

    @property
    def shot_volume(self) -> float:
        """All cavities and runners. [m³]"""
        return self.volume * self.cavities + self.runner_volume


@dataclass(frozen=True)
class Ram:
    """The ram's reach: bore [m], area [m²], pressure [Pa] under the plunger: an upper bound.

    Cold pellets rub on the wall: ``kept`` is the share that one bore of them leaves, shape (s,),
    ``depth`` how deep the loose charge lies, in bores, shape (s,). [-]
    """

    bore: float
    area: float
    pressure: Any
    kept: Any
    depth: Any

    def share(self, unmelted: Any = 0.0) -> Any:
        """Share of the pressure that reaches the melt past what is not molten, (..., s). [-]

        Molten charge does not rub; under the ram a cold end is left in any case.
        """
        return self.kept ** self._plug(unmelted)

    def log_share(self, unmelted: Any) -> Any:
        """Logarithm of that share, which a long cold plug makes too small to be written. [-]"""
        return np.log(self.kept) * self._plug(unmelted)

    def _plug(self, unmelted: Any) -> Any:
        return np.maximum(self.depth * unmelted, _COLD_END)

    @property
    def at_melt(self) -> Any:
        """Pressure that reaches the melt once the charge is molten, shape (s,). [Pa]"""
        return self.pressure * self.share()


@dataclass(frozen=True)
class Shot:
    """Volumes [m³], charge mass [kg], clamp force [N]; arrays have shape (s,)."""

    part_volume: float
    shot_volume: float
    charge_volume: Any
    charge: Any
    barrel_fill: Any
    clamp_needed: Any


def part_geometry(bench: Bench) -> Geometry:
    """The part from a named specimen, simple solids or a mesh, or the stand-in.

    Raises
    ------
    InputError
        The mesh cannot be used, or the solids leave nothing.
    """
    job = bench.job
    part, given = body(job), job.part.given
    if not given:
        bench.used["part"] = UsedNumber(
            "part",
            0.0,
            "1",
            "assumed",
            "no part given: a 50 x 10 x 2 mm plate stands in for filling",
        )
    thickness = job.part.wall or part.thickness
    return Geometry(
        volume=part.volume,
        projected_area=part.projected_area,
        thickness=thickness,
        thickest=max(thickness, job.part.wall or part.max_thickness),
        flow_length=job.part.flow_length or part.flow_length,
        cavities=job.mold.cavities,
        runner_volume=job.mold.runner_volume or 0.0,
        runner_area=job.mold.runner_area or 0.0,
        cooling_shape="cylinder" if _is_round(job) else "plate",
        given=given,
    )


def ram(bench: Bench, geometry: Geometry) -> Ram:
    """What the ram can do to the melt."""
    press = bench.job.press
    bore = _number(bench, "press.plunger_diameter", press.plunger_diameter, "plunger_diameter", "m")
    area = np.pi / 4 * bore**2
    pressure = press.packing_pressure
    if pressure is None:
        pressure = (
            press.ram_force / area if press.ram_force else bench.typical("press", "force") / area
        )
    melt = geometry.shot_volume * (1.0 + bench.typical("press", "cushion_share"))
    # the weight of a cup does not count here: flakes poured loosely do not stay so under the ram
    loose = melt / bench.typical("press", "loose_fill_share")
    # Janssen friction of pellets, quoted for a plug two bores long
    kept = np.sqrt(bench.typical("press", "force_share"))
    return Ram(bore=bore, area=area, pressure=pressure, kept=kept, depth=loose / area / bore)


def charge(
    bench: Bench, blend: Blend, state: State, geometry: Geometry, reach: Ram, t_melt: Any
) -> Shot:
    """Mass to load and force on the mold at one melt temperature.

    Parameters
    ----------
    t_melt : float or array, shape (s,)
        Temperature of the charge. [K]

    Returns
    -------
    Shot
        Per sample. [SI]
    """
    volume = charge_volume(bench, geometry)
    mass = volume * melt_density(bench, blend, state.w_water, t_melt)
    capacity = bench.job.press.barrel_capacity
    area = geometry.projected_area * geometry.cavities + geometry.runner_area
    packing = reach.at_melt * bench.typical("press", "packing_share")
    return Shot(
        part_volume=geometry.volume,
        shot_volume=geometry.shot_volume,
        charge_volume=volume,
        charge=mass,
        barrel_fill=volume / capacity if capacity else None,
        clamp_needed=area * packing,
    )


def charge_volume(bench: Bench, geometry: Geometry) -> Any:
    """Melt to load: shot and cushion, and the nozzle, which has to be full first, (s,). [m³]"""
    nozzle = np.pi / 4 * nozzle_bore(bench) ** 2 * nozzle_length(bench)
    return geometry.shot_volume * (1.0 + bench.typical("press", "cushion_share")) + nozzle


def fillings(bench: Bench, shot: Shot) -> float | None:
    """How often cold pellets are poured in, with a stroke of the ram after each, for one charge.

    A stroke makes room by pressing the voids smaller. Infinite where the barrel is full before the
    charge is in, ``None`` where its volume is not known; likely numbers, for one counts them once.

    Parameters
    ----------
    bench : Bench
        The job and its draws. [-]
    shot : Shot
        The charge. [SI]

    Returns
    -------
    float or None
        Fillings of the barrel. [-]
    """
    capacity, poured = bench.job.press.barrel_capacity, bench.job.pellets.bulk_density
    if capacity is None:
        return None
    loose_share, pressed_share = (
        float(np.median(bench.typical("press", key)))
        for key in ("loose_fill_share", "compacted_share")
    )
    solid = float(np.median(shot.charge_volume))
    loose = solid / loose_share if poured is None else float(np.median(shot.charge)) / poured
    # of a loose fill, after its stroke: flakes that lie loosely leave much room, round pellets none
    kept = min(solid / loose / pressed_share, 1.0)
    count, room, left = 0, capacity, loose - _HEAPED * capacity
    while left > 0.0:
        if room < _SPOONFUL * capacity:
            return math.inf
        count, left, room = count + 1, left - room, room - kept * room
    return float(max(count, 1))


def nozzle_bore(bench: Bench) -> Any:
    """Diameter of the nozzle's bore, given or typical, shape (s,). [m]"""
    given = bench.job.press.nozzle_diameter
    typical = ("press", "nozzle_diameter")
    return bench.given("press.nozzle_diameter", given, "m", typical=typical)


def nozzle_length(bench: Bench) -> Any:
    """Length of the nozzle's bore, given or typical, shape (s,). [m]"""
    given = bench.job.press.nozzle_length
    typical = ("press", "nozzle_length")
    return bench.given("press.nozzle_length", given, "m", typical=typical)


def _is_round(job: Job) -> bool:
    """True where the thickest body is a rod, cone or sphere: it cools from all round."""
    return bool(job.part.solids) and job.part.solids[0].shape in ("rod", "cone", "sphere")


def _number(bench: Bench, name: str, value: float | None, key: str, unit: str) -> float:
    """A press number without spread; the typical one where the job leaves it out."""
    if value is not None:
        return value
    card = bench.library.card("press")
    bench.of(card, key)  # so that it is listed among what was assumed
    return card[key].value
