"""A part as typed on the command line: ``plate:60x15x3 + 2*disc:8x5 - disc:4x3``."""

from __future__ import annotations

import math
import re

from moldwin.inputs.equipment import SolidSpec
from moldwin.inputs.errors import Fault, InputError, nearest
from moldwin.inputs.job_keys import SOLID_SHAPES, SPECIMENS
from moldwin.inputs.job_values import SlipError
from moldwin.inputs.text_files import printable
from moldwin.inputs.typed_amounts import LENGTHS_MM, amounts

__all__ = ["RUNNER_SHAPES", "TYPED_SHAPES", "read_gate", "read_solids", "read_specimen"]

#: Sizes in the order they are typed.
TYPED_SHAPES: dict[str, tuple[str, ...]] = {
    name: tuple(key.removesuffix("_mm") for key in keys) for name, keys in SOLID_SHAPES.items()
} | {"cone": ("diameter", "tip_diameter", "length")}
#: Runners are tapered rods and grooves cut with a tapered mill besides.
RUNNER_SHAPES = TYPED_SHAPES | {"trapezoid": ("width", "narrow_width", "height", "length")}

_TERM = re.compile(r"(?:(\d{1,5})\s*[*x]\s*)?([a-z]+)\s*:\s*(.+)", re.IGNORECASE | re.DOTALL)
_MOST_MM = 5000.0
_LIKE = "plate:80x10x4"


def read_solids(
    option: str, text: str, shapes: dict[str, tuple[str, ...]] = TYPED_SHAPES
) -> tuple[SolidSpec, ...]:
    """Simple solids from one typed line: added with ``+``, taken away with ``-``, in mm.

    Parameters
    ----------
    option : str
        The option it came with, for the message. [-]
    text : str
        Such as ``plate:60x15x3 - disc:4x3``. [mm]
    shapes : dict of str to tuple of str, optional
        Shapes that may be typed, with their sizes in order. [-]

    Returns
    -------
    tuple of SolidSpec
        In SI.

    Raises
    ------
    InputError
        A shape nobody knows, a number missing or too many, a size that is not above 0.

    Examples
    --------
    >>> plate, holes = read_solids("--solid", "plate:60x15x3 - 2*disc:4x3")
    >>> plate.shape, holes.count, holes.subtract
    ('plate', 2, True)
    """
    try:
        pieces = re.split(r"([+-])", text)
        signs = ["+", *pieces[1::2]]
        found = tuple(
            _solid(term.strip(), sign == "-", shapes)
            for sign, term in zip(signs, pieces[::2], strict=True)
        )
        if all(solid.subtract for solid in found):
            raise SlipError("all solids are taken away; one at least must be added")
    except SlipError as slip:
        raise InputError([Fault(option, "", str(slip))]) from None
    return found


def read_specimen(option: str, text: str) -> str:
    """The exact name of a standard specimen, whatever its spaces and letters.

    Examples
    --------
    >>> read_specimen("--specimen", "iso 527-2  1a")
    'ISO 527-2 1A'
    """
    plain = "".join(text.casefold().split())
    for name in SPECIMENS:
        if plain == "".join(name.casefold().split()):
            return name
    raise InputError(
        [
            Fault(
                option,
                "",
                f"no specimen is known as {printable(text)!r}{nearest(text, SPECIMENS)}; "
                "moldwin shot --list shows them",
            )
        ]
    )


def read_gate(option: str, text: str) -> tuple[float, float, float]:
    """Three numbers as typed, in the unit of the mesh.

    Returns
    -------
    tuple of float
        Along the axes of the mesh, in its unit. [-]

    Examples
    --------
    >>> read_gate("--gate", "0, 12.5, 3")
    (0.0, 12.5, 3.0)
    """
    try:
        x, y, z = (float(piece) for piece in text.split(","))
        if not math.isfinite(x + y + z):
            raise ValueError
    except ValueError:
        message = f"got {printable(text)!r}; write x,y,z in the unit of the mesh, like 0,12.5,3"
        raise InputError([Fault(option, "", message)]) from None
    return x, y, z


def _solid(term: str, subtract: bool, shapes: dict[str, tuple[str, ...]]) -> SolidSpec:
    match = _TERM.fullmatch(term)
    if match is None:
        raise SlipError(f"cannot read {printable(term)!r}; write a shape and sizes like {_LIKE}")
    count, shape, sizes = match.groups()
    shape = shape.lower()
    if shape not in shapes:
        raise SlipError(
            f"no shape is known as {printable(shape)!r}{nearest(shape, shapes)}; known: "
            + ", ".join(f"{name}:{' x '.join(keys)}" for name, keys in shapes.items())
        )
    keys, typed = shapes[shape], amounts(sizes, LENGTHS_MM, "mm", _LIKE)
    if len(typed) != len(keys):
        raise SlipError(f"a {shape} needs {len(keys)} sizes, {' x '.join(keys)}, got {len(typed)}")
    for key, size in zip(keys, typed, strict=True):
        if not (0.0 < size <= _MOST_MM or (key == "tip_diameter" and size == 0.0)):
            raise SlipError(f"{key} of the {shape} is {size:g} mm, allowed: up to {_MOST_MM:g}")
    return _checked(shape, dict(zip(keys, typed, strict=True)), int(count or 1), subtract)


def _checked(shape: str, mm: dict[str, float], count: int, subtract: bool) -> SolidSpec:
    """Sizes that could be swapped are refused in words."""
    for small, large, words in (
        ("inner_diameter", "outer_diameter", "as wide as"),
        ("tip_diameter", "diameter", "wider than"),
        ("narrow_width", "width", "wider than"),
    ):
        if small in mm and large in mm:
            wrong = mm[small] >= mm[large] if words == "as wide as" else mm[small] > mm[large]
            if wrong:
                raise SlipError(f"{small} of the {shape} is {words} {large}; are they swapped?")
    if shape == "dome" and 2.0 * mm["height"] > mm["diameter"]:
        raise SlipError("a dome is at most half as high as it is wide; are its sizes swapped?")
    if count < 1:
        raise SlipError("a count of 0 leaves the solid out: leave it out of the line")
    return SolidSpec(
        shape, **{key: size / 1000 for key, size in mm.items()}, count=count, subtract=subtract
    )
