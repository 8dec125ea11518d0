"""Entry point of the ``moldwin`` command and of ``python -m moldwin``."""

from __future__ import annotations

import contextlib
import gc
import os
import signal
import sys

__all__ = ["main"]

_STOPPED = 130
#: One short run makes little garbage; looking for it at every 700 new objects slows the loading.
_GARBAGE = 50_000
#: A library that is just loading can swallow an interrupt: it is raised again after so long. [s]
_AGAIN = 0.3


def main() -> None:
    """Run the command line and leave with its exit code."""
    try:
        _insist_on_interrupts()
        gc.set_threshold(_GARBAGE)
        from moldwin.cli._threads import one_thread
        from moldwin.cli.app import run

        one_thread()
        code = run(sys.argv[1:])
    except KeyboardInterrupt:  # also while modules are still loading
        code = _STOPPED
    if code == _STOPPED:
        _leave()
    sys.exit(code)


def _insist_on_interrupts() -> None:
    """Ctrl-C is raised until it is heard; without interval timers, as it comes."""
    if not hasattr(signal, "setitimer") or signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        return

    def interrupt(*_: object) -> None:
        signal.setitimer(signal.ITIMER_REAL, _AGAIN)
        raise KeyboardInterrupt

    signal.signal(signal.SIGALRM, interrupt)
    signal.signal(signal.SIGINT, interrupt)


def _leave() -> None:
    """End with 130 whatever Ctrl-C struck: Python itself ends by signal where it struck C code."""
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError, AttributeError):
            stream.flush()
    os._exit(_STOPPED)


if __name__ == "__main__":
    main()
