"""Parts as they are typed on the command line."""

from __future__ import annotations

import pytest

from moldwin.inputs.errors import InputError
from moldwin.inputs.typed_part import (
    RUNNER_SHAPES,
    TYPED_SHAPES,
    read_gate,
    read_solids,
    read_specimen,
)


def test_sizes_in_the_order_they_are_named():
    (cone,) = read_solids("--solid", "cone:20x10x30")
    assert cone.sizes() == {"length": 0.03, "diameter": 0.02, "tip_diameter": 0.01}
    (point,) = read_solids("--solid", "cone:20x0x30")
    assert point.tip_diameter == 0.0


@pytest.mark.parametrize("shape", TYPED_SHAPES)
def test_every_shape_can_be_typed(shape):
    sizes = {"tube": "10x5x5", "cone": "10x5x5", "dome": "10x5"}.get(
        shape, "x".join(["10"] * len(TYPED_SHAPES[shape]))
    )
    (solid,) = read_solids("--solid", f"{shape}:{sizes}")
    assert solid.shape == shape
    assert set(solid.sizes()) == set(TYPED_SHAPES[shape])


def test_sums_differences_counts_and_units():
    plate, bosses, holes = read_solids(
        "--solid", " Plate: 6 x 1,5 x 0.3 cm + 2*disc:8x5-3*disc:4x3"
    )
    assert plate.sizes() == {"length": 0.06, "width": 0.015, "thickness": 0.003}
    assert (bosses.count, bosses.subtract) == (2, False)
    assert (holes.count, holes.subtract) == (3, True)


def test_a_trapezoid_is_for_runners_only():
    (groove,) = read_solids("--runner", "trapezoid:5x4x4x30", RUNNER_SHAPES)
    assert groove.sizes() == {
        "length": 0.03,
        "width": 0.005,
        "height": 0.004,
        "narrow_width": 0.004,
    }
    with pytest.raises(InputError, match="no shape is known as 'trapezoid'"):
        read_solids("--solid", "trapezoid:5x4x4x30")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "write a shape and sizes like plate:80x10x4"),
        ("80x10x4", "write a shape and sizes"),
        ("plate:80x10", "needs 3 sizes, length x width x thickness, got 2"),
        ("plate:80x10x4x2", "got 4"),
        ("plat:80x10x4", "did you mean 'plate'"),
        ("plate:80x0x4", "width of the plate is 0 mm, allowed"),
        ("plate:80x10x9999", "9999 mm"),
        ("plate:80x10x4-", "cannot read ''"),
        ("-plate:80x10x4", "cannot read ''"),
        ("plate:80x10x4 kg", "no unit that fits here"),
        ("tube:10x10x30", "inner_diameter of the tube is as wide as outer_diameter"),
        ("cone:10x20x30", "tip_diameter of the cone is wider than diameter"),
        ("dome:10x8", "half as high"),
        ("0*plate:80x10x4", "count of 0"),
    ],
)
def test_a_slip_is_a_sentence(text, words):
    with pytest.raises(InputError) as caught:
        read_solids("--solid", text)
    assert words in str(caught.value)
    assert str(caught.value).startswith("--solid: ")


def test_specimens_by_any_spelling_and_gates():
    assert read_specimen("--specimen", "astm d638 iv") == "ASTM D638 IV"
    with pytest.raises(InputError, match="did you mean 'ISO 527-2 1BA'"):
        read_specimen("--specimen", "ISO 527-2 1BAA")
    assert read_gate("--gate", "1,-2.5,3") == (1.0, -2.5, 3.0)
    for wrong in ("1,2", "1,2,x", "", "nan,0,0", "0,inf,0"):
        with pytest.raises(InputError, match="write x,y,z"):
            read_gate("--gate", wrong)
