"""``moldwin shot``: from the part to grams of pellets, fills, and force on the mold."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from moldwin.cli._common import (
    ForceOption,
    JobArgument,
    JsonOption,
    SeedOption,
    SetOption,
    emit,
    notes_on,
    tell,
)
from moldwin.cli._pictures import picture_target, write_picture
from moldwin.cli._progress import progress
from moldwin.inputs.errors import Fault, InputError

if TYPE_CHECKING:
    from moldwin.advice.shot import ShotReport
    from moldwin.inputs.equipment import Mold, Part
    from moldwin.inputs.job import Job

__all__ = ["shot"]

_AXES = ("x", "y", "z")
_MOST_CAVITIES = 1000


def shot(
    job: JobArgument = None,
    specimen: Annotated[
        str | None,
        typer.Option(metavar="NAME", help='A standard specimen, such as "ISO 527-2 1BA".'),
    ] = None,
    solid: Annotated[
        str | None,
        typer.Option(
            metavar="SOLIDS",
            help="Simple solids in mm: plate:80x10x4, plate:60x15x3-2*disc:4x3, cone:20x10x30; "
            "also box, rod, tube, sphere, dome.",
        ),
    ] = None,
    mesh: Annotated[
        str | None, typer.Option(metavar="FILE", help="A closed mesh: .stl, .3mf, .obj or .ply.")
    ] = None,
    mesh_unit: Annotated[
        str | None, typer.Option(metavar="UNIT", help="Unit of the mesh: mm, cm, m or in.")
    ] = None,
    clamp_axis: Annotated[
        str | None,
        typer.Option(metavar="AXIS", help="Axis of the mesh that the clamp presses along: z."),
    ] = None,
    gate: Annotated[
        str | None,
        typer.Option(metavar="X,Y,Z", help="Where melt enters the mesh; left out: worst place."),
    ] = None,
    flow_length_mm: Annotated[
        float | None,
        typer.Option("--flow-length-mm", metavar="MM", help="Way of the melt, if you know better."),
    ] = None,
    wall_mm: Annotated[
        float | None, typer.Option("--wall-mm", metavar="MM", help="Wall, if you know better.")
    ] = None,
    cavities: Annotated[int | None, typer.Option(metavar="N", help="Parts a shot.")] = None,
    runner: Annotated[
        str | None,
        typer.Option(
            metavar="SOLIDS",
            help="Sprue and runners in mm: cone:6x3x25 + trapezoid:5x4x4x30, + rod:4x20.",
        ),
    ] = None,
    list_specimens: Annotated[
        bool, typer.Option("--list", help="Show the specimens and end.")
    ] = False,
    cavity_out: Annotated[
        str | None,
        typer.Option(metavar="FILE.stl", help="Write the mesh enlarged by the likely shrinkage."),
    ] = None,
    output: Annotated[
        str | None,
        typer.Option("--output", "-o", metavar="FILE", help="Draw it: part.png or part.svg."),
    ] = None,
    as_json: JsonOption = False,
    sets: SetOption = None,
    seed: SeedOption = 20260,
    force: ForceOption = False,
) -> None:
    """Say how much to load for a part, whether it fits, and whether the clamp holds.

    The part is the job's own, or the one named here. Blend and press are the job's; without a job
    they are those of the bundled example.

    \b
    Example:
      moldwin shot --specimen "ISO 527-2 1BA" --cavities 2

    \b
    Exit codes:
      0  an answer
      2  the command line, the job or the mesh is wrong
      3  something in a material card is wrong
    """
    if list_specimens:
        _list_specimens(as_json)
        return
    target = picture_target(output, force)
    cavity = _cavity_target(cavity_out, force)
    from moldwin.inputs.read_job import read_job

    read = read_job(job, sets or ())
    part = _part(read.part, specimen, solid, mesh, mesh_unit)
    part = _known_better(part, flow_length_mm, wall_mm)
    read = replace(
        read,
        part=_mesh_ways(part, clamp_axis, gate),
        mold=_mold(read.mold, cavities, runner),
    )
    if target is not None and not read.part.given:
        raise InputError([Fault("--output", "", "there is no part to draw; give one")])
    if cavity is not None:
        _not_the_part_itself(cavity, read.part)
    from moldwin.advice.shot import shot_job

    with progress("mesh", after=1.0) as tick:
        report = shot_job(read, seed=seed, tick=tick)
    if target is not None:
        from moldwin.report.shot_picture import shot_picture

        write_picture(target, shot_picture, report)
    if cavity is not None:
        _write_cavity(cavity, report)
    if as_json:
        from moldwin.report.json_out import to_json

        emit(to_json(report.to_dict()))
    else:
        from moldwin.report.shot_page import shot_page

        emit(shot_page(report))
    tell(notes_on(_notes(read, report, output, cavity_out), report.overrides))


def _list_specimens(as_json: bool) -> None:
    if as_json:
        from moldwin.physics.specimens import SPECIMENS, specimen
        from moldwin.report.json_out import to_json

        rows = [specimen(name).to_dict() for name in SPECIMENS]
        emit(to_json({"schema": "moldwin.specimens/1", "specimens": rows}))
        return
    from moldwin.report.shot_page import specimens_page

    emit(specimens_page())


def _part(
    own: Part,
    specimen: str | None,
    solid: str | None,
    mesh: str | None,
    mesh_unit: str | None,
) -> Part:
    """The part named on the command line, else the job's own."""
    from moldwin.inputs.equipment import Part
    from moldwin.inputs.job_keys import MESH_UNITS
    from moldwin.inputs.typed_part import read_solids, read_specimen
    from moldwin.stages.part import sum_of

    given = [name for name, value in _ways(specimen, solid, mesh) if value is not None]
    if len(given) > 1:
        raise InputError([Fault(given[1], "", f"the part is given already by {given[0]}")])
    if (mesh is None) != (mesh_unit is None):
        missing = "--mesh-unit" if mesh_unit is None else "--mesh"
        message = f"is needed with it; units: {', '.join(MESH_UNITS)}, for a mesh names none itself"
        raise InputError([Fault(missing, "", message)])
    if specimen is not None:
        return Part(specimen=read_specimen("--specimen", specimen))
    if solid is not None:
        solids = read_solids("--solid", solid)
        sum_of("--solid", solids)  # a fault is the option's, not the job's
        return Part(solids=solids)
    if mesh is not None:
        if mesh_unit not in MESH_UNITS:
            message = f"got {mesh_unit!r}, allowed: {', '.join(MESH_UNITS)}"
            raise InputError([Fault("--mesh-unit", "", message)])
        return Part(mesh=Path(mesh), mesh_unit=mesh_unit)
    return own


