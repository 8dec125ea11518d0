"""The command at a real terminal, or beside one: what is typed, what is shown, what is answered."""

from __future__ import annotations

import os
import re
import select
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

__all__ = ["ESCAPES", "Ended", "at_terminal", "plain"]

ESCAPES = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")
#: Far longer than any of it takes; a hanging command fails instead of blocking the suite. [s]
_PATIENCE = 120.0


@dataclass
class Ended:
    """How a command ended: exit code, stdout, and what the terminal showed."""

    code: int
    out: str
    shown: str


def plain(text: str) -> str:
    """Text without terminal codes."""
    return ESCAPES.sub("", text)


def at_terminal(
    arguments: list[str],
    folder: Path,
    typed: list[str] | None = None,
    *,
    prompt: str = "> ",
    out_too: bool = False,
    environment: dict[str, str] | None = None,
) -> Ended:
    """Run the command with stdin and stderr at a terminal of its own, and stdout too if asked.

    Each line is typed once the prompt has been shown again, as a person would.
    """
    import fcntl
    import pty
    import termios

    main, side = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "moldwin", *arguments],
        stdin=side,
        stderr=side,
        stdout=side if out_too else subprocess.PIPE,
        cwd=folder,
        env={**os.environ, "COLUMNS": "80", **(environment or {})},
        start_new_session=True,
        # its own controlling terminal, or Ctrl-C would reach nobody
        preexec_fn=lambda: fcntl.ioctl(side, termios.TIOCSCTTY, 0),
    )
    os.close(side)
    shown, lines, prompts = "", list(typed or ()), 0
    until = time.monotonic() + _PATIENCE
    try:
        while process.poll() is None and time.monotonic() < until:
            shown += _read(main)
            if lines and shown.count(prompt) > prompts:
                prompts += 1
                os.write(main, f"{lines.pop(0)}\n".encode())
        shown += _read(main)
        assert process.poll() is not None, shown
        out = "" if process.stdout is None else process.stdout.read().decode()
    finally:
        if process.poll() is None:
            process.kill()
        process.wait()
        if process.stdout is not None:
            process.stdout.close()
        os.close(main)
    return Ended(process.returncode, out, shown.replace("\r\n", "\n"))


def _read(main: int) -> str:
    """What the terminal has to show by now."""
    found = b""
    while select.select([main], [], [], 0.05)[0]:
        try:
            piece = os.read(main, 65536)
        except OSError:  # the other side has closed
            break
        if not piece:
            break
        found += piece
    return found.decode(errors="replace")
