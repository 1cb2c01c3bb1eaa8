"""The line placed within a fraction of a row: top, band of bare wall and slip, tried at fine depths."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from watcher.vision.bands import fit_bands
from watcher.vision.middle import middle, middle_of_last

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]
Bools = npt.NDArray[np.bool_]

REACH_MM = 1.25
MORE_TRIES = 2
STEP_MM = 0.25
ABOVE_PX = 3.0
BELOW_PX = 4.0
BAND_PX = 6.0
NEAR_RIM_PX = 9.0
"""A line further below the rim than this has nothing of it within its window."""
LEAST_BAND_MM = 0.4
LEAST_PLACES = 3
RIM_STEP_MM = 0.25
RIMS_MM = np.arange(-0.5, 3.51, RIM_STEP_MM)
"""Where the edge of the top is tried, below the drawn rim: a rounded rim ends lower, and where clay is dark
the bare plaster above it belongs to the top."""
EFFECTIVE_SAMPLES = 40.0
"""What a good fit is worth, in samples: what no fit follows is alike in all of them."""
OTHER_EDGE = 1.25
"""A known rim is kept unless it leaves so much more unexplained than the best place."""
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
    """What each place of the line (T,) leaves unexplained, for each place where the top may end (E,).

    Attributes
    ----------
    at_mm : ndarray (T,)
    left : ndarray (E, T, S)
        Squares left in each sector; infinite where the line cannot be.
    steps : ndarray (E, T)
        How much brighter the slip is.
    rims_mm : ndarray (E,) or None
        Where the top was taken to end; None: it is too far away to matter.
    total : ndarray (E, T)
        Squares left in all sectors; infinite where the line is not taken to be.
    lowest : ndarray (E,)
        The least of them.
    """

    at_mm: Array
    left: Array
    steps: Array
    rims_mm: Array | None
    total: Array
    lowest: Array

    def of(self, edges: slice) -> _Tried:
        """Return some of the places where the top may end."""
        rims = None if self.rims_mm is None else self.rims_mm[edges]
        return _Tried(
            self.at_mm, self.left[edges], self.steps[edges], rims, self.total[edges], self.lowest[edges]
        )


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
        return _best(rows, _try(rows, sectors, near_mm, None), sectors)
    if rim_mm is None:
        return _over_edges(rows, _try(rows, sectors, near_mm, RIMS_MM), sectors)
    around = rim_mm + RIM_STEP_MM * np.array([-1.0, 0.0, 1.0])
    tried = _try(rows, sectors, near_mm, np.concatenate((around, RIMS_MM[::2])))
    if tried is None:
        return None
    known, best = float(tried.lowest[: around.size].min()), float(tried.lowest.min())
    if known < OTHER_EDGE * best:
        return _over_edges(rows, tried.of(slice(None, around.size)), sectors)
    return _over_edges(rows, tried.of(slice(around.size, None)), sectors)


def _over_edges(rows: WallRows, tried: _Tried | None, sectors: Bools) -> Placed | None:
    """Average the line over the places where the top may end, each by how well it explains the wall.

    Where rim and line are not told apart, several ends of the top explain the wall alike, each with a line of
    its own: how far those lie apart is part of the spread.
    """
    best = _best(rows, tried, sectors)
    if best is None or tried is None:
        return None
    there = np.isfinite(tried.lowest)
    left = tried.lowest[there]
    weights = np.exp(-0.5 * EFFECTIVE_SAMPLES * (left / max(float(left.min()), 1e-9) - 1.0))
    at = _valleys(tried.at_mm, tried.total[there])
    weights /= weights.sum()
    mean = float(weights @ at)
    spread = math.sqrt(float(weights @ (at - mean) ** 2))
    return replace(best, at_mm=mean, sigma_mm=min(math.hypot(best.sigma_mm, spread), REACH_MM))


def _try(rows: WallRows, sectors: Bools, near_mm: float, edges_mm: Array | None) -> _Tried | None:
    """Fit top, band and slip for every place tried and each place where the top may end.

    `edges_mm` (E,) lie below the drawn rim; None: the top is too far away to matter. None where there are
    too few rows.
    """
    z, px = rows.depths_mm, rows.px_per_mm
    tried = np.arange(near_mm - REACH_MM, near_mm + REACH_MM + 1e-9, STEP_MM)
    top = float(tried[0]) - BAND_PX / px
    if edges_mm is not None:
        top = rows.rim_mm + float(RIMS_MM[0]) - ABOVE_PX / px
    begin, end = np.searchsorted(z, (top, float(tried[-1]) + BELOW_PX / px))
    if end - begin < 6:
        return None
    y = rows.luma[begin:end, sectors].astype(np.float64)
    y -= y.mean()
    ends_mm = None if edges_mm is None else rows.rim_mm + edges_mm
    left, steps = fit_bands(z[begin:end], y, tried, ends_mm, px)
    there = _clear_below(tried, ends_mm)
    return _tried(tried, there, left, steps, edges_mm) if there.any() else None


def _clear_below(tried: Array, ends_mm: Array | None) -> Bools:
    """Tell which places (E, T) lie clear below the top's end, where enough of them do."""
    if ends_mm is None:
        return np.ones((1, tried.size), dtype=np.bool_)
    first = np.searchsorted(tried, ends_mm + LEAST_BAND_MM)
    enough = first <= tried.size - LEAST_PLACES
    return np.asarray((np.arange(tried.size) >= first[:, None]) & enough[:, None])


