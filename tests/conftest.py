"""What every test may ask for."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

# Under importlib mode nothing puts the clone on the path, so that
# `from tests.published.tables import rows` needs this line.
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))


@pytest.fixture
def published() -> Callable[[str], list[dict[str, str]]]:
    """Reader of one table in material_cards/published: ``published("if97.csv")``."""
    from tests.published.tables import rows

    return rows
