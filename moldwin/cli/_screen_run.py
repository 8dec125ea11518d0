"""A table of recipes answered chunk by chunk, so that a run that was killed goes on where it was.

Answers go to a side file beside the output, one line a row. Once all are there, recipes and answers
are put together and moved to their place. The side file starts with a fingerprint of all that the
answers depend on.
"""

from __future__ import annotations

import csv
import hashlib
import json
import os
from collections.abc import Callable, Generator, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from functools import partial
from itertools import chain, islice
from pathlib import Path
from typing import IO, Any

import moldwin
from moldwin.advice.screen import Screener, answer_kinds
from moldwin.advice.screening.between import MADE
from moldwin.advice.screening.lay import INTERPOLATED, Laid, Reported, lay
from moldwin.advice.screening.look import Look
from moldwin.cli import _parquet
from moldwin.cli._screen_pool import by_processes, settle_worker
from moldwin.inputs.cards import library_for
from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.files import shipped
from moldwin.inputs.job import Job
from moldwin.inputs.recipe_table import RecipeRow, open_recipes, read_recipes
from moldwin.inputs.text_files import printable

__all__ = ["Order", "Tally", "Tick", "screen_table", "side_file"]

#: Rows answered between two looks at the disk: a few seconds of work.
_CHUNK = 32
#: The same for rows that are mostly read from surfaces, in so many chunks.
_TOGETHER = 16
_HASHED_AT_ONCE = 2**20

Tick = Callable[[int, int], None]


@dataclass(frozen=True)
class Order:
    """What is to be done.

    Parameters
    ----------
    recipes, target : pathlib.Path
        The table, and where its answers go. [-]
    named : str
        The table as the user named it. [-]
    base : Job or None
        The job whose values the columns replace. [-]
    options : mapping
        Of `moldwin.advice.screen.screen`. [-]
    processes : int
        How many work at once. [-]
    anew : bool
        Whether to throw away what an earlier run left. [-]
    between : bool
        Whether rows may be read from surfaces laid through others. [-]
    """

    recipes: Path
    target: Path
    named: str
    base: Job | None
    options: Mapping[str, Any]
    processes: int = 1
    anew: bool = False
    between: bool = False

    @property
    def kinds(self) -> dict[str, str]:
        """Columns of the answer, and what they hold."""
        return answer_kinds(self.between)


@dataclass
class Tally:
    """What came of it: how many rows, with an open window, with an error, and done before.

    ``interpolated`` of them were read from surfaces, and ``between`` says how far off those are.
    """

    rows: int = 0
    open: int = 0
    errors: int = 0
    before: int = 0
    interpolated: int = 0
    between: list[Reported] = field(default_factory=list)


def side_file(target: Path) -> Path:
    """Where answers are kept until all are there."""
    return target.with_name(f"{target.name}.unfinished")


def screen_table(order: Order, tick: Tick | None = None) -> Tally:
    """Answer every row, and put the table in its place.

    Raises
    ------
    InputError
        The table cannot be used, or the side file is that of another run.
    """
    columns, total = _columns(order)
    mark = _fingerprint(order)
    side = side_file(order.target)
    tally = Tally(before=_left_before(side, mark, order.anew))
    laid = _laid(order, columns) if order.between else None
    tally.between = [] if laid is None else laid.reported
    _answer_all(order, columns, side, tally.before, total, tick, laid)
    _put_together(order, columns, side, tally)
    return tally


# ------------------------------------------------------------------------------- reading


def _is_parquet(path: Path) -> bool:
    return path.suffix.lower() == ".parquet"


def _columns(order: Order) -> tuple[list[str], int]:
    """Names of the columns, and about how many rows there are."""
    if _is_parquet(order.recipes):
        return _parquet.parquet_columns(order.recipes, order.named)
    with open_recipes(order.recipes) as file:
        columns, _ = read_recipes(file, printable(order.named, 200))
    with open(order.recipes, "rb") as raw:
        lines = sum(part.count(b"\n") for part in iter(lambda: raw.read(_HASHED_AT_ONCE), b""))
    return columns, max(lines - 1, 1)


