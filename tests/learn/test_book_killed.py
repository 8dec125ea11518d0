"""Writers killed with signal 9: all 200 rounds run every time, they take some seconds."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that forks and kills")
def test_no_acknowledged_trial_is_lost_and_none_is_half_there(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "tests.learn.killing", str(tmp_path), "200", "20260301"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["rounds"] == 200
    assert told["acknowledged"] > 200
    assert told["cut_off"] > 10  # else the kills never met a write
