"""Outside the physics too, every number that goes in or comes out of a public function has a unit.

The physics is held more strictly, in ``test_contract.py``. Here an object of our own (a job, a
blend, a window) needs no unit, for its class states those of its parts; a number does. Room
``base`` and what ``moldwin`` itself offers show an example that runs, as the physics does. Options
of commands carry their unit in their name or say it in their help.
"""

from __future__ import annotations

import ast
import importlib
import inspect
import re
import typing
from pathlib import Path
from typing import NamedTuple

import pytest

import moldwin
from tests.test_contract import PACKAGE, UNIT, described, entries, sections_of, stated, tree

#: Rooms whose functions are like those of the physics: full sections and an example that runs.
STRICT = ("base",)
ROOMS = ("base", "inputs", "stages", "window", "learn", "advice", "report")
#: Rooms where a table of ``Any`` holds numbers; elsewhere it is a TOML table or a JSON object.
TABLES_OF_NUMBERS = ("stages", "window")

NUMBER = re.compile(r"\b(float|int|Any|Triple)\b")
TABLE = re.compile(r"(dict|Mapping|MutableMapping)\[str, (Any|object)\]")
#: "Air temperature, shape (s,). [K]": a short docstring that says all in its summary.
SUMMARY_UNIT = re.compile(r"\[[^\[\]]+\]")


class Function(NamedTuple):
    """A public function or class of a module outside the physics."""

    path: Path
    name: str

    @property
    def room(self) -> str:
        return self.path.relative_to(PACKAGE).parts[0]

    @property
    def object(self):
        dotted = ".".join(self.path.relative_to(PACKAGE).with_suffix("").parts)
        return getattr(importlib.import_module(f"moldwin.{dotted}"), self.name)

    @property
    def doc(self) -> str:
        return inspect.getdoc(self.object) or ""

    def is_number(self, annotation: object) -> bool:
        text = annotation if isinstance(annotation, str) else getattr(annotation, "__name__", "")
        if self.room not in TABLES_OF_NUMBERS:
            text = TABLE.sub("", text)
        return bool(NUMBER.search(text))

    def __str__(self) -> str:
        return f"{self.path.relative_to(PACKAGE).with_suffix('').as_posix()}:{self.name}"


def _public(kind: type[ast.stmt]) -> list[Function]:
    found = []
    for room in ROOMS:
        for path in sorted((PACKAGE / room).rglob("[!_]*.py")):
            names = set(stated(path) or ())
            defined = [n.name for n in tree(path).body if isinstance(n, kind)]
            found += [Function(path, name) for name in defined if name in names]
    return found


FUNCTIONS = _public(ast.FunctionDef)


def unsaid(function: Function) -> list[str]:
    """Numbers of a function without a unit: parameters by name, and what comes back."""
    signature = inspect.signature(function.object)
    sections = sections_of(function.doc)
    said = {
        name.lstrip("*"): words for name, words in described(sections.get("Parameters", "")).items()
    }
    strict = function.room in STRICT
    found = [
        name
        for name, parameter in signature.parameters.items()
        if (strict or function.is_number(parameter.annotation))
        and not UNIT.search(said.get(name, ""))
    ]
    returned = signature.return_annotation
    if returned not in ("None", None) and (strict or function.is_number(returned)):
        heads = entries(sections.get("Returns") or sections.get("Yields") or "")
        summary = function.doc.split("\n\n")[0]
        in_sections = heads and all(UNIT.search(words) for words in heads.values())
        if not (in_sections or (not heads and SUMMARY_UNIT.search(summary))):
            found.append("what comes back")
    return found


def test_the_walk_finds_every_room():
    assert {function.room for function in FUNCTIONS} == set(ROOMS)
    assert len(FUNCTIONS) >= 300


@pytest.mark.parametrize(
    "function",
    FUNCTIONS,
    ids=str,
)
def test_every_number_has_its_unit(function):
    assert function.doc
    assert unsaid(function) == []


def test_a_number_without_a_unit_is_seen(monkeypatch):
    def bare(bench: Bench, t: float, table: dict[str, Any]) -> float:  # noqa: F821
        """How warm.

        Parameters
        ----------
        t : float
            Temperature.
        """

    class Bare(Function):
        object = property(lambda self: bare)

    assert unsaid(Bare(PACKAGE / "stages" / "x.py", "")) == ["t", "table", "what comes back"]
    assert unsaid(Bare(PACKAGE / "report" / "x.py", "")) == ["t", "what comes back"]
    assert unsaid(Bare(PACKAGE / "base" / "x.py", ""))[0] == "bench"
    bare.__doc__ = "How warm [K], warmed by so much."
    assert unsaid(Bare(PACKAGE / "report" / "x.py", "")) == ["t"]


