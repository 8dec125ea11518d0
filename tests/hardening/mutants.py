"""Would the tests notice? Small faults are put into the physics, one at a time, and the tests run.

``python -m tests.hardening.mutants 100 --seed 1`` tells the share of faults that some test of the
module, its examples or the published tables caught, and lists those that nobody did.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import itertools
import os
import random
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

__all__ = ["Mutant", "count_of", "main", "mutant", "speaking_of"]

ROOT = Path(__file__).resolve().parent.parent.parent
PHYSICS = ROOT / "moldwin" / "physics"
#: What a project needs to be tested.
_PARTS = ("moldwin", "tests", "material_cards", "examples", "pyproject.toml", "README.md")
#: Computing longer than this, a mutant hangs: that is noticed. [s]
_MOST_SECONDS = 240

_OPERATORS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult,
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd, ast.And: ast.Or,
    ast.Or: ast.And, ast.USub: ast.UAdd,
}  # fmt: skip
_NAMES = {"minimum": "maximum", "maximum": "minimum", "fmin": "fmax", "fmax": "fmin",
          "any": "all", "all": "any", "exp": "expm1", "log": "log1p", "sqrt": "square"}  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    """A module's text with one fault in it."""

    module: str
    line: int
    what: str
    text: str

    def __str__(self) -> str:
        return f"{self.module}.py:{self.line}: {self.what}"


def count_of(text: str) -> int:
    """How many small faults a module's code can have."""
    return sum(1 for _ in _spots(ast.parse(text)))


def mutant(module: str, text: str, place: int) -> Mutant:
    """The module with one of its faults; words, types and examples stay."""
    tree = ast.parse(text)
    node, change = next(itertools.islice(_spots(tree), place, None))
    before = ast.unparse(node)[:60]
    return Mutant(module, getattr(node, "lineno", 0), f"{before} -> {change()}", ast.unparse(tree))


def _spots(tree: ast.AST) -> Iterator[tuple[ast.AST, Callable[[], str]]]:
    """Nodes with what would spoil each, in the order of the code."""
    for node in _code(tree):
        if type(_operator(node)) in _OPERATORS:
            yield node, lambda n=node: _swap(n)
        elif isinstance(node, ast.Constant) and type(node.value) in (int, float, bool):
            yield node, lambda n=node: _number(n)
        elif isinstance(node, ast.Attribute) and node.attr in _NAMES:
            yield node, lambda n=node: _rename(n)


def _code(node: ast.AST) -> Iterator[ast.AST]:
    """What computes: no types, no messages of errors, no calls of a warning's range."""
    if isinstance(node, ast.Raise | ast.arg | ast.JoinedStr):
        return
    yield node
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST):
                yield from _code(child)


def _operator(node: ast.AST) -> ast.AST | None:
    if isinstance(node, ast.Compare):
        return node.ops[0]
    return getattr(node, "op", None)


def _swap(node: ast.BinOp | ast.UnaryOp | ast.BoolOp | ast.Compare) -> str:
    if isinstance(node, ast.Compare):
        node.ops[0] = _OPERATORS[type(node.ops[0])]()  # type: ignore[assignment]
    else:
        node.op = _OPERATORS[type(node.op)]()  # type: ignore[assignment]
    return ast.unparse(node)[:60]


def _number(node: ast.Constant) -> str:
    value = node.value
    if isinstance(value, bool):
        node.value = not value
    elif isinstance(value, int):
        node.value = value + 1
    else:
        node.value = 1.1 * value if value else 0.1
    return repr(node.value)


def _rename(node: ast.Attribute) -> str:
    node.attr = _NAMES[node.attr]
    return ast.unparse(node)[:60]


