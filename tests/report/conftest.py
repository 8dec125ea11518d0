"""A plain terminal of 80 columns, whatever the tests are started from."""

from __future__ import annotations

import pytest


@pytest.fixture(autouse=True)
def plain_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither colors forced from outside nor a narrow window may change what is tested."""
    monkeypatch.setenv("TERM", "dumb")
    monkeypatch.setenv("COLUMNS", "80")
    for name in ("FORCE_COLOR", "TTY_COMPATIBLE", "NO_COLOR", "MOLDWIN_CARDS"):
        monkeypatch.delenv(name, raising=False)
