"""What is to be said of a mesh whose part can be molded all the same."""

from __future__ import annotations

from moldwin.base.remarks import Remark
from moldwin.physics.mesh import MeshPart

__all__ = ["mesh_remarks"]

_STAGE = "shot"


def mesh_remarks(mesh: MeshPart, unit: str) -> list[Remark]:
    """Remarks on a mesh that was drawn in ``unit``.

    Parameters
    ----------
    mesh : MeshPart
        What was read. [SI]
    unit : str
        What the user says it is drawn in. [-]

    Returns
    -------
    list of Remark
        Empty where there is nothing to say. [-]
    """
    size = mesh.size
    said = []
    if not size.closed:
        said.append(
            _caution(
                f"The mesh is not closed ({size.open_edges} open and {size.turned_edges} turned "
                f"edges): {1e6 * size.volume:.3g} cm3 is its volume with flat lids over the holes,"
                f" {1e6 * size.volume_low:.3g} to {1e6 * size.volume_high:.3g} if they bulge."
            )
        )
    if size.inside_out:
        said.append(_note("The mesh is inside out: its faces look inward. It was turned round."))
    if mesh.doubled_share > 0.0:
        said.append(
            _caution(
                f"Bodies of the mesh overlap: {100 * mesh.doubled_share:.1f} % of the volume lies "
                "in two at once and is counted once; walls may be thicker than told. Join them "
                "first."
            )
        )
    if mesh.bodies > 1:
        said.append(
            _caution(
                f"The mesh holds {mesh.bodies} bodies: all of them are counted as one part. Is it "
                "a plate of several parts? Then give one part, and --cavities."
            )
        )
    if mesh.voids:
        said.append(
            _caution(
                f"{mesh.voids} hollow inside: melt fills it unless there is a core. Its volume is "
                "taken off: without a core the load told here is too small."
            )
        )
    if size.file_unit is not None and size.file_unit != unit:
        said.append(
            _caution(f"The file says that it is drawn in {size.file_unit}, you say {unit}.")
        )
    if mesh.twins:
        said.append(
            _note(
                f"Triangles are there more than once ({mesh.twins} too many): each is counted once."
            )
        )
    if not mesh.followed:
        why = "No melt gets from one body to the other"
        if mesh.bodies == 1:
            why = "The walls are too thin for the melt's way to be followed"
        said.append(
            _note(
                f"{why}: the diagonal of the box stands in for its way. Say part.flow_length_mm, "
                "or --flow-length-mm."
            )
        )
    return said


def _caution(words: str) -> Remark:
    return Remark("shot-size", "caution", words, _STAGE, "the mesh itself")


def _note(words: str) -> Remark:
    return Remark("shot-size", "info", words, _STAGE, "the mesh itself")