# ------------------------------------------------------------------ classes that hold numbers

#: A name that ends in its unit, and how a docstring says those of the rest, in one word for all.
NAMED = re.compile(r"_(c|pct|g|mm|cm2|cm3|s|h|kn|mpa)$|^(days|hours|minutes|weeks)")
SPOKEN = re.compile(
    r"\[[^\[\]]+\]|\b(SI|kelvin|kg|K|s|meters|percent|[Ss]hares?|chances?|unit)\b|°C|``unit``"
)
CLASSES = _public(ast.ClassDef)


def _made_of(kind: type) -> dict[str, inspect.Parameter]:
    if issubclass(kind, Exception) and "__init__" not in vars(kind):
        return {}  # words alone
    return dict(inspect.signature(kind).parameters)


def without_unit(function: Function) -> list[str]:
    """Numbers that a class is made of and that neither name nor docstring gives a unit."""
    said = described(sections_of(function.doc).get("Parameters", ""))
    numbers = [
        name
        for name, parameter in _made_of(function.object).items()
        if function.is_number(parameter.annotation)
        and not NAMED.search(name)
        and not UNIT.search(said.get(name, ""))
    ]
    return [] if SPOKEN.search(function.doc) else numbers


@pytest.mark.parametrize("function", CLASSES, ids=str)
def test_a_class_says_in_what_its_numbers_are(function):
    assert function.doc
    assert without_unit(function) == []


def test_a_class_that_does_not_is_seen(monkeypatch):
    class Bare:
        """How warm and how long."""

        def __init__(self, t: float, hours: float, name: str) -> None: ...

    class Of(Function):
        object = property(lambda self: Bare)

    assert without_unit(Of(PACKAGE / "stages" / "x.py", "")) == ["t"]
    monkeypatch.setattr(Bare, "__doc__", "How warm and how long; kelvin.")
    assert without_unit(Of(PACKAGE / "stages" / "x.py", "")) == []


# ------------------------------------------------------------------ shown at work

SHOWN = [f for f in FUNCTIONS if f.room in STRICT]
OFFERED = [
    f for f in FUNCTIONS if f.name in moldwin.__all__ and f.object is getattr(moldwin, f.name)
]


@pytest.mark.parametrize("function", SHOWN + OFFERED, ids=str)
def test_an_example_shows_it_at_work(function):
    assert re.search(rf">>> .*\b{function.name}\(", function.doc)


def test_what_the_package_offers_is_documented_in_full():
    assert {f.name for f in OFFERED} == {n for n in moldwin.__all__ if n.islower()}
    for function in OFFERED:
        asked = list(inspect.signature(function.object).parameters)
        said = described(sections_of(function.doc)["Parameters"])
        assert sorted(said) == sorted(asked)
        assert [name for name, words in said.items() if not UNIT.search(words)] == []


# ------------------------------------------------------------------ options of commands

#: Ends of an option's name that are units.
IN_NAME = re.compile(r"-(c|pct|g|mm|cm2|h|s|kn|mpa)$|g-per-100g")
IN_HELP = re.compile(r"°C|\bMIN\b|[Ss]hare of|%")


def _numbers_of_commands() -> list[tuple[str, str, str]]:
    """Command, option and help of every option that takes a number with decimals."""
    found = []
    for path in sorted((PACKAGE / "cli").glob("[!_]*.py")):
        module = importlib.import_module(f"moldwin.cli.{path.stem}")
        for name in stated(path) or ():
            if not inspect.isfunction(getattr(module, name)):
                continue
            for key, hint in typing.get_type_hints(
                getattr(module, name), include_extras=True
            ).items():
                kind, *about = typing.get_args(hint) or (hint,)
                if about and (kind is float or float in typing.get_args(kind)):
                    typed = [about[0].default, *(about[0].param_decls or ())]
                    options = [d for d in typed if isinstance(d, str) and d.startswith("--")]
                    option = options[0] if options else f"--{key.replace('_', '-')}"
                    words = f"{about[0].metavar or ''} {about[0].help}"
                    found.append((path.stem, option, words))
    return found


NUMBERS = _numbers_of_commands()


def test_the_walk_finds_options():
    assert len(NUMBERS) >= 20


@pytest.mark.parametrize(("command", "option", "words"), NUMBERS, ids=str)
def test_a_number_typed_behind_an_option_has_its_unit(command, option, words):
    assert IN_NAME.search(option) or IN_HELP.search(words), words
