"""Entry point of the ``moldwin`` command and of ``python -m moldwin``."""

from __future__ import annotations

import contextlib
import os
import sys

__all__ = ["main"]

_STOPPED = 130


def main() -> None:
    """Run the command line and leave with its exit code."""
    try:
        from moldwin.cli.app import run

        code = run(sys.argv[1:])
    except KeyboardInterrupt:  # also while modules are still loading
        code = _STOPPED
    if code == _STOPPED:
        _leave()
    sys.exit(code)


def _leave() -> None:
    """End with 130 whatever Ctrl-C struck: Python itself ends by signal where it struck C code."""
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError, AttributeError):
            stream.flush()
    os._exit(_STOPPED)


if __name__ == "__main__":
    main()
