"""Entry point of the ``moldwin`` command and of ``python -m moldwin``."""

from __future__ import annotations

import sys

__all__ = ["main"]


def main() -> None:
    """Run the command line and leave with its exit code."""
    try:
        from moldwin.cli.app import run

        code = run(sys.argv[1:])
    except KeyboardInterrupt:  # also while modules are still loading
        code = 130
    sys.exit(code)


if __name__ == "__main__":
    main()
