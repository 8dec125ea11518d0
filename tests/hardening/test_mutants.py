"""The search for faults that no test notices: what it changes, and what it leaves alone."""

from __future__ import annotations

import ast

import pytest

from tests.hardening.mutants import PHYSICS, count_of, mutant, speaking_of

CODE = '''
"""Words with 1 number."""
LIMIT: float = 5.0

def share(x: float, n: int = 2) -> float:
    """Never changed: 3."""
    if x < 0 and n > 1:
        raise ValueError(f"got {x + 1}")
    return np.minimum(x / n, -LIMIT)
'''


def _faults():
    return [mutant("share", CODE, place) for place in range(count_of(CODE))]


def test_each_fault_changes_the_code_in_one_place():
    whole = ast.unparse(ast.parse(CODE)).splitlines()
    for fault in _faults():
        changed = fault.text.splitlines()
        assert len(changed) == len(whole)
        assert sum(a != b for a, b in zip(whole, changed, strict=True)) == 1, str(fault)


def test_operators_numbers_and_names_are_spoiled_and_words_are_not():
    said = {fault.what for fault in _faults()}
    assert said == {
        "5.0 -> 5.5",
        "2 -> 3",
        "x < 0 and n > 1 -> x < 0 or n > 1",
        "x < 0 -> x >= 0",
        "0 -> 1",
        "n > 1 -> n <= 1",
        "1 -> 2",
        "np.minimum -> np.maximum",
        "x / n -> x * n",
        "-LIMIT -> +LIMIT",
    }


@pytest.mark.parametrize("path", sorted(PHYSICS.glob("[!_]*.py")), ids=lambda p: p.stem)
def test_every_module_has_tests_to_run_against_its_faults(path):
    assert len(speaking_of(path.stem)) >= 2, "no test file speaks of it"
    text = path.read_text(encoding="utf-8")
    if count_of(text):
        ast.parse(mutant(path.stem, text, count_of(text) - 1).text)
