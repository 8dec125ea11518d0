"""Where commands write what they draw; the writing itself is done where jobs are written too."""

from __future__ import annotations

from moldwin.inputs.whole_file import checked_target, write_whole

__all__ = ["checked_target", "write_whole"]
