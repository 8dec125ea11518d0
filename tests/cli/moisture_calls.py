"""What the tests of ``moldwin moisture`` share: the call, tables, a job that names one."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from moldwin.cli.app import run

__all__ = ["HEAD", "NO_GLYCEROL", "TYPED", "Call", "caller", "read", "table", "with_weighings"]

HEAD = "sample,minutes,dish_g,gross_g\n"
TYPED = ["--dish-g", "20.000", "--wet-g", "25.000", "--dry-g", "24.500"]
NO_GLYCEROL = ["--glycerol-g-per-100g-dry", "0"]

#: Takes arguments; gives exit code, stdout, stderr.
Call = Callable[..., tuple[int, str, str]]


def caller(capsys) -> Call:
    """Runs ``moldwin moisture``."""

    def call(*arguments: object) -> tuple[int, str, str]:
        code = run(["moisture", *map(str, arguments)])
        out, err = capsys.readouterr()
        return code, out, err

    return call


def read(cli: Call, *arguments: object) -> dict:
    """The JSON object that it prints."""
    code, out, err = cli(*arguments, "--json")
    assert code == 0, err
    return json.loads(out)


def table(folder: Path, text: str, encoding: str = "utf-8") -> str:
    path = folder / "w.csv"
    path.write_bytes(text.encode(encoding))
    return str(path)


def with_weighings(job: Path) -> None:
    """Let the job name a table in place of its moisture."""
    head, tail = job.read_text(encoding="utf-8").split("[pellets]\n")
    rest = [row for row in tail.splitlines(keepends=True) if not row.startswith("moisture_")]
    text = f'{head}[pellets]\nweighings = "w.csv"   # of May\n{"".join(rest)}'
    job.write_text(text, encoding="utf-8")