def _rows(order: Order) -> Iterator[RecipeRow]:
    if _is_parquet(order.recipes):
        yield from _parquet.parquet_rows(order.recipes, order.named)
        return
    with open_recipes(order.recipes) as file:
        yield from read_recipes(file, printable(order.named, 200))[1]


# ----------------------------------------------------------------------------- the side file


def _fingerprint(order: Order) -> str:
    """Of everything that the answers depend on: two runs with the same one belong together."""
    base = order.base
    folders = [shipped("material_cards"), *library_for(base.folder if base else Path()).folders]
    said = {
        "version": moldwin.__version__,
        "answers": list(order.kinds),
        "options": dict(order.options) | ({"between": True} if order.between else {}),
        "base": None if base is None else dict(base.raw),
    }
    digest = hashlib.sha256(json.dumps(said, sort_keys=True, default=str).encode())
    cards = [card for folder in folders for card in sorted(folder.rglob("*.toml"))]
    for path in (*cards, order.recipes):
        digest.update(f"\0{path.name}\0".encode())
        with open(path, "rb") as file:
            for part in iter(lambda: file.read(_HASHED_AT_ONCE), b""):
                digest.update(part)
    return digest.hexdigest()


def _left_before(side: Path, mark: str, anew: bool) -> int:
    """How many answers an earlier run left; a line torn by its end is cut off."""
    head = json.dumps({"schema": "moldwin.screen.unfinished/1", "of": mark}).encode() + b"\n"
    if anew or not side.exists():
        _guarded_write(side, lambda: side.write_bytes(head))
        return 0
    with open(side, "rb+") as file:
        if file.readline() != head:
            message = (
                f"{printable(side.name, 80)} is what another run left unfinished: recipes, job, "
                "options or cards were not the same; --force starts anew"
            )
            raise InputError([Fault("--output", "", message)])
        count, end = 0, file.tell()
        for line in file:
            if not line.endswith(b"\n"):
                break
            count, end = count + 1, end + len(line)
        file.truncate(end)
    return count


def _guarded_write(path: Path, write: Callable[[], Any]) -> None:
    try:
        write()
    except OSError as error:
        message = f"cannot be written: {error.strerror or error}"
        raise InputError([Fault(printable(path, 200), "", message)]) from None


# ------------------------------------------------------------------------------ the work


def _laid(order: Order, columns: Sequence[str]) -> Laid:
    """Surfaces through some of the rows; the same ones whenever a run is started again."""
    options = order.options
    alone = Screener(columns, base=order.base, **options)

    def compute(rows: Sequence[Sequence[Any]]) -> list[Look | None]:
        if order.processes == 1 or len(rows) <= _CHUNK:
            return [alone.look(cells) for cells in rows]
        chunks = [rows[i : i + _CHUNK] for i in range(0, len(rows), _CHUNK)]
        make = (columns, order.base, dict(options))
        done = by_processes(order.processes, _start_worker, make, _looks, chunks)
        return [look for _, looks in done for look in looks]

    return lay(
        columns,
        (row.cells for row in _rows(order) if not row.trouble),
        compute,
        alone.valid,
        samples=options["samples"],
        confidence=options["confidence"],
        seed=options["seed"],
    )


def _looks(rows: Sequence[Sequence[Any]]) -> list[Look | None]:
    assert _workers_screener is not None
    return [_workers_screener.look(cells) for cells in rows]


def _answer_all(
    order: Order,
    columns: Sequence[str],
    side: Path,
    done: int,
    total: int,
    tick: Tick | None,
    laid: Laid | None,
) -> None:
    size = _CHUNK if laid is None else _CHUNK * _TOGETHER
    chunks = _chunks(islice(_rows(order), done, None), size)
    with open(side, "ab") as file:
        for count, text in _answered(order, columns, chunks, laid):
            _guarded_write(side, partial(_append, file, text))
            done += count
            if tick is not None:
                tick(min(done, total), total)


