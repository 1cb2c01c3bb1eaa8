"""The line placed within a fraction of a row: top, band of bare wall and slip, tried at fine depths."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from watcher.vision.middle import middle

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]
Bools = npt.NDArray[np.bool_]

REACH_MM = 1.25
MORE_TRIES = 2
STEP_MM = 0.25
BLUR_PX = 0.5
"""Spread of the line where the slip begins to climb: the sharpest part of what a camera sees of it. [px]"""
RIM_BLUR_PX = 1.0
"""Spread of the rim's edge: lens, demosaicing, and the rim's rounding. [px]"""
ABOVE_PX = 3.0
BELOW_PX = 4.0
BAND_PX = 6.0
NEAR_RIM_PX = 9.0
"""A line further below the rim than this has nothing of it within its window."""
LEAST_BAND_MM = 0.4
RIM_STEP_MM = 0.25
RIMS_MM = np.arange(-0.5, 3.51, RIM_STEP_MM)
"""Where the edge of the top is tried, below the drawn rim: a rounded rim ends lower, and where clay is dark
the bare plaster above it belongs to the top."""
EFFECTIVE_SAMPLES = 40.0
"""What a good fit is worth, in samples: what no fit follows is alike in all of them."""
OTHER_EDGE = 1.25
"""A known rim is kept unless it leaves so much more unexplained than the best place."""
SHADOW_MM = 3.0
"""Length over which the climb of the slip and the dark of the corner fade out. [mm]"""
RIDGE = (1e-3, 6.0, 1e-3, 0.3, 1e-3, 1.0)
"""Penalty on level and slope (per eight millimetres) of the wall, level and shadow of the slip, and the
same two of the top, in rows' weight."""
CORRELATED_ROWS_PX = 2.2
"""Neighbouring rows closer than this share their noise."""


@dataclass(frozen=True, slots=True)
class WallRows:
    """A wall straightened as if clay of one thickness stood on all of it, from above the rim down.

    Attributes
    ----------
    depths_mm : ndarray (J,)
        Evenly spaced; below nought: the wall drawn out above the rim. [mm]
    luma : ndarray (J, S)
        Sector means. [grey levels]
    rim_mm : float
        Where the drawn rim lies on this wall, about the far point. [mm]
    px_per_mm : float
    rims_mm : ndarray (S,)
        The same in each sector: what lies behind the clay is an arc on it. [mm]
    shown : ndarray of bool (J, S)
        Where the wall is in view: past the near rim its bright top begins.
    """

    depths_mm: Array
    luma: Floats
    rim_mm: float
    px_per_mm: float
    rims_mm: Array
    shown: Bools


@dataclass(frozen=True, slots=True)
class Placed:
    """Where the line lies, its spread by noise, how much brighter the slip is, the sectors' disagreement.

    `rim_mm` is where the top ends, below the drawn rim; None where the line lies clear of it. `mark_mm` is
    where the fill's mark was taken to be on the bare wall; None where it was not reckoned with.
    """

    at_mm: float
    sigma_mm: float
    step: float
    disagree_mm: float
    rim_mm: float | None = None
    mark_mm: float | None = None


@dataclass(frozen=True, slots=True)
class _Tried:
    """What each place leaves unexplained in each sector (T, S); `rim_mm`: where the top was taken to end."""

    at_mm: Array
    left: Array
    steps: Array
    rim_mm: float | None

    def lowest(self) -> float:
        """Least that any place leaves."""
        return float(_with_sign(self).min())


def place(rows: WallRows, sectors: Bools, near_mm: float, rim_mm: float | None = None) -> Placed | None:
    """Place the line near a depth, following it where the best place lies at the end of what was tried.

    Parameters
    ----------
    sectors : ndarray of bool (S,)
        Those in which the line can be seen.
    near_mm : float
        Where the line is believed to be. [mm]
    rim_mm : float, optional
        Where the top ends, below the drawn rim, if that is known. [mm]

    Returns
    -------
    Placed or None
        None where too little of the wall is in view.
    """
    placed = _place_once(rows, sectors, near_mm, rim_mm)
    for _ in range(MORE_TRIES):
        if placed is None or placed.sigma_mm < REACH_MM:
            break
        again = _place_once(rows, sectors, placed.at_mm, rim_mm)
        if again is None:
            break
        placed = again
    return placed


def _place_once(rows: WallRows, sectors: Bools, near_mm: float, rim_mm: float | None) -> Placed | None:
    if sectors.sum() < 1:
        return None
    if near_mm - REACH_MM - rows.rim_mm - (rim_mm or 0.0) > NEAR_RIM_PX / rows.px_per_mm:
        return _best(rows, _least(_try(rows, sectors, near_mm, None)), sectors)
    if rim_mm is None:
        return _over_edges(rows, _try(rows, sectors, near_mm, RIMS_MM), sectors)
    around = rim_mm + RIM_STEP_MM * np.array([-1.0, 0.0, 1.0])
    tried = _try(rows, sectors, near_mm, np.concatenate((around, RIMS_MM[::2])))
    known, best = _least(tried[: around.size]), _least(tried)
    if known is not None and best is not None and known.lowest() < OTHER_EDGE * best.lowest():
        return _over_edges(rows, tried[: around.size], sectors)
    return _over_edges(rows, tried[around.size :], sectors)


