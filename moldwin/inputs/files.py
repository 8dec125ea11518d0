"""Where the shipped cards and examples lie, from a clone and from an install."""

from __future__ import annotations

from pathlib import Path

__all__ = ["shipped"]


def shipped(kind: str) -> Path:
    """Folder of what ships with the package.

    Parameters
    ----------
    kind : str
        ``"material_cards"`` or ``"examples"``. [-]

    Returns
    -------
    pathlib.Path
        The folder: inside the package when installed from a wheel, at the top of a clone otherwise.

    Raises
    ------
    FileNotFoundError
        Neither place has it: the installation is broken.

    Examples
    --------
    >>> (shipped("examples")).is_dir()
    True
    """
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "_shipped" / kind, package.parent / kind):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"no {kind} beside the installed package; reinstall moldwin")
