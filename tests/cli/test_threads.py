"""Linear algebra runs on one thread in the command line, unless the environment says otherwise."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from moldwin.cli._threads import one_thread

NAME = "OPENBLAS_NUM_THREADS"


@pytest.mark.parametrize(
    ("given", "insist", "then"), [(None, False, "1"), ("4", False, "4"), ("4", True, "1")]
)
def test_one_thread_unless_told(monkeypatch, given, insist, then):
    monkeypatch.setattr(os, "environ", {} if given is None else {NAME: given})
    one_thread(insist=insist)
    assert os.environ[NAME] == then


def test_a_command_says_so_before_numpy_is_loaded():
    code = (
        "import os, sys, moldwin.__main__ as m; sys.argv = ['moldwin', '--version']\n"
        "try: m.main()\n"
        f"except SystemExit: print(os.environ['{NAME}'], 'numpy' in sys.modules)"
    )
    bare = {name: value for name, value in os.environ.items() if "THREADS" not in name}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=bare)
    assert done.stdout.splitlines()[-1] == "1 False", done.stderr