def _over_edges(rows: WallRows, tried: list[_Tried | None], sectors: Bools) -> Placed | None:
    """Average the line over the places where the top may end, each by how well it explains the wall.

    Where rim and line are not told apart, several ends of the top explain the wall alike, each with a line of
    its own: how far those lie apart is part of the spread.
    """
    best = _best(rows, _least(tried), sectors)
    if best is None:
        return None
    placed = [(one.lowest(), _best(rows, one, sectors)) for one in tried if one is not None]
    least = min(left for left, _ in placed)
    weights = np.array(
        [math.exp(-0.5 * EFFECTIVE_SAMPLES * (left / max(least, 1e-9) - 1.0)) for left, _ in placed]
    )
    at = np.array([one.at_mm if one is not None else best.at_mm for _, one in placed])
    weights /= weights.sum()
    mean = float(weights @ at)
    spread = math.sqrt(float(weights @ (at - mean) ** 2))
    return replace(best, at_mm=mean, sigma_mm=min(math.hypot(best.sigma_mm, spread), REACH_MM))


def _least(tried: list[_Tried | None]) -> _Tried | None:
    """Return the trial that leaves least."""
    there = [one for one in tried if one is not None]
    return min(there, key=_Tried.lowest) if there else None


def _try(rows: WallRows, sectors: Bools, near_mm: float, edges_mm: Array | None) -> list[_Tried | None]:
    """Fit top, band and slip for every place tried, one trial for each place where the top may end.

    `edges_mm` (E,) lie below the drawn rim; None: the top is too far away to matter, and one trial is made.
    """
    z, px = rows.depths_mm, rows.px_per_mm
    tried = np.arange(near_mm - REACH_MM, near_mm + REACH_MM + 1e-9, STEP_MM)
    top = float(tried[0]) - BAND_PX / px
    if edges_mm is not None:
        top = rows.rim_mm + float(RIMS_MM[0]) - ABOVE_PX / px
    window = (z >= top) & (z <= tried[-1] + BELOW_PX / px)
    if window.sum() < 6:
        return [None]
    z = z[window]
    y = rows.luma[window][:, sectors].astype(np.float64)
    y -= y.mean()
    away = z[None, :] - tried[:, None]
    slip = ndtr(away * (px / BLUR_PX))
    wall = 1.0 - slip
    columns = [wall, wall * away / 8.0, slip, slip * np.exp(-np.maximum(away, 0.0) / SHADOW_MM)]
    basis = np.stack(columns, axis=1)[None]
    if edges_mm is not None:
        basis = _with_top(basis, z - rows.rim_mm, edges_mm, px)
    normal = basis @ basis.swapaxes(2, 3) + np.diag(RIDGE[: basis.shape[2]])
    moments = basis @ y
    solved = np.linalg.solve(normal, moments)
    left = np.maximum((y * y).sum(axis=0) - (solved * moments).sum(axis=2), 0.0)
    steps = np.median(solved[:, :, 2] - solved[:, :, 0], axis=2)
    if edges_mm is None:
        return [_Tried(tried, left[0], steps[0], None)]
    out: list[_Tried | None] = []
    for e, edge in enumerate(edges_mm.tolist()):
        first = int(np.searchsorted(tried, rows.rim_mm + edge + LEAST_BAND_MM))
        there = tried.size - first >= 3
        out.append(_Tried(tried[first:], left[e, first:], steps[e, first:], edge) if there else None)
    return out


def _with_top(basis: Array, under_rim_mm: Array, edges_mm: Array, px_per_mm: float) -> Array:
    """Let the top end at each of some edges: (1, T, 4, J) to (E, T, 6, J), the top's own two last."""
    away = under_rim_mm[None, :] - edges_mm[:, None]
    under = ndtr(away * (px_per_mm / RIM_BLUR_PX))
    full = np.empty((edges_mm.size, basis.shape[1], 6, under_rim_mm.size))
    full[:, :, :4] = basis
    full[:, :, :2] *= under[:, None, None, :]
    over = 1.0 - under
    full[:, :, 4] = over[:, None, :]
    full[:, :, 5] = (over * np.minimum(away, 0.0) / 8.0)[:, None, :]
    return full


def _with_sign(tried: _Tried) -> Array:
    """Sum what is left at each place; slip darker than the wall counts only where none is brighter."""
    total = tried.left.sum(axis=1)
    if (tried.steps > 0.0).any():
        total = np.where(tried.steps > 0.0, total, np.inf)
    return np.asarray(total)


def _best(rows: WallRows, tried: _Tried | None, sectors: Bools) -> Placed | None:
    if tried is None:
        return None
    total = _with_sign(tried)
    best = int(np.argmin(total))
    at, bend = valley(tried.at_mm, total, best)
    step_mm = float(rows.depths_mm[1] - rows.depths_mm[0])
    fitted = (float(np.ptp(tried.at_mm)) + (BAND_PX + BELOW_PX) / rows.px_per_mm) / step_mm
    noise2 = float(total[best]) / max(fitted * float(sectors.sum()), 1.0)
    shared = max(1.0, CORRELATED_ROWS_PX / (rows.px_per_mm * step_mm))
    sigma = math.sqrt(2.0 * noise2 * shared / bend) if bend > 0.0 else REACH_MM
    own = tried.at_mm[np.argmin(tried.left, axis=0)]
    disagree = middle(np.abs(own - at))
    return Placed(at, min(sigma, REACH_MM), float(tried.steps[best]), disagree, tried.rim_mm)


def valley(tried: Array, total: Array, best: int) -> tuple[float, float]:
    """Lowest point of a parabola through three values, and its bend (second derivative)."""
    if not 0 < best < tried.size - 1:
        return float(tried[best]), 0.0
    a, b, c = (float(v) for v in total[best - 1 : best + 2])
    bend = a - 2.0 * b + c
    if not 0.0 < bend < math.inf:
        return float(tried[best]), 0.0
    offset = min(max(0.5 * (a - c) / bend, -0.5), 0.5)
    return float(tried[best]) + offset * STEP_MM, bend / STEP_MM**2
