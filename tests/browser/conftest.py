"""A real Chromium for the sheet's tests: Debian's own, driven by Debian's own driver.

Nothing is looked for on the network. Where the browser cannot be had these tests are skipped, and
the summary says so in a line of its own.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from moldwin.advice.advise import advise
from moldwin.advice.answer import Advice
from moldwin.advice.sheet_grid import SheetGrid, sheet_grid
from moldwin.inputs.files import shipped
from moldwin.inputs.job import Job
from moldwin.inputs.read_job import read_job
from moldwin.report.sheet import Origin, run_sheet

#: Enough samples for every branch of the page; the numbers are compared with the same many.
COUNT = 256
CROWDED = Path(__file__).parent / "crowded.toml"
_FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--window-size=1280,900",
)
_LACKING: list[str] = []


def _missing() -> str:
    """What is not there; empty where everything is."""
    if shutil.which("chromium") is None or shutil.which("chromedriver") is None:
        return "no chromium with chromedriver: apt-get install chromium chromium-driver"
    try:
        import axe_core_python  # noqa: F401
        import pypdf  # noqa: F401
        import selenium  # noqa: F401
    except ImportError as error:
        return f"{error.name} is not installed: pip install -e '.[test]'"
    return ""


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """A headless browser with an empty profile; skips where there is none."""
    lacking = _missing()
    if lacking:
        _LACKING.append(lacking)
        pytest.skip(f"BROWSER TESTS NOT RUN, {lacking}")
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = str(shutil.which("chromium"))
    for flag in (*_FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(
        options=options, service=Service(executable_path=str(shutil.which("chromedriver")))
    )
    yield driver
    driver.quit()


@pytest.fixture(scope="session")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Path]:
    """Makes the sheet of an example by its name, once for every look it may have."""
    folder = tmp_path_factory.mktemp("sheets")

    def made(name: str, look: str = "") -> Path:
        path = folder / f"{name}{look}.html"
        if not path.exists():
            path.write_text(run_sheet(*_answered(name)), encoding="utf-8")
        return path

    return made


@cache
def _answered(name: str) -> tuple[Advice, SheetGrid, Job, Origin]:
    """All that the sheet of an example is made of."""
    job = job_file(name)
    read = read_job(job)
    advice = advise(read, count=COUNT)
    origin = Origin(job.name, job.read_text(encoding="utf-8"))
    return advice, sheet_grid(read, advice, count=COUNT), read, origin


def job_file(name: str) -> Path:
    """The job behind a sheet."""
    return CROWDED if name == "crowded" else shipped("examples") / f"{name}.toml"


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Skipped aloud: a green run must not look as if a browser had seen the page."""
    for lacking in _LACKING:
        terminalreporter.write_line(f"BROWSER TESTS NOT RUN: {lacking}", yellow=True, bold=True)
