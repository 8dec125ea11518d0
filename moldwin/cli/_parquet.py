"""Parquet in and out, a few thousand rows at a time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice
from pathlib import Path
from typing import Any

from moldwin.inputs.errors import Fault, InputError
from moldwin.inputs.recipe_table import RecipeRow, cell_text, check_columns
from moldwin.inputs.text_files import printable

__all__ = ["parquet_columns", "parquet_rows", "write_parquet"]

#: Rows held at once.
_BATCH = 4096


def parquet_columns(path: Path, named: str) -> tuple[list[str], int]:
    """Names of the columns, checked, and how many rows there are.

    Raises
    ------
    InputError
        Not Parquet, no pyarrow, or columns that are no job keys.
    """
    file = _opened(path, named)
    names = list(file.schema_arrow.names)
    check_columns(names, printable(named, 200))
    return names, int(file.metadata.num_rows)


def parquet_rows(path: Path, named: str) -> Iterator[RecipeRow]:
    """The rows one after another, each cell as text."""
    for batch in _opened(path, named).iter_batches(batch_size=_BATCH):
        for cells in zip(*(column.to_pylist() for column in batch.columns), strict=True):
            yield RecipeRow(tuple(cell_text(cell) for cell in cells))


def write_parquet(
    target: Path,
    source: Path | None,
    columns: Sequence[str],
    rows: Iterable[tuple[RecipeRow, Mapping[str, Any]]],
    kinds: Mapping[str, str],
) -> None:
    """Rows and their answers; columns of a Parquet ``source`` stay of the type they were.

    Parameters
    ----------
    target : pathlib.Path
        Where to. [-]
    source : pathlib.Path or None
        The table of recipes, where that was Parquet itself. [-]
    columns : sequence of str
        Of the recipes. [-]
    rows : iterable
        Each row with its answer. [-]
    kinds : mapping of str to str
        The answer's columns, and what they hold. [-]
    """
    arrow, parquet = _library()
    types = {"float64": arrow.float64(), "boolean": arrow.bool_(), "string": arrow.string()}
    given = [arrow.field(name, arrow.string()) for name in columns]
    if source is not None:
        given = list(parquet.ParquetFile(source).schema_arrow)
    told = [arrow.field(name, types[kind]) for name, kind in kinds.items()]
    schema = arrow.schema([*(field.remove_metadata() for field in given), *told])
    left = iter(rows)
    batches = None if source is None else parquet.ParquetFile(source).iter_batches(_BATCH)
    with parquet.ParquetWriter(target, schema) as writer:
        while some := list(islice(left, _BATCH)):
            echo = _texts(arrow, columns, some) if batches is None else next(batches).columns
            answers = [
                arrow.array([answer[name] for _, answer in some], type=types[kind])
                for name, kind in kinds.items()
            ]
            writer.write_batch(arrow.RecordBatch.from_arrays([*echo, *answers], schema=schema))


def _texts(arrow: Any, columns: Sequence[str], some: Sequence[tuple[RecipeRow, Any]]) -> list[Any]:
    return [
        arrow.array([row.cells[i] for row, _ in some], type=arrow.string())
        for i in range(len(columns))
    ]


def _opened(path: Path, named: str) -> Any:
    arrow, parquet = _library()
    try:
        return parquet.ParquetFile(path)
    except FileNotFoundError:
        raise InputError([Fault(printable(named, 200), "", "there is no such file")]) from None
    except (arrow.ArrowException, OSError) as error:
        message = f"is no Parquet file that can be read: {printable(error, 200)}"
        raise InputError([Fault(printable(named, 200), "", message)]) from None


def _library() -> tuple[Any, Any]:
    try:
        import pyarrow
        import pyarrow.parquet
    except ImportError:
        message = "Parquet needs the package pyarrow: pip install 'moldwin[parquet]'; or use CSV"
        raise InputError([Fault("screen", "", message)]) from None
    return pyarrow, pyarrow.parquet
