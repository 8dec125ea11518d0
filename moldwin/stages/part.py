"""The body of the part: a specimen, simple solids, or a mesh, as the mold and the melt see it."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from functools import lru_cache
from pathlib import Path

from moldwin.inputs.equipment import SolidSpec
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.job import Job
from moldwin.inputs.text_files import printable
from moldwin.physics import solids
from moldwin.physics.mesh import MeshPart, mesh_part
from moldwin.physics.runners import trapezoid
from moldwin.physics.specimens import specimen

__all__ = ["AXES", "body", "mesh_of", "sum_of"]

#: Parts that a small press may mold: larger or smaller is a slip in the unit. [m]
_LARGEST, _SMALLEST = 1.0, 1e-3
#: What is filled where the job describes no part (assumed, said so in the assumptions).
_TYPICAL_PART = {"length": 0.05, "width": 0.01, "thickness": 0.002}
#: A unit that reads as another word in a sentence.
_SPELLED = {"in": "inches"}
#: Axes of a mesh by their letters.
AXES = {"x": 0, "y": 1, "z": 2}


def body(job: Job) -> solids.Solid:
    """Volume, shadow, wall and flow length of one part, or of the stand-in for one.

    Raises
    ------
    InputError
        A mesh that cannot be used, or solids that leave nothing.
    """
    part = job.part
    if part.mesh is not None:
        found = mesh_of(job)
        return solids.Solid(
            found.volume, found.projected_area, found.wall, found.flow_length, found.thickest
        )
    if part.specimen:
        bar = specimen(part.specimen)
        return solids.Solid(bar.volume, bar.area, bar.thickness, bar.flow_length, bar.thickness)
    if part.solids:
        return sum_of(str(job.path or "job"), part.solids, "part.solid")
    return solids.plate(**_TYPICAL_PART)


def sum_of(place: str, specs: Sequence[SolidSpec], key: str = "") -> solids.Solid:
    """Simple solids, added and taken away; ``place`` and ``key`` are for the message.

    Raises
    ------
    InputError
        They leave nothing.
    """
    flags = [spec.subtract for spec in specs]
    try:
        return solids.combine([_solid(s) for s in specs], [s.count for s in specs], flags)
    except ValueError as wrong:
        raise InputError([Fault(place, key, str(wrong))]) from None


def _solid(spec: SolidSpec) -> solids.Solid:
    """One simple solid; a cone without a tip is pointed."""
    sizes = spec.sizes()
    if spec.shape == "cone":
        sizes.setdefault("tip_diameter", 0.0)
    if spec.shape == "trapezoid":
        return trapezoid(**sizes)
    found: solids.Solid = getattr(solids, spec.shape)(**sizes)
    return found


def mesh_of(job: Job, tick: Callable[[int, int], None] | None = None) -> MeshPart:
    """The mesh of a job, read once however often it is asked for.

    Parameters
    ----------
    job : Job
        With a mesh. [-]
    tick : callable, optional
        Told how many faces of how many are read. [-]

    Raises
    ------
    InputError
        No such file, not a mesh, in the wrong unit, or too open for its volume to be trusted.
    """
    part = job.part
    name = printable(part.mesh, 200)
    try:
        status = os.stat(str(part.mesh))
        found = _read(
            Path(str(part.mesh)),
            str(part.mesh_unit),
            AXES[part.clamp_axis],
            part.gate,
            (status.st_mtime_ns, status.st_size),
            _Quiet(tick),
        )
    except OSError as error:
        message = f"cannot be read: {error.strerror or error}"
        raise InputError([Fault(name, "", message)]) from None
    except ValueError as wrong:
        raise InputError([Fault(name, "", str(wrong))]) from None
    trouble = _unit_trouble(found, str(part.mesh_unit))
    if trouble:
        raise InputError([Fault(name, "", trouble)])
    return found


class _Quiet:
    """A caller's progress bar; for the cache it is no part of the question."""

    def __init__(self, tick: Callable[[int, int], None] | None) -> None:
        self.tick = tick

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Quiet)

    def __hash__(self) -> int:
        return 0


@lru_cache(maxsize=4)
def _read(
    path: Path,
    unit: str,
    axis: int,
    gate: tuple[float, float, float] | None,
    stamp: tuple[int, int],
    quiet: _Quiet,
) -> MeshPart:
    """The stamp makes a file that was changed meanwhile a new question."""
    return mesh_part(path, unit, axis=axis, gate=gate, tick=quiet.tick)


def _unit_trouble(found: MeshPart, unit: str) -> str:
    """A part of another size than a hand press makes was drawn in another unit."""
    longest = max(found.size.extent)
    if _SMALLEST <= longest <= _LARGEST:
        return ""
    return (
        f"in {_SPELLED.get(unit, unit)} the part would be {_length(longest)} long, a press here "
        f"makes {_length(_SMALLEST)} to {_length(_LARGEST)}; was it drawn in another unit?"
    )


def _length(meters: float) -> str:
    for scale, unit in ((1e3, "km"), (1.0, "m"), (1e-3, "mm")):
        if meters >= scale:
            return f"{meters / scale:.3g} {unit}"
    return f"{1e6 * meters:.3g} µm"
