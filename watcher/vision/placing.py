"""The line placed within a fraction of a row: a blurred step between two shadings, tried at fine depths."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from watcher.vision.middle import middle

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]
Bools = npt.NDArray[np.bool_]

REACH_MM = 1.0
MORE_TRIES = 2
STEP_MM = 0.25
BLUR_PX = 0.8
"""Spread of the line in the picture: lens, demosaicing and JPEG, and the climb of the slip at the wall."""
WINDOW_PX = 4.0
SHADOW_MM = 3.0
RIDGE = (1e-3, 3.0, 1e-3, 8.0)
CORRELATED_ROWS_PX = 2.2
"""Neighbouring rows closer than this share their noise."""


@dataclass(frozen=True, slots=True)
class Placed:
    """Where the step lies, its spread by noise, how much brighter the slip is, the sectors' disagreement."""

    at_mm: float
    sigma_mm: float
    step: float
    disagree_mm: float


def place(luma: Floats, shown: Bools, depths_mm: Array, px_per_mm: float, near_mm: float) -> Placed | None:
    """Place the line near a depth, following it where the best place lies at the end of what was tried.

    Parameters and result as for `place_once`.
    """
    placed = place_once(luma, shown, depths_mm, px_per_mm, near_mm)
    for _ in range(MORE_TRIES):
        if placed is None or placed.sigma_mm < REACH_MM:
            break
        again = place_once(luma, shown, depths_mm, px_per_mm, placed.at_mm)
        if again is None:
            break
        placed = again
    return placed


def place_once(
    luma: Floats, shown: Bools, depths_mm: Array, px_per_mm: float, near_mm: float
) -> Placed | None:
    """Place the line within a millimetre of a depth.

    Parameters
    ----------
    luma : ndarray (J, S)
        Sector means. [grey levels]
    near_mm : float
        Where the line is believed to be; tried within a millimetre of it. [mm]

    Returns
    -------
    Placed or None
        None where too little of the wall is in view.
    """
    tried = np.arange(near_mm - REACH_MM, near_mm + REACH_MM + 1e-9, STEP_MM)
    tried = tried[tried >= depths_mm[0] + 0.2]
    window = WINDOW_PX / px_per_mm
    if tried.size < 3:
        return None
    rows = np.flatnonzero((depths_mm >= tried[0] - window) & (depths_mm <= tried[-1] + window))
    weight = shown[rows].astype(np.float64)
    sectors = weight.sum(axis=0) >= max(5, 0.4 * rows.size)
    if sectors.sum() < 1 or rows.size < 6:
        return None
    weight = weight[:, sectors]
    y = luma[rows][:, sectors].astype(np.float64)
    y = (y - float(y.mean())) * weight
    away = depths_mm[rows][None, :] - tried[:, None]
    below = ndtr(away * (px_per_mm / BLUR_PX))
    above = 1.0 - below
    basis = np.stack(
        (above, above * away / 8.0, below, below * np.exp(-np.maximum(away, 0.0) / SHADOW_MM)), axis=-1
    )
    count = tried.size
    products = (
        (basis[:, :, :, None] * basis[:, :, None, :]).transpose(0, 2, 3, 1).reshape(count * 16, rows.size)
    )
    normal = (products @ weight).reshape(count, 4, 4, -1).transpose(0, 3, 1, 2) + np.diag(RIDGE)
    moments = (
        (basis.transpose(0, 2, 1).reshape(count * 4, rows.size) @ y).reshape(count, 4, -1).transpose(0, 2, 1)
    )
    solved = np.linalg.solve(normal, moments[..., None])[..., 0]
    left = np.maximum((y * y).sum(axis=0)[None, :] - (solved * moments).sum(axis=-1), 0.0)
    total = left.sum(axis=1)
    steps = np.median(solved[:, :, 2] - solved[:, :, 0], axis=1)
    if (steps > 0.0).any():
        total = np.where(steps > 0.0, total, np.inf)
    best = int(np.argmin(total))
    at, bend = _valley(tried, total, best)
    samples = float(weight.sum())
    noise2 = float(total[best]) / max(samples, 1.0)
    shared = max(1.0, CORRELATED_ROWS_PX / (px_per_mm * float(depths_mm[1] - depths_mm[0])))
    sigma = math.sqrt(2.0 * noise2 * shared / bend) if bend > 0.0 else REACH_MM
    own = tried[np.argmin(left, axis=0)]
    disagree = middle(np.abs(own - at))
    return Placed(at, min(sigma, REACH_MM), float(steps[best]), disagree)


def _valley(tried: Array, total: Array, best: int) -> tuple[float, float]:
    """Lowest point of a parabola through three values, and its bend (second derivative)."""
    if not 0 < best < tried.size - 1:
        return float(tried[best]), 0.0
    a, b, c = (float(v) for v in total[best - 1 : best + 2])
    bend = a - 2.0 * b + c
    if not 0.0 < bend < math.inf:
        return float(tried[best]), 0.0
    offset = min(max(0.5 * (a - c) / bend, -0.5), 0.5)
    return float(tried[best]) + offset * STEP_MM, bend / STEP_MM**2