def _known_better(part: Part, flow_length_mm: float | None, wall_mm: float | None) -> Part:
    """Flow length and wall as typed, within what a job may say."""
    from moldwin.inputs.job_keys import keys_of
    from moldwin.inputs.job_values import SlipError, to_si

    typed = {"flow_length_mm": flow_length_mm, "wall_mm": wall_mm}
    known, found = keys_of("part"), {}
    for name, value in typed.items():
        if value is None:
            continue
        try:
            found[known[name].field] = to_si(known[name], value)
        except SlipError as slip:
            option = "--" + name.replace("_", "-")
            raise InputError([Fault(option, "", str(slip))]) from None
    return replace(part, **found)


def _ways(
    specimen: str | None, solid: str | None, mesh: str | None
) -> list[tuple[str, str | None]]:
    return [("--specimen", specimen), ("--solid", solid), ("--mesh", mesh)]


def _mesh_ways(part: Part, clamp_axis: str | None, gate: str | None) -> Part:
    """Clamp and gate, which only a mesh has; what is not typed is the job's."""
    from moldwin.inputs.typed_part import read_gate

    axis = part.clamp_axis if clamp_axis is None else clamp_axis.lower()
    if axis not in _AXES:
        raise InputError([Fault("--clamp-axis", "", f"got {clamp_axis!r}, allowed: x, y, z")])
    if part.mesh is None:
        if gate is not None or clamp_axis is not None:
            option = "--gate" if gate is not None else "--clamp-axis"
            raise InputError([Fault(option, "", "means something for a mesh only")])
        return part
    if gate is None:
        return replace(part, clamp_axis=axis)
    from moldwin.physics.mesh import UNITS

    scale = UNITS[str(part.mesh_unit)]
    x, y, z = (scale * at for at in read_gate("--gate", gate))
    return replace(part, clamp_axis=axis, gate_x=x, gate_y=y, gate_z=z)


def _mold(own: Mold, cavities: int | None, runner: str | None) -> Mold:
    if cavities is not None:
        if not 1 <= cavities <= _MOST_CAVITIES:
            message = f"got {cavities}, allowed: 1 to {_MOST_CAVITIES}"
            raise InputError([Fault("--cavities", "", message)])
        own = replace(own, cavities=cavities)
    if runner is None:
        return own
    from moldwin.inputs.typed_part import RUNNER_SHAPES, read_solids
    from moldwin.stages.part import sum_of

    found = sum_of("--runner", read_solids("--runner", runner, RUNNER_SHAPES))
    return replace(own, runner_volume=float(found.volume), runner_area=float(found.projected_area))


def _notes(read: Job, report: ShotReport, output: str | None, cavity_out: str | None) -> list[str]:
    said = list(read.notes)
    if read.bundled:
        said.append("no job was named: blend, press and mold are those of the bundled example")
    if output is not None:
        said.append(f"the part is drawn in {output}")
    if cavity_out is not None:
        said.append(
            f"the cavity, {report.shrinkage.scale.likely:.4f} times the part, is in {cavity_out}"
        )
    return said


def _cavity_target(path: str | None, force: bool) -> Path | None:
    if path is None:
        return None
    from moldwin.inputs.whole_file import checked_target

    return checked_target(path, (".stl",), force=force)


def _not_the_part_itself(cavity: Path, part: Part) -> None:
    """Enlarged twice over, a part is lost: not even --force writes the cavity over it."""
    if part.mesh is None:
        raise InputError([Fault("--cavity-out", "", "enlarges a mesh; give the part by --mesh")])
    if cavity.exists() and part.mesh.exists() and cavity.samefile(part.mesh):
        raise InputError([Fault("--cavity-out", "", "is the mesh of the part; name another file")])


def _write_cavity(target: Path, report: ShotReport) -> None:
    from moldwin.inputs.whole_file import write_whole
    from moldwin.physics.mesh import UNITS
    from moldwin.physics.mesh_file import stl_bytes

    if report.mesh is not None:
        scale = report.shrinkage.scale.likely / UNITS["mm"]
        write_whole(target, stl_bytes(report.mesh.corners * scale))
