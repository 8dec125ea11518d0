"""Every public function of the physics says its units, limits and sources, and shows itself."""

from __future__ import annotations

import ast
import importlib
import inspect
import re
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "moldwin"
PHYSICS = PACKAGE / "physics"

SECTION = re.compile(r"^(\w[\w ]*)\n-{3,}$", re.MULTILINE)
UNIT = re.compile(r"\[[^\[\]]+\]\.?$")

#: Names that other programs rely on, with the arguments they may give by position.
FIXED = {
    "vapor.water_saturation_pressure": ["t"],
    "vapor.glycerol_vapor_pressure": ["t"],
    "glass.gordon_taylor": ["w", "tg", "k"],
    "sorption.gab": ["aw", "xm", "c", "k"],
    "sorption.gab_water_activity": ["x", "xm", "c", "k"],
    "humidity.salt_water_activity": ["salt", "t"],
    "humidity.glycerol_water_activity": ["w_glycerol", "t"],
    "diffusion.unaccomplished": ["shape", "fourier", "biot"],
    "mesh.measure": ["path", "unit"],
    "heat.cooling_time": ["shape", "size", "diffusivity", "t_melt", "t_mold", "t_eject", "where"],
}


class Public(NamedTuple):
    """One public function or class of a physics module."""

    module: str
    name: str

    @property
    def object(self):
        return getattr(importlib.import_module(f"moldwin.physics.{self.module}"), self.name)

    @property
    def sections(self) -> dict[str, str]:
        return sections_of(inspect.getdoc(self.object) or "")

    def __str__(self) -> str:
        return f"{self.module}.{self.name}"


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def defined(path: Path) -> dict[str, ast.stmt]:
    """Names that a module itself defines at its top level."""
    found: dict[str, ast.stmt] = {}
    for node in tree(path).body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            found[node.name] = node
        elif isinstance(node, ast.Assign):
            targets = [t for t in node.targets if isinstance(t, ast.Name)]
            found.update((target.id, node) for target in targets)
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            found[node.target.id] = node
    return found


def stated(path: Path) -> list[str] | None:
    """The module's ``__all__``, None where it has none."""
    node = defined(path).get("__all__")
    return None if node is None else ast.literal_eval(node.value)  # type: ignore[attr-defined]


def in_order(names: list[str]) -> list[str]:
    """Constants, then classes, then the rest, each by the alphabet: as the linter sorts them."""
    return sorted(names, key=lambda name: (not name.isupper(), not name[0].isupper(), name))


PUBLIC_MODULES = [p for p in sorted(PHYSICS.glob("*.py")) if not p.name.startswith("_")]
PUBLIC = [
    Public(path.stem, name)
    for path in PUBLIC_MODULES
    for name, node in defined(path).items()
    if not name.startswith("_") and isinstance(node, ast.FunctionDef | ast.ClassDef)
]
FUNCTIONS = [p for p in PUBLIC if inspect.isfunction(p.object)]
WITH_CODE = [p for p in sorted(PACKAGE.rglob("*.py")) if not p.name.startswith("__")]


def sections_of(docstring: str) -> dict[str, str]:
    """The numpydoc sections of a docstring by their titles."""
    parts = SECTION.split(docstring)
    return {title: text.strip("\n") for title, text in zip(parts[1::2], parts[2::2], strict=True)}


def entries(section: str) -> dict[str, str]:
    """Entries of a Parameters or Returns section: head and indented description."""
    found: dict[str, str] = {}
    head = ""
    for line in section.splitlines():
        if line and not line.startswith(" "):
            head = line
            found[head] = ""
        elif head:
            found[head] = f"{found[head]} {line.strip()}".strip()
    return found


def described(section: str) -> dict[str, str]:
    """Description by parameter; one entry may describe several: ``low, high : float``."""
    return {
        name.strip(): text
        for head, text in entries(section).items()
        for name in head.partition(" : ")[0].split(",")
    }


def test_the_walk_finds_the_physics():
    assert len(PUBLIC_MODULES) >= 10
    assert len(FUNCTIONS) >= 40


@pytest.mark.parametrize("name", FIXED)
def test_names_that_others_rely_on_keep_their_arguments(name):
    function = Public(*name.split(".")).object
    asked = list(inspect.signature(function).parameters)[: len(FIXED[name])]
    assert asked == FIXED[name]


