"""What commands that draw share: where the picture goes, and its writing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from moldwin.inputs.errors import Fault, InputError

__all__ = ["picture_target", "write_picture"]

_ENDINGS = (".png", ".svg")


def picture_target(output: str | None, force: bool) -> Path | None:
    """Where the picture goes, and that it can be drawn at all, before anything is computed."""
    if output is None:
        return None
    from importlib.util import find_spec

    from moldwin.inputs.whole_file import checked_target

    target = checked_target(output, _ENDINGS, force=force)
    if find_spec("matplotlib") is None:
        message = "a picture needs matplotlib; pip install 'moldwin[pictures]' brings it"
        raise InputError([Fault("--output", "", message)])
    return target


def write_picture(target: Path, picture: Callable[[Any, str], bytes], advice: Any) -> None:
    """Draw an answer as the kind of file that the target's ending names."""
    from moldwin.inputs.whole_file import write_whole

    write_whole(target, picture(advice, target.suffix.lower().removeprefix(".")))