def _tried(tried: Array, there: Bools, left: Array, steps: Array, rims_mm: Array | None) -> _Tried:
    """Put what was fitted in its place; slip darker than the wall counts only where none is brighter."""
    every_left = np.where(there[..., None], left.swapaxes(0, 1), np.inf)
    every_step = np.where(there, middle_of_last(steps).T, 0.0)
    brighter = every_step > 0.0
    told = np.where(brighter.any(axis=1, keepdims=True), brighter, there)
    total = np.where(told, every_left.sum(axis=2), np.inf)
    return _Tried(tried, every_left, every_step, rims_mm, total, total.min(axis=1))


def _best(rows: WallRows, tried: _Tried | None, sectors: Bools) -> Placed | None:
    """Return the best place of the line, with the end of the top that goes with it."""
    if tried is None or not np.isfinite(tried.lowest).any():
        return None
    edge = int(np.argmin(tried.lowest))
    first = int(np.argmax(np.isfinite(tried.left[edge, :, 0])))
    places, total = tried.at_mm[first:], tried.total[edge, first:]
    best = int(np.argmin(total))
    at, bend = valley(places, total, best)
    step_mm = float(rows.depths_mm[1] - rows.depths_mm[0])
    fitted = (float(places[-1] - places[0]) + (BAND_PX + BELOW_PX) / rows.px_per_mm) / step_mm
    noise2 = float(total[best]) / max(fitted * float(sectors.sum()), 1.0)
    shared = max(1.0, CORRELATED_ROWS_PX / (rows.px_per_mm * step_mm))
    sigma = math.sqrt(2.0 * noise2 * shared / bend) if bend > 0.0 else REACH_MM
    own = places[np.argmin(tried.left[edge, first:], axis=0)]
    disagree = middle(np.abs(own - at))
    rim_mm = None if tried.rims_mm is None else float(tried.rims_mm[edge])
    return Placed(at, min(sigma, REACH_MM), float(tried.steps[edge, first + best]), disagree, rim_mm)


def _valleys(tried: Array, total: Array) -> Array:
    """Lowest point (E,) of a parabola through the least value and its neighbours, for each end of the top."""
    best = np.argmin(total, axis=1)
    edge, mid = np.arange(best.size), np.clip(best, 1, tried.size - 2)
    three = total[edge[:, None], mid[:, None] + np.array([-1, 0, 1])]
    inner = (best == mid) & np.isfinite(three).all(axis=1)
    a, b, c = np.where(inner[:, None], three, 0.0).T
    bend = a - 2.0 * b + c
    offset = 0.5 * (a - c) / np.where(bend > 0.0, bend, np.inf)
    return np.asarray(tried[best] + np.clip(offset, -0.5, 0.5) * STEP_MM)


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