def _append(file: IO[bytes], text: str) -> None:
    file.write(text.encode())
    file.flush()


def _chunks(rows: Iterator[RecipeRow], size: int) -> Iterator[list[RecipeRow]]:
    while chunk := list(islice(rows, size)):
        yield chunk


def _answered(
    order: Order, columns: Sequence[str], chunks: Iterator[list[RecipeRow]], laid: Laid | None
) -> Iterator[tuple[int, str]]:
    """How many rows and their lines, chunk by chunk in the order of the table."""
    first, second = next(chunks, None), next(chunks, None)
    # never all of them at once: a table may be longer than memory
    left = chain((chunk for chunk in (first, second) if chunk is not None), chunks)
    if order.processes > 1 and second is not None:
        make = (columns, order.base, {**order.options, "between": laid})
        yield from by_processes(order.processes, _start_worker, make, _work, left)
        return
    screener = Screener(columns, base=order.base, **order.options, between=laid)
    for chunk in left:
        yield len(chunk), _lines(screener, chunk)


_workers_screener: Screener | None = None


def _start_worker(columns: Sequence[str], base: Job | None, options: Mapping[str, Any]) -> None:
    """Make ready once."""
    global _workers_screener
    settle_worker()
    _workers_screener = Screener(columns, base=base, **options)


def _work(chunk: list[RecipeRow]) -> str:
    assert _workers_screener is not None
    return _lines(_workers_screener, chunk)


def _lines(screener: Screener, chunk: Sequence[RecipeRow]) -> str:
    """One line a row, floats in full: what is read back is the same to the bit."""
    kinds = screener.kinds
    read = iter(screener.answers([row.cells for row in chunk if not row.trouble]))
    found = []
    for row in chunk:
        answer = screener.refused(row.trouble) if row.trouble else next(read)
        found.append(json.dumps([answer[name] for name in kinds], allow_nan=False) + "\n")
    return "".join(found)


# ---------------------------------------------------------------------------- the end of it


def _put_together(order: Order, columns: Sequence[str], side: Path, tally: Tally) -> None:
    beside = order.target.with_name(f".{order.target.name[:100]}.{os.getpid()}.part")
    try:
        with closing(_pairs(order, side, tally)) as pairs:
            _guarded_write(order.target, lambda: _write(order, columns, pairs, beside))
        _guarded_write(order.target, lambda: os.replace(beside, order.target))
    finally:
        beside.unlink(missing_ok=True)
    side.unlink(missing_ok=True)


def _pairs(
    order: Order, side: Path, tally: Tally
) -> Generator[tuple[RecipeRow, dict[str, Any]], None, None]:
    with open(side, encoding="utf-8") as lines:
        lines.readline()
        for row in _rows(order):
            answer = _answer_of(lines.readline(), side, order.kinds)
            tally.rows += 1
            tally.open += answer["barrel.open"] is True
            tally.errors += answer["error"] is not None
            tally.interpolated += answer.get(MADE) == INTERPOLATED
            yield row, answer


def _answer_of(line: str, side: Path, kinds: Mapping[str, str]) -> dict[str, Any]:
    try:
        return dict(zip(kinds, json.loads(line), strict=True))
    except ValueError:
        message = f"{printable(side.name, 80)} is damaged; --force starts anew"
        raise InputError([Fault("--output", "", message)]) from None


def _write(
    order: Order,
    columns: Sequence[str],
    pairs: Iterator[tuple[RecipeRow, dict[str, Any]]],
    beside: Path,
) -> None:
    if _is_parquet(order.target):
        source = order.recipes if _is_parquet(order.recipes) else None
        _parquet.write_parquet(beside, source, columns, pairs, order.kinds)
        return
    with open(beside, "w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([*columns, *order.kinds])
        for row, answer in pairs:
            writer.writerow([*row.cells, *(_cell(value) for value in answer.values())])
        file.flush()
        os.fsync(file.fileno())


def _cell(value: Any) -> Any:
    """As a job file spells it; nothing for what is not known."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return "" if value is None else value
