"""The part as a picture, seen along the clamp, with its thick spot marked."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from moldwin.advice.shot import ShotReport
from moldwin.inputs.equipment import SolidSpec
from moldwin.physics.mesh import MeshPart
from moldwin.physics.mesh_map import thickness_map
from moldwin.physics.specimens import specimen
from moldwin.report.drawing import BAND, DOTS_PER_INCH, MARK, picture_bytes, titled

__all__ = ["shot_picture"]

_MARKED: dict[str, Any] = {"linestyle": "none", "markeredgecolor": "black", "clip_on": False}
_ROUND = np.linspace(0.0, 2.0 * np.pi, 97)


def shot_picture(report: ShotReport, kind: str) -> bytes:
    """The picture as a file's bytes; the same answer gives the same bytes.

    Parameters
    ----------
    report : ShotReport
        The answer. [-]
    kind : str
        ``"png"`` or ``"svg"``. [-]

    Returns
    -------
    bytes
        The whole file.
    """
    return picture_bytes(lambda: _figure(report), kind)


def _figure(report: ShotReport) -> Figure:
    figure = Figure(figsize=(7.2, 4.4), dpi=DOTS_PER_INCH, layout="constrained")
    axes = figure.add_subplot()
    if report.mesh is not None:
        _mesh(figure, axes, report.mesh, report.clamp_axis)
    elif report.specimen:
        _specimen(axes, report.specimen)
    else:
        _solids(axes, report)
    axes.set_aspect("equal")
    figure.legend(loc="outside lower center", ncols=3, frameon=False)
    geometry = report.geometry
    words = (
        f"{report.part}: {1e6 * geometry.volume:.3g} cm³, wall {1e3 * geometry.thickness:.2g} mm, "
        f"thickest {1e3 * geometry.thickest:.2g} mm"
    )
    titled(axes, report.job, words, report.bundled)
    return figure


def _mesh(figure: Figure, axes: Axes, mesh: MeshPart, axis: int) -> None:
    """How much material lies along the clamp, in gray; thick spot, gate and last place to fill."""
    found = thickness_map(mesh, axis)
    left, right, low, high = (1e3 * edge for edge in found.box)
    image = axes.imshow(
        1e3 * np.ma.masked_equal(found.depth.T, 0.0),
        origin="lower",
        extent=(left, right, low, high),
        cmap="Greys",
        vmin=0.0,
        interpolation="nearest",
    )
    figure.colorbar(image, ax=axes, pad=0.02, aspect=30).set_label("material along the clamp, mm")
    names = [name for number, name in enumerate("xyz") if number != axis]
    across = ["xyz".index(name) for name in names]
    axes.set_xlabel(f"{names[0]}, mm")
    axes.set_ylabel(f"{names[1]}, mm")
    spot, gate, last = (
        [1e3 * at[k] for k in across] for at in (mesh.thick_spot, mesh.gate, mesh.last)
    )
    words = f"thickest, {1e3 * mesh.thickest:.2g} mm"
    axes.plot(*spot, marker="*", markersize=15, markerfacecolor=MARK, label=words, **_MARKED)
    axes.plot(*gate, marker="o", markersize=8, markerfacecolor="white", label="gate", **_MARKED)
    axes.plot(
        *last, marker="^", markersize=8, markerfacecolor="white", label="last to fill", **_MARKED
    )


def _specimen(axes: Axes, name: str) -> None:
    one = specimen(name)
    half = np.linspace(-one.overall_length / 2, one.overall_length / 2, 801)
    edge = 500.0 * one.width_at(half)
    axes.fill_between(1e3 * half, -edge, edge, facecolor=BAND, edgecolor="black")
    words = f"thickest, {1e3 * one.thickness:.2g} mm: the same all over"
    axes.plot(0.0, 0.0, marker="*", markersize=15, markerfacecolor=MARK, label=words, **_MARKED)
    axes.set_xlabel("mm")
    axes.set_ylabel("mm")


def _solids(axes: Axes, report: ShotReport) -> None:
    """The pieces side by side, for nobody knows how they lie; what is taken away is hatched."""
    thickest, at, start = None, (0.0, 0.0), 0.0
    for solid in report.solids:
        outline = 1e3 * _outline(solid)
        outline[:, 0] += start - outline[:, 0].min()
        hatch = "///" if solid.subtract else None
        axes.fill(*outline.T, facecolor=BAND, edgecolor="black", hatch=hatch)
        size = _thick(solid)
        if not solid.subtract and (thickest is None or size > thickest):
            thickest, at = size, (float(outline[:, 0].min() + outline[:, 0].max()) / 2, 0.0)
        if solid.count > 1:
            axes.annotate(f"{solid.count} x", (outline[:, 0].min(), outline[:, 1].max()))
        start = float(outline[:, 0].max()) + 5.0
    words = f"thickest, {1e3 * report.geometry.thickest:.2g} mm"
    axes.plot(*at, marker="*", markersize=15, markerfacecolor=MARK, label=words, **_MARKED)
    axes.set_xlabel("mm, pieces side by side; hatched: taken away")
    axes.set_ylabel("mm")


def _outline(solid: SolidSpec) -> Any:
    """Corners of a solid's shadow about its middle, (n, 2). [m]"""
    size = solid.sizes()
    if solid.shape in ("disc", "sphere", "dome"):
        return size["diameter"] / 2 * np.stack([np.cos(_ROUND), np.sin(_ROUND)], axis=1)
    wide = size.get("width", size.get("diameter", size.get("outer_diameter", 0.0)))
    narrow = size.get("tip_diameter", 0.0) if solid.shape == "cone" else wide
    half = size["length"] / 2
    return np.array(
        [[-half, -wide / 2], [half, -narrow / 2], [half, narrow / 2], [-half, wide / 2]]
    )


def _thick(solid: SolidSpec) -> float:
    """The smallest of its sizes that count across; enough to tell which piece is thickest."""
    size = solid.sizes()
    if solid.shape == "tube":
        return (size["outer_diameter"] - size["inner_diameter"]) / 2
    return min(value for key, value in size.items() if key != "tip_diameter")
