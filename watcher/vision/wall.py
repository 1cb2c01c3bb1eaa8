"""The wall around one line: straightened with clay of one thickness on all of it, from above the rim down.

Straightened row by row with the clay that stands there, a picture has steps where the clay begins; a line
close under the rim cannot be placed on those. With one thickness there is none: the rim and all that is on
the wall appear shifted together, and only the line's own row is where it says.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.vision.placing import WallRows
from watcher.vision.strip import ABOVE_MM, StripPlan, pixels_under, straighten, to_sectors

AROUND_SHARE = 0.92
"""The wall to the sides of the far point shows less of its depth than the far point itself."""
UP_MM, DOWN_MM = 3.0, 4.0
MARGIN_PX = 6.0
LINE_CLEAR_MM = 0.75


@dataclass(frozen=True, slots=True)
class Wall:
    """One hole of one picture, from which rows can be taken; `shift_px` is the shake of the whole picture."""

    image: Image
    plan: StripPlan
    shift_px: npt.NDArray[np.float64]

    def rows(self, film_mm: float, near_mm: float) -> WallRows:
        """Take the rows around a line, as if clay `film_mm` thick (horizontally) stood on the whole wall."""
        plan = self.plan
        step = float(plan.depths_mm[1] - plan.depths_mm[0])
        margin = MARGIN_PX / plan.px_per_mm
        first = max(math.floor((near_mm - UP_MM - margin) / step), -round(ABOVE_MM / step))
        rim = -film_mm / (max(math.tan(plan.steep), 0.1) * AROUND_SHARE)
        end = min(math.ceil((near_mm + DOWN_MM + margin) / step), plan.depths_mm.size)
        first = min(first, end - 2)
        sampled = straighten(self.image, pixels_under(plan, film_mm, first, end, self.shift_px))
        luma = to_sectors(sampled)[..., 0]
        psi = plan.psi.reshape(luma.shape[1], -1).mean(axis=1)
        rims = -film_mm / (max(math.tan(plan.steep), 0.1) * np.cos(psi))
        return WallRows(
            step * np.arange(first, end, dtype=np.float64),
            luma,
            rim,
            plan.px_per_mm,
            rims,
            self._shown(first, end),
        )

    def _shown(self, first: int, end: int) -> npt.NDArray[np.bool_]:
        """Rows that the near rim does not hide, (end - first, S)."""
        rows = self.plan.whole[max(first, 0) : end]
        begun = np.logical_or.accumulate(rows, axis=0)
        hidden = begun & ~rows
        above = np.zeros((max(-first, 0), rows.shape[1]), dtype=bool)
        return ~np.concatenate((above, hidden))[: end - first]

    def sectors(self, near_mm: float) -> npt.NDArray[np.bool_]:
        """Sectors (S,) in which a line at this depth can be seen, and a little of what lies below it."""
        plan = self.plan
        step = float(plan.depths_mm[1] - plan.depths_mm[0])
        for below in (LINE_CLEAR_MM, 0.0):
            row = min(max(round((near_mm + below) / step), 0), plan.depths_mm.size - 1)
            if plan.whole[row].any():
                break
        return np.asarray(plan.whole[row])
