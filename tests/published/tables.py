"""The published tables, by the names the tests use: the tool itself reads them."""

from __future__ import annotations

from moldwin.advice.evidence.tables import number
from moldwin.advice.evidence.tables import published as rows

__all__ = ["number", "rows"]