def speaking_of(module: str) -> list[str]:
    """Test files that speak of a module, and the module's own examples."""
    found = []
    for folder in ("tests/physics", "tests/published", "tests/hardening"):
        for path in sorted((ROOT / folder).glob("test_*.py")):
            text = path.read_text(encoding="utf-8")
            own = path.stem.startswith(f"test_{module.lstrip('_')}")
            named = f"physics.{module} " in text or f"    {module},\n" in text
            named = named or any(
                line.startswith("from moldwin.physics import") and module in line.split()
                for line in text.replace(",", " ").splitlines()
            )
            if own or named:
                found.append(path.relative_to(ROOT).as_posix())
    # what most likely notices first, what takes longest last
    found.sort(key=lambda path: (f"/test_{module}" not in path, "/hardening/" in path))
    return [f"moldwin/physics/{module}.py", *found]


def _noticed(mutant: Mutant, folder: Path, tests: list[str]) -> bool:
    """Run the tests in a child of this process, in which the libraries are loaded already."""
    place = folder / "moldwin" / "physics" / f"{mutant.module}.py"
    before = place.read_bytes()
    place.write_text(mutant.text, encoding="utf-8")
    try:
        child = os.fork()
        if child == 0:
            _run_tests(folder, tests)
        _, status = os.waitpid(child, 0)
        return os.waitstatus_to_exitcode(status) != 0
    finally:
        place.write_bytes(before)


def _check_sound(module: str, folder: Path) -> None:
    """Without a fault the tests pass, or what they notice would mean nothing."""
    text = (folder / "moldwin" / "physics" / f"{module}.py").read_text(encoding="utf-8")
    whole = Mutant(module, 0, "no fault", ast.unparse(ast.parse(text)))
    if _noticed(whole, folder, speaking_of(module)):
        raise SystemExit(f"the tests of {module}.py fail without any fault in it")


def _run_tests(folder: Path, tests: list[str]) -> None:
    import pytest

    code = 1
    try:
        os.chdir(folder)
        resource.setrlimit(resource.RLIMIT_CPU, (_MOST_SECONDS, _MOST_SECONDS))
        sys.path[:] = [str(folder), *(p for p in sys.path if p not in ("", str(ROOT)))]
        sys.dont_write_bytecode = True
        with open(os.devnull, "w") as nowhere:
            os.dup2(nowhere.fileno(), 1)
            os.dup2(nowhere.fileno(), 2)
            options = ["-x", "-q", "-n", "0", "-p", "no:cacheprovider", "--no-header"]
            code = int(pytest.main([*options, *tests]))
    finally:
        os._exit(code)


def _copy(folder: Path) -> None:
    for part in _PARTS:
        source = ROOT / part
        if source.is_dir():
            ignore = shutil.ignore_patterns("__pycache__")
            shutil.copytree(source, folder / part, ignore=ignore)
        else:
            shutil.copy(source, folder / part)


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.hardening.mutants", description=__doc__)
    parser.add_argument("count", nargs="?", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--module", nargs="*", help="of moldwin/physics; left out: all")
    parser.add_argument("--seconds", type=float, default=float("inf"), help="stop after so many")
    asked = parser.parse_args(arguments)
    names = asked.module or sorted(path.stem for path in PHYSICS.glob("[!_]*.py"))
    texts = {name: (PHYSICS / f"{name}.py").read_text(encoding="utf-8") for name in names}
    every = [(name, place) for name in names for place in range(count_of(texts[name]))]
    picked = random.Random(asked.seed).sample(every, min(asked.count, len(every)))
    import numpy  # noqa: F401
    import pytest  # noqa: F401
    import scipy.special  # noqa: F401

    alive: list[Mutant] = []
    sound: set[str] = set()
    tried, end = 0, time.monotonic() + asked.seconds
    with tempfile.TemporaryDirectory() as name, contextlib.suppress(KeyboardInterrupt):
        folder = Path(name)
        _copy(folder)
        for module, place in picked:
            if time.monotonic() > end:
                break
            if module not in sound:
                _check_sound(module, folder)
                sound.add(module)
            tried += 1
            fault = mutant(module, texts[module], place)
            if not _noticed(fault, folder, speaking_of(module)):
                alive.append(fault)
                print(f"not noticed: {fault}", flush=True)
    print(f"{tried - len(alive)} of {tried} faults noticed, of {len(every)} that could be made")
    return 0


if __name__ == "__main__":
    sys.exit(main())