@pytest.mark.parametrize("path", WITH_CODE, ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_every_module_states_a_sorted_all(path):
    names = stated(path)
    assert names is not None
    assert names == in_order(names)


@pytest.mark.parametrize("path", PUBLIC_MODULES, ids=lambda p: p.stem)
def test_all_is_what_is_public(path):
    public = [name for name in defined(path) if not name.startswith("_")]
    assert sorted(stated(path) or []) == sorted(public)


@pytest.mark.parametrize("public", PUBLIC, ids=str)
def test_every_parameter_has_its_unit(public):
    parameters = [name for name in inspect.signature(public.object).parameters if name != "self"]
    text = described(public.sections.get("Parameters", ""))
    assert sorted(text) == sorted(parameters)
    assert [name for name, words in text.items() if not UNIT.search(words)] == []


@pytest.mark.parametrize("public", FUNCTIONS, ids=str)
def test_what_comes_back_has_its_unit(public):
    returned = entries(public.sections.get("Returns", ""))
    assert returned
    assert [head for head, words in returned.items() if not UNIT.search(words)] == []


@pytest.mark.parametrize("public", FUNCTIONS, ids=str)
def test_a_function_that_refuses_input_says_so(public):
    says = "ValueError" in public.sections.get("Raises", "")
    assert says == can_refuse(public.module, public.name)


@pytest.mark.parametrize("public", FUNCTIONS, ids=str)
def test_what_warns_of_extrapolation_does_so_unless_told_not_to(public):
    """A direct call warns; stages, which count the share outside themselves, say check=False."""
    check = inspect.signature(public.object).parameters.get("check")
    assert check is None or check.default is True


@pytest.mark.parametrize("public", FUNCTIONS, ids=str)
def test_validity_or_source_is_stated(public):
    words = public.sections.get("Notes", "") + public.sections.get("References", "")
    assert len(words.split()) >= 5


@pytest.mark.parametrize("public", PUBLIC, ids=str)
def test_an_example_shows_it_at_work(public):
    example = public.sections.get("Examples", "")
    assert ">>> " in example
    if inspect.isfunction(public.object):  # a class may come from a function of its module
        assert re.search(rf"\b{public.name}\(", example)


# -- who can raise ValueError: followed through the calls inside moldwin.physics ------------------


@cache
def meanings(module: str) -> dict[str, tuple[str, str]]:
    """What a name used in a module stands for, as module and name; '' for a whole module."""
    found = {name: (module, name) for name in defined(PHYSICS / f"{module}.py")}
    for node in ast.walk(tree(PHYSICS / f"{module}.py")):
        if not isinstance(node, ast.ImportFrom) or not node.module:
            continue
        origin = node.module.removeprefix("moldwin.physics").removeprefix(".")
        for alias in node.names:
            if node.module == "moldwin.physics":
                found[alias.asname or alias.name] = (alias.name, "")
            elif node.module.startswith("moldwin.physics."):
                found[alias.asname or alias.name] = (origin, alias.name)
    return found


def called(module: str, node: ast.AST) -> set[tuple[str, str]]:
    """Functions of the physics that a piece of code calls."""
    known = meanings(module)
    found = set()
    for call in (n for n in ast.walk(node) if isinstance(n, ast.Call)):
        if isinstance(call.func, ast.Name) and call.func.id in known:
            found.add(known[call.func.id])
        elif isinstance(call.func, ast.Attribute) and isinstance(call.func.value, ast.Name):
            origin, name = known.get(call.func.value.id, ("", "x"))
            if origin and not name:
                found.add((origin, call.func.attr))
    return found


@cache
def refuses_itself(module: str, name: str) -> bool:
    node = defined(PHYSICS / f"{module}.py").get(name)
    raises = (n.exc for n in ast.walk(node) if isinstance(n, ast.Raise)) if node else ()
    return any(exc is not None and "ValueError" in ast.unparse(exc) for exc in raises)


@cache
def can_refuse(module: str, name: str) -> bool:
    """True where the function, or one it calls, raises ValueError."""
    seen: set[tuple[str, str]] = set()
    open_ends = [(module, name)]
    while open_ends:
        here = open_ends.pop()
        if here in seen or not (PHYSICS / f"{here[0]}.py").exists():
            continue
        seen.add(here)
        if refuses_itself(*here):
            return True
        node = defined(PHYSICS / f"{here[0]}.py").get(here[1])
        if isinstance(node, ast.FunctionDef):
            open_ends.extend(called(here[0], node))
    return False


def test_the_search_for_refusals_tells_them_apart():
    assert refuses_itself("_checks", "inside")
    assert can_refuse("glass", "fox")  # through _mixture and fraction
    assert not can_refuse("_series", "_curvature")
