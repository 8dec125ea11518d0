"""Labels on the picture of the map, each where it covers no other."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.transforms import Bbox

__all__ = ["Labels"]

#: Distance of a label from its line and from a marker in points, and free space round it in pixels.
_AWAY, _AWAY_FROM_MARK, _FREE = 2.0, 12.0, 4.0
#: Half the side of the square that a marker takes, in points.
_MARK = 9.0
_STEEP = 75.0
#: Places tried along a line, as shares of it.
_ALONG = (0.25, 0.75, 0.5, 0.12, 0.88, 0.37, 0.63, 0.06, 0.94)
_UP = (0.16, 0.84, 0.3, 0.7, 0.5)
#: Points that stand for a line where a label looks whether it would cross it.
_DENSE = 400

_Place = dict[str, Any]


class Labels:
    """Puts labels on axes whose layout is settled; what finds no place goes into a legend.

    No label ever covers another label or a marker; where there is room, none crosses a line either.

    Parameters
    ----------
    axes : matplotlib Axes
        Where they go. [-]
    halo : list
        Path effects that keep letters readable on any ground. [-]
    """

    def __init__(self, axes: Axes, halo: list[Any]) -> None:
        self._axes, self._halo = axes, halo
        self._points = axes.figure.dpi / 72.0
        self.boxes: list[Bbox] = []
        self._lines: list[tuple[Any, Any]] = []
        self._homeless: list[tuple[Any, str]] = []

    def avoid(self, line: Any) -> None:
        """A line that labels of others had better not cross; to be told before any label is put."""
        x, y = (np.asarray(values, dtype=float) for values in line.get_data())
        if line.get_transform() != self._axes.transData:  # an upright line: its y are shares
            y = self._axes.get_ylim()[0] + y * np.ptp(self._axes.get_ylim())
        steps = np.linspace(0, len(x) - 1, _DENSE)
        dense = [np.interp(steps, np.arange(len(x)), values) for values in (x, y)]
        self._lines.append((line, self._axes.transData.transform(np.column_stack(dense))))

    def avoid_between(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        """The same for a straight line between two places in data units."""
        self._lines.append((None, self._axes.transData.transform(np.linspace(start, end, _DENSE))))

    def keep_free(self, at: tuple[float, float]) -> None:
        """Room for a marker at a place in data units."""
        x, y = self._axes.transData.transform(at)
        half = _MARK * self._points
        self.boxes.append(Bbox.from_extents(x - half, y - half, x + half, y + half))

    def beside(self, at: tuple[float, float], words: str, size: float) -> None:
        """The name of a marker: beside it, over or under it."""
        self._put(None, words, list(_round_a_mark(at)), size, fontweight="bold")

    def along(self, line: Any, words: str, size: float) -> None:
        """A label on a line that runs across, turned with it."""
        self._put(line, words, list(self._along(line)), size)

    def upright(self, line: Any, at: float, words: str, size: float) -> None:
        """A label beside an upright line."""
        self._put(line, words, list(self._beside_upright(at)), size)

    def legend(self) -> None:
        """What found no place beside its line."""
        known = [(line, words) for line, words in self._homeless if line is not None]
        if known:
            lines, words = zip(*known, strict=True)
            self._axes.legend(lines, words, loc="best", fontsize="small", handlelength=5)

    # -- places to try -----------------------------------------------------------------------

    def _along(self, line: Any) -> Iterator[_Place]:
        x, y = (np.asarray(values, dtype=float) for values in line.get_data())
        known = np.flatnonzero(np.isfinite(y))
        reach = max(2, len(x) // 12)
        for share in _ALONG:
            i = known[round(share * (len(known) - 1))]
            near = known[np.abs(known - i) <= reach]
            if len(near) < 2:
                continue
            points = self._axes.transData.transform(np.column_stack([x[near], y[near]]))
            angle = np.arctan(np.polyfit(points[:, 0], points[:, 1], 1)[0])
            if abs(np.degrees(angle)) > _STEEP:
                continue
            for side, sign in (("bottom", 1.0), ("top", -1.0)):
                away = sign * _AWAY * np.array([-np.sin(angle), np.cos(angle)])
                yield _place((x[i], y[i]), away, float(np.degrees(angle)), "center", side)

    def _beside_upright(self, at: float) -> Iterator[_Place]:
        low, high = self._axes.get_ylim()
        for share in _UP:
            for side, sign in (("bottom", -1.0), ("top", 1.0)):
                spot = (at, low + share * (high - low))
                yield _place(spot, (sign * _AWAY, 0.0), 90.0, "center", side)

    # -- placing -----------------------------------------------------------------------------

    def _put(self, line: Any, words: str, tries: list[_Place], size: float, **looks: Any) -> None:
        for may_cross in (False, True):
            for where in tries:
                text = self._axes.annotate(
                    words,
                    textcoords="offset points",
                    rotation_mode="anchor",
                    fontsize=size,
                    path_effects=self._halo,
                    zorder=7,
                    **where,
                    **looks,
                )
                box = text.get_window_extent().padded(_FREE)
                if self._free(box) and (may_cross or not self._crosses(box, line)):
                    self.boxes.append(box)
                    return
                text.remove()
        self._homeless.append((line, words))

    def _free(self, box: Bbox) -> bool:
        frame = self._axes.get_window_extent()
        across = frame.x0 <= box.x0 and box.x1 <= frame.x1
        up = frame.y0 <= box.y0 and box.y1 <= frame.y1
        return across and up and not any(box.overlaps(other) for other in self.boxes)

    def _crosses(self, box: Bbox, own: Any) -> bool:
        return any(
            box.count_contains(points) > 0
            for line, points in self._lines
            if line is None or line is not own
        )


def _round_a_mark(at: tuple[float, float]) -> Iterator[_Place]:
    far = _AWAY_FROM_MARK + 2.0
    yield _place(at, (far, 0.0), 0.0, "left", "center_baseline")
    yield _place(at, (-far, 0.0), 0.0, "right", "center_baseline")
    for share, side in ((far, "bottom"), (-far, "top")):
        for across in ("center", "left", "right"):
            yield _place(at, (0.0, share), 0.0, across, side)
    for across, x in (("left", far), ("right", -far)):  # a marker on the lower edge
        yield _place(at, (x, far / 2.0), 0.0, across, "bottom")


def _place(at: tuple[float, float], away: Any, turned: float, across: str, up: str) -> _Place:
    return {
        "xy": at,
        "xytext": (float(away[0]), float(away[1])),
        "rotation": turned,
        "ha": across,
        "va": up,
    }
