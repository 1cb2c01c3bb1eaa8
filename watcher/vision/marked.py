"""The line placed below a mark that is known: each sector has the mark where perspective puts it.

Bare plaster above the mark lies farther out than the clay below it. Straightened as if clay stood everywhere,
its end is an arc, the higher the further from the far wall: a row for all of it misses the side sectors,
which are often the only ones in which the slip's line has any contrast. Sectors are weighed by how well each
follows the fit, so that a seam, a drip or a sector in which slip and clay look alike does not decide.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from watcher.vision.bands import fit_bands_apart
from watcher.vision.placing import (
    ABOVE_PX,
    BAND_PX,
    BELOW_PX,
    CORRELATED_ROWS_PX,
    LEAST_BAND_MM,
    REACH_MM,
    STEP_MM,
    Placed,
    WallRows,
    valley,
)

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

CLEAR_OF_MARK_PX, FAR_OF_MARK_PX = 1.5, 9.0
"""A line closer below the mark is one edge with it and is not told from it here; one much further below has
nothing of the mark near it."""
LEAST_BAND_PX = 1.0
FAR_ABOVE_MM = -1e3
FINE_MARKS_MM = np.arange(-1.0, 0.26, 0.25)
COARSE_MARKS_MM = np.array([-2.5, -2.0, -1.5])
"""Where the mark is tried about the first line of a filling: the slip may have sunk before."""
AROUND_MARK_MM = np.array([-0.25, 0.0, 0.25])
LATEST_MARK_SHARE = 0.3
DARKER_COST = 6.0
"""Slip darker than the clay above it in most sectors is that much less likely (minus twice the log)."""
LEAST_NOISE = 0.15
"""No fit is better than the rounding of grey levels over a sector. [grey levels]"""
MOST_FOLLOWED = 3
FINE_MM = 0.2


@dataclass(frozen=True, slots=True)
class Mark:
    """What is known of a filling's mark on the bare wall, in mm: its first line, the mark as seen so far."""

    first_mm: float
    seen_mm: float | None

    def tried_mm(self) -> Array:
        """Return depths (E,) at which it is tried."""
        if self.seen_mm is not None:
            return np.asarray(self.seen_mm + AROUND_MARK_MM)
        return np.asarray(self.first_mm + np.concatenate((COARSE_MARKS_MM, FINE_MARKS_MM)))

    def met(self, placed: Placed) -> float | None:
        """Return where it is seen after one more line was placed below it."""
        if placed.mark_mm is None:
            return self.seen_mm
        low, high = self.first_mm + float(COARSE_MARKS_MM[0]), self.first_mm + float(FINE_MARKS_MM[-1])
        at = min(max(placed.mark_mm, low), high)
        if self.seen_mm is None:
            return at
        return (1.0 - LATEST_MARK_SHARE) * self.seen_mm + LATEST_MARK_SHARE * at


def place_below(rows: WallRows, sectors: Bools, near_mm: float, mark: Mark | None) -> Placed | None:
    """Place the line near a depth below a mark.

    Parameters
    ----------
    sectors : ndarray of bool (S,)
        Those in which the line can be seen.
    near_mm : float
        Where the line is believed to be. [mm]
    mark : Mark or None
        The mark lies at the filling's first line or above it, the line below. None: nothing of it is near.

    Returns
    -------
    Placed or None
        None where too little of the wall is in view.
    """
    for _ in range(MOST_FOLLOWED):
        placed, end_mm = _place_once(rows, sectors, near_mm, mark)
        if end_mm is None:
            break
        near_mm = end_mm
    return placed


def _place_once(
    rows: WallRows, sectors: Bools, near_mm: float, mark: Mark | None
) -> tuple[Placed | None, float | None]:
    """Place once; also return the end of what was tried where the best place lies there."""
    if not sectors.any():
        return None, None
    tried = np.arange(near_mm - REACH_MM, near_mm + REACH_MM + 1e-9, STEP_MM)
    marks_mm = np.array([FAR_ABOVE_MM]) if mark is None else mark.tried_mm()
    marks = rows.rims_mm[sectors][None, :] + marks_mm[:, None]
    px, z = rows.px_per_mm, rows.depths_mm
    top = float(tried[0]) - BAND_PX / px if mark is None else float(marks.min()) - ABOVE_PX / px
    window = (z >= top) & (z <= tried[-1] + BELOW_PX / px)
    if window.sum() < 6:
        return None, None
    z, shown = z[window], rows.shown[window][:, sectors].T
    used = _used(z, shown, marks, px)
    y = rows.luma[window][:, sectors].astype(np.float64)
    left, steps = fit_bands_apart(z, y - y.mean(), used, tried, marks, px)
    count = np.maximum(used.sum(axis=2), 1.0)
    samples = count * (px * float(z[1] - z[0]) / CORRELATED_ROWS_PX)
    own = samples[:, :, None] * np.log(left / count[:, :, None] + LEAST_NOISE**2)
    cost = own.sum(axis=1) + np.where(np.median(steps, axis=1) > 0.0, 0.0, DARKER_COST)
    band = max(LEAST_BAND_MM, LEAST_BAND_PX / px)
    first_mm = FAR_ABOVE_MM if mark is None else mark.first_mm
    least = np.maximum(marks.max(axis=1) + band, first_mm + LEAST_BAND_MM)
    cost = np.where(tried[None, :] > least[:, None], cost, np.inf)
    if not np.isfinite(cost).any():
        return None, None
    best, at = np.unravel_index(int(np.argmin(cost)), cost.shape)
    chance = np.exp(-0.5 * (cost - cost[best, at])).sum(axis=0)
    step = float(np.median(steps[best, :, at]))
    row = int(np.argmax(chance))
    if row in (0, tried.size - 1) or chance[row - 1] <= 0.0:
        return Placed(float(tried[row]), REACH_MM, step, 0.0), float(tried[row])
    place, sigma = _moments(tried, chance, row)
    told = np.ptp(own[best], axis=1)
    disagree = float(told @ np.abs(tried[np.argmin(own[best], axis=1)] - place) / max(told.sum(), 1e-9))
    return Placed(
        place, min(sigma, REACH_MM), step, disagree, mark_mm=None if mark is None else float(marks_mm[best])
    ), None


def _used(z: Array, shown: Bools, marks: Array, px: float) -> Array:
    """Rows that count in each sector (E, S, J): not far above the mark, not behind the near rim."""
    above = z[None, None, :] - marks[:, :, None] < -ABOVE_PX / px
    return np.asarray((shown & ~above).astype(np.float64))


def _moments(tried: Array, chance: Array, row: int) -> tuple[float, float]:
    """Return the place and its spread: finely where the chances are those of one sharp line, else mean."""
    share = chance / chance.sum()
    mean = float(share @ tried)
    spread = math.sqrt(float(share @ (tried - mean) ** 2))
    if spread > FINE_MM:
        return mean, spread
    at, bend = valley(tried, -2.0 * np.log(np.maximum(chance, 1e-300)), row)
    return at, math.sqrt(2.0 / bend) if bend > 0.0 else spread
