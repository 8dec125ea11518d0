"""Figures of the standard specimens, in mm, as their tables print them."""

from __future__ import annotations

from typing import Any

__all__ = ["DIMENSIONS", "FIGURES"]

_Row = tuple[str, tuple[Any, ...], dict[str, Any]]

_ISO_TABLE = "materials-testing supplier's specimen table"
_ASTM_TABLE = "public supplier's table of ASTM D638"
DIMENSIONS = (
    "overall_length",
    "narrow_length",
    "narrow_width",
    "wide_width",
    "thickness",
    "radius",
    "outer_radius",
)
_ONE_ARC = ("radius",)
_TWO_ARCS = ("radius", "outer_radius")
_BAR_TABLE = "table of bars for ISO 179; that ISO 178 bends the same bar is from memory"
_TENSILE = ("Plastics - Tensile properties, molding and extrusion plastics", "ISO 527-2:2012")
_ASTM = ("Tensile properties of plastics", "ASTM D638-14 (from memory)")
_FLEXURAL = ("Plastics - Flexural properties", "ISO 178:2019 (from memory)")
_CHARPY = ("Plastics - Charpy impact properties", "ISO 179-1:2010 (from memory)")
_TYPES = ("Plastics - Test specimens", "ISO 20753:2023")
_PLATES = (
    "Plastics - Injection moulding of test specimens, small plates",
    "ISO 294-3:2020 (from memory)",
)
_A1 = {
    "narrow_length": 2,
    "narrow_width": 0.2,
    "wide_width": 0.2,
    "thickness": 0.2,
    "radius": 1,
}
_B = {"narrow_length": 0.5, "narrow_width": 0.2, "wide_width": 0.2, "thickness": 0.2}
_BAR = {"overall_length": 2, "narrow_width": 0.2, "thickness": 0.2}
_BARS = (80, 80, 10, 10, 4, 0, 0)
_WIDER = (0, 6.4)


def _row(name: str, *figures: Any, **more: Any) -> _Row:
    """Name; dimensions, source, standard; tolerances and what else is known."""
    return name, figures, more


def _dumbbell(length: float, narrow: float, wide: float | tuple[float, float]) -> dict[str, Any]:
    return {"narrow_length": length, "narrow_width": narrow, "wide_width": wide}


def _plate(thickness: float) -> _Row:
    return _row(
        f"ISO 294-3 D{thickness:g}",
        (60, 60, 60, 60, thickness, 0, 0),
        "ISO 20753 has square plates as type D (read); their size from memory",
        _PLATES,
        memory=DIMENSIONS,
        tolerance={"overall_length": 2, "narrow_width": 2, "thickness": 0.1},
    )


# Dimensions in mm, in the order of DIMENSIONS.
FIGURES: tuple[_Row, ...] = (
    _row(
        "ISO 527-2 1A",
        (170, 80, 10, 20, 4, 24, 0),
        _ISO_TABLE,
        _TENSILE,
        memory=_ONE_ARC,
        tolerance=_A1,
    ),
    _row(
        "ISO 527-2 1B",
        (150, 60, 10, 20, 4, 60, 0),
        _ISO_TABLE,
        _TENSILE,
        memory=_ONE_ARC,
        tolerance=_B,
        minimum=("overall_length", "radius"),
    ),
    _row(
        "ISO 527-2 1BA",
        (75, 30, 5, 10, 2, 30, 0),
        _ISO_TABLE,
        _TENSILE,
        memory=_ONE_ARC,
        tolerance=_dumbbell(0.5, 0.5, 0.5),
        minimum=("overall_length", "thickness", "radius"),
    ),
    _row(
        "ISO 527-2 1BB",
        (30, 12, 2, 4, 2, 12, 0),
        _ISO_TABLE,
        _TENSILE,
        memory=_ONE_ARC,
        tolerance=_dumbbell(0.5, 0.2, 0.2),
        minimum=("overall_length", "thickness", "radius"),
    ),
    _row(
        "ISO 527-2 5A",
        (75, 25, 4, 12.5, 2, 12.5, 8),
        _ISO_TABLE,
        _TENSILE,
        memory=_TWO_ARCS,
        tolerance=_dumbbell(1, 0.1, 1),
        minimum=("overall_length",),
    ),
    _row(
        "ISO 527-2 5B",
        (35, 12, 2, 6, 1, 3, 3),
        _ISO_TABLE,
        _TENSILE,
        memory=_TWO_ARCS,
        tolerance=_dumbbell(0.5, 0.1, 0.5),
        minimum=("overall_length",),
    ),
    _row(
        "ASTM D638 I",
        (165, 57, 13, 19, 3.2, 76, 0),
        _ASTM_TABLE,
        _ASTM,
        tolerance={**_dumbbell(0.5, 0.5, _WIDER), "thickness": 0.4, "radius": 1},
        minimum=("overall_length",),
    ),
    _row(
        "ASTM D638 II",
        (183, 57, 6, 19, 3.2, 76, 0),
        _ASTM_TABLE,
        _ASTM,
        tolerance={**_dumbbell(0.5, 0.5, _WIDER), "radius": 1},
        minimum=("overall_length",),
    ),
    _row(
        "ASTM D638 III",
        (246, 57, 19, 29, 7, 76, 0),
        _ASTM_TABLE,
        _ASTM,
        tolerance={**_dumbbell(0.5, 0.5, _WIDER), "thickness": (0, 7), "radius": 1},
        minimum=("overall_length",),
    ),
    _row(
        "ASTM D638 IV",
        (115, 33, 6, 19, 3.2, 14, 25),
        _ASTM_TABLE,
        _ASTM,
        tolerance=_dumbbell(0.5, 0.5, _WIDER),
        minimum=("overall_length",),
    ),
    _row(
        "ASTM D638 V",
        (63.5, 9.53, 3.18, 9.53, 3.2, 12.7, 0),
        _ASTM_TABLE,
        _ASTM,
        tolerance={**_dumbbell(0.5, 0.5, (0, 3.18)), "radius": 1},
        minimum=("overall_length",),
    ),
    _row("ISO 178 bar", _BARS, _BAR_TABLE, _FLEXURAL, tolerance=_BAR),
    _row("ISO 179 bar", _BARS, "table of bars for ISO 179", _CHARPY, tolerance=_BAR),
    _row(
        "ISO 20753 A1",
        (170, 80, 10, 20, 4, 24, 0),
        f"{_ISO_TABLE}, which names it with 1A of ISO 527-2",
        _TYPES,
        memory=_ONE_ARC,
        tolerance=_A1,
    ),
    _row(
        "ISO 20753 B1",
        _BARS,
        "table of bars for ISO 179, which names it",
        _TYPES,
        tolerance=_BAR,
    ),
    _plate(1),
    _plate(2),
)
