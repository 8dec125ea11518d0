"""The shot as an answer: what to load, whether it fits and holds, how large to cut the mold."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from moldwin.advice.answer import ShotAdvice, plain
from moldwin.advice.heating import may_heat, stops_among
from moldwin.advice.mesh_remarks import mesh_remarks
from moldwin.advice.remarks import remarks
from moldwin.advice.situation import Found, find, shot_advice
from moldwin.base.draws import DEFAULT_COUNT, DEFAULT_SEED
from moldwin.base.percentiles import Triple, share, triple
from moldwin.base.remarks import Remark, weightiest_first
from moldwin.inputs.equipment import SolidSpec
from moldwin.inputs.job import Job
from moldwin.physics.mesh import MeshPart
from moldwin.physics.shrinkage import drying_shrinkage
from moldwin.physics.specimens import specimen
from moldwin.stages.bench import Bench
from moldwin.stages.melt import melt_density
from moldwin.stages.part import AXES, mesh_of
from moldwin.stages.shot import Geometry, fillings
from moldwin.window.windows import Setup

__all__ = ["SCHEMA", "ShotReport", "Shrinkage", "shot_job"]

SCHEMA = "moldwin.shot/1"
_OF_THE_SHOT = "shot"
#: What nobody can say without a part: a stand-in is good for a temperature, not for a mold.
_OF_A_PART = (
    "closed",
    "part_low_cm3",
    "part_high_cm3",
    "projected_area_cm2",
    "flow_length_mm",
    "wall_mm",
    "thickest_mm",
    "charge_dry_g",
    "fills",
    "strokes",
    "poured_cm3",
    "loads",
    "clamp_holds_share",
    "shots_in_batch",
)
_NO_LABORATORY = (
    "A small ram cannot pack like an injection molding machine: a specimen made here has a "
    "standard's dimensions, but is not made by ISO 294."
)


@dataclass(frozen=True)
class Shrinkage:
    """Linear shrinkage from cooling and from drying, and how much larger the cavity is cut. [-]"""

    cooling: Triple
    drying: Triple
    scale: Triple

    def to_dict(self) -> dict[str, Any]:
        """In percent; ``scale`` as a factor."""
        return {
            "cooling_pct": _percent(self.cooling),
            "drying_pct": _percent(self.drying),
            "scale": self.scale.to_dict(),
        }


@dataclass(frozen=True)
class ShotReport:
    """What the page of ``moldwin shot`` shows; SI but for ``shot``, which is advise's own.

    ``after`` is the shot at the moisture to mold at, or None where the pellets are there.
    ``fills`` counts how often cold pellets are poured in, infinite where they never fit; ``loads``
    how many barrels of melt the charge is. ``mesh`` is None unless the part is one; it,
    ``specimen`` and ``solids`` are what a picture is drawn from. ``heat`` is False where the
    advice is not to heat: then no temperature is named.
    """

    job: str
    part: str
    geometry: Geometry
    closed: bool
    volume_band: tuple[float, float]
    shot: ShotAdvice
    charge_dry: Triple
    moisture: float
    after: ShotAdvice | None
    after_moisture: float
    t_melt: float
    heat: bool
    density: Triple
    packed_density: Triple
    packing_pressure: Triple
    cushion: float
    fills: float | None
    loads: int | None
    poured: Triple
    clamp: float | None
    clamp_holds: float | None
    batch: float | None
    shots_in_batch: Triple | None
    shrinkage: Shrinkage
    mesh: MeshPart | None
    specimen: str | None = None
    solids: tuple[SolidSpec, ...] = ()
    clamp_axis: int = 2
    warnings: list[Remark] = field(default_factory=list)
    assumed: list[str] = field(default_factory=list)
    bundled: bool = False
    overrides: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """The object that ``moldwin shot --json`` prints."""
        geometry = self.geometry
        told = {
            "schema": SCHEMA,
            "job": self.job,
            "part": self.part,
            "closed": self.closed,
            **plain(self.shot),
            "cavities": geometry.cavities,
            "part_low_cm3": 1e6 * self.volume_band[0],
            "part_high_cm3": 1e6 * self.volume_band[1],
            "runner_cm3": 1e6 * geometry.runner_volume,
            "cushion_pct": 100.0 * self.cushion,
            "projected_area_cm2": 1e4
            * (geometry.projected_area * geometry.cavities + geometry.runner_area),
            "flow_length_mm": 1e3 * geometry.flow_length,
            "wall_mm": 1e3 * geometry.thickness,
            "thickest_mm": 1e3 * geometry.thickest,
            "moisture_pct": 100.0 * self.moisture,
            "charge_dry_g": _scaled(self.charge_dry, 1e3),
            "after_conditioning": None
            if self.after is None
            else {"moisture_pct": 100.0 * self.after_moisture, **plain(self.after)},
            "melt_c": self.t_melt - 273.15 if self.heat else None,
            "melt_density_g_cm3": _scaled(self.density, 1e-3),
            "packed_density_g_cm3": _scaled(self.packed_density, 1e-3),
            "packing_pressure_mpa": _scaled(self.packing_pressure, 1e-6),
            "fills": None if self.fills is None or math.isinf(self.fills) else int(self.fills),
            "strokes": None if self.fills is None or math.isinf(self.fills) else int(self.fills),
            "poured_cm3": _scaled(self.poured, 1e6),
            "loads": self.loads,
            "clamp_kn": None if self.clamp is None else 1e-3 * self.clamp,
            "clamp_holds_share": self.clamp_holds,
            "batch_g": None if self.batch is None else 1e3 * self.batch,
            "shots_in_batch": None
            if self.shots_in_batch is None
            else self.shots_in_batch.to_dict(),
            "shrinkage": self.shrinkage.to_dict(),
            "mesh": None if self.mesh is None else _mesh(self.mesh),
            "warnings": [remark.to_dict() for remark in self.warnings],
            "assumed": self.assumed,
        }
        return told if geometry.given else {**told, **dict.fromkeys(_OF_A_PART)}


def shot_job(
    job: Job,
    *,
    seed: int = DEFAULT_SEED,
    count: int = DEFAULT_COUNT,
    tick: Callable[[int, int], None] | None = None,
) -> ShotReport:
    """The shot of one job.

    Parameters
    ----------
    job : Job
        A job read before, with its part. [-]
    seed, count : int
        Of the draws; the shot is then that of ``advise``. [-]
    tick : callable, optional
        Told how much of a mesh is read. [-]

    Returns
    -------
    ShotReport
        [SI]

    Raises
    ------
    InputError
        A mesh that cannot be used, or solids that leave nothing.
    """
    mesh = None if job.part.mesh is None else mesh_of(job, tick)
    setup = Setup(Bench(job, seed=seed, count=count))
    now_w = float(job.pellets.moisture or 0.0)
    now, target = find(setup, now_w), setup.target(now_w)
    after = None if target.low <= now_w <= target.high else find(setup, target.best)
    bench, geometry, shot = setup.bench, setup.geometry, now.shot
    t_melt = now.window.barrel_stage.true_temperature(np.array([now.window.barrel.best]))[0, 0]
    density = melt_density(bench, setup.material.blend, now.window.state.w_water, t_melt)
    pressure = setup.ram.at_melt * bench.typical("press", "packing_share")
    loose = _poured(bench, shot)
    clamp = job.press.clamp
    whole = remarks(setup, now, None)
    said = [*stops_among(r for r in whole if r.stage != _OF_THE_SHOT)]
    said += [r for r in whole if r.stage == _OF_THE_SHOT]
    said += _own_remarks(job, mesh)
    return ShotReport(
        job=job.title or (job.path.name if job.path else "untitled job"),
        part=_part_words(job),
        geometry=geometry,
        closed=mesh is None or mesh.size.closed,
        volume_band=_volume_band(job, geometry, mesh),
        shot=shot_advice(setup, shot),
        charge_dry=triple(shot.charge * (1.0 - now.window.state.w_water)),
        moisture=now_w,
        after=None if after is None else shot_advice(setup, after.shot),
        after_moisture=target.best,
        t_melt=float(np.median(t_melt)),
        heat=may_heat(now.window.barrel.chance, said),
        density=triple(density),
        packed_density=triple(
            density * (1.0 + bench.typical("melt", "compressibility") * pressure)
        ),
        packing_pressure=triple(pressure + np.zeros(bench.count)),
        cushion=float(np.median(bench.typical("press", "cushion_share"))),
        fills=fillings(bench, shot),
        loads=_loads(shot.barrel_fill),
        poured=triple(loose + np.zeros(bench.count)),
        clamp=clamp,
        clamp_holds=None if clamp is None else share(shot.clamp_needed <= clamp),
        batch=job.pellets.mass,
        shots_in_batch=_shots(job.pellets.mass, shot),
        shrinkage=_shrinkage(setup, after or now),
        mesh=mesh,
        specimen=job.part.specimen,
        solids=job.part.solids,
        clamp_axis=AXES[job.part.clamp_axis],
        warnings=weightiest_first(said),
        assumed=sorted(
            name
            for name, number in bench.used.items()
            if number.status in ("assumed", "memory") and name.startswith(("press.", "part"))
        ),
        bundled=job.bundled,
        overrides=bench.library.overrides(),
    )


def _poured(bench: Bench, shot: Any) -> Any:
    """Volume of the charge as loose pellets, by the cup where one was weighed. [m³]"""
    poured = bench.job.pellets.bulk_density
    if poured is not None:
        return shot.charge / poured
    return shot.charge_volume / bench.typical("press", "loose_fill_share")


def _loads(fill: Any) -> int | None:
    return None if fill is None else max(1, math.ceil(float(np.median(fill))))


def _shots(batch: float | None, shot: Any) -> Triple | None:
    """Whole shots in the batch; each takes a whole charge, for what stays behind is purged."""
    return None if batch is None else triple(np.floor(batch / shot.charge))


def _shrinkage(setup: Setup, found: Found) -> Shrinkage:
    """From the melt to the room's temperature, then to the room's moisture."""
    bench, w = setup.bench, found.window.state.w_water
    cooling = bench.typical("part", "cooling_contraction")
    density = melt_density(bench, setup.material.blend, w, setup.material.room_t)
    drying = drying_shrinkage(w, setup.room_w, density)
    scale = 1.0 / ((1.0 - cooling) * (1.0 - drying))
    return Shrinkage(triple(cooling), triple(drying), triple(scale))


def _volume_band(job: Job, geometry: Geometry, mesh: MeshPart | None) -> tuple[float, float]:
    """Volume of one part at the ends of a standard's tolerances, or of an open mesh's lids."""
    if job.part.specimen:
        return specimen(job.part.specimen).volume_band
    if mesh is not None and not mesh.size.closed:
        return mesh.size.volume_low, mesh.size.volume_high
    return float(geometry.volume), float(geometry.volume)


def _part_words(job: Job) -> str:
    part = job.part
    if part.specimen:
        return part.specimen
    if part.mesh is not None:
        return f"mesh {part.mesh.name}"
    if part.solids:
        return " ".join(
            ("- " if solid.subtract else "+ " if number else "")
            + (f"{solid.count} " if solid.count > 1 else "")
            + solid.shape
            for number, solid in enumerate(part.solids)
        )
    return "no part"


def _own_remarks(job: Job, mesh: MeshPart | None) -> list[Remark]:
    said = [] if mesh is None else mesh_remarks(mesh, str(job.part.mesh_unit))
    if job.part.specimen:
        said.append(
            Remark("shot-size", "info", _NO_LABORATORY, _OF_THE_SHOT, "ISO 294-1 (from memory)")
        )
    return said


def _mesh(mesh: MeshPart) -> dict[str, Any]:
    size = mesh.size
    return {
        "triangles": size.triangles,
        "area_cm2": 1e4 * size.area,
        "box_mm": [1e3 * side for side in size.extent],
        "closed": size.closed,
        "inside_out": size.inside_out,
        "open_edges": size.open_edges,
        "turned_edges": size.turned_edges,
        "volume_low_cm3": 1e6 * size.volume_low,
        "volume_high_cm3": 1e6 * size.volume_high,
        "bodies": mesh.bodies,
        "voids": mesh.voids,
        "doubled_pct": 100.0 * mesh.doubled_share,
        "thick_spot_mm": [1e3 * at for at in mesh.thick_spot],
        "gate_mm": [1e3 * at for at in mesh.gate],
        "last_to_fill_mm": [1e3 * at for at in mesh.last],
        "flow_followed": mesh.followed,
    }


def _scaled(values: Triple, by: float) -> dict[str, float]:
    return {name: by * value for name, value in values.to_dict().items()}


def _percent(part: Triple) -> dict[str, float]:
    return _scaled(part, 100.0)
