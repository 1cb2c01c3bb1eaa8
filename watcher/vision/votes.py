"""The edge's own response, frame by frame: what stands still is not the slip's line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import erf

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float32]

HALF_WIDTH_PX = 3.2
BLUR_PX = 0.9
LEAST_ROWS = 3
SOFT = 9.0


@dataclass(frozen=True, slots=True)
class EdgePlan:
    """Filters for one visible wall, made once: `banks` (S, J, J) turns a profile into edge responses.

    `norms` (J, S) is the length of each filter (0 where the wall in view is too short for one).
    """

    banks: Floats
    norms: Array


def plan_edges(shown: Bools, px_per_row: float) -> EdgePlan:
    """Build filters: a blurred step made blind to a constant and a slope, narrower near the ends."""
    rows, sectors = shown.shape
    most = max(LEAST_ROWS, round(HALF_WIDTH_PX / px_per_row))
    kernels = {h: _step(h, px_per_row) for h in range(LEAST_ROWS, most + 1)}
    banks = np.zeros((sectors, rows, rows), dtype=np.float32)
    norms = np.zeros((rows, sectors))
    made: dict[tuple[int, int], int] = {}
    for s in range(sectors):
        inside = np.flatnonzero(shown[:, s])
        if inside.size < 2 * LEAST_ROWS + 1:
            continue
        first, last = int(inside[0]), int(inside[-1])
        if (first, last) in made:
            twin = made[first, last]
            banks[s], norms[:, s] = banks[twin], norms[:, twin]
            continue
        for j in range(first + LEAST_ROWS, last - LEAST_ROWS + 1):
            h = min(most, j - first, last - j)
            banks[s, j, j - h : j + h + 1] = kernels[h]
            norms[j, s] = float(np.linalg.norm(kernels[h]))
        made[first, last] = s
    return EdgePlan(banks, norms)


def _step(half: int, px_per_row: float) -> Array:
    i = np.arange(-half, half + 1, dtype=np.float64)
    wanted = 0.5 * erf(i * px_per_row / (np.sqrt(2.0) * BLUR_PX))
    plain = np.stack((np.ones_like(i), i))
    wanted -= plain.T @ np.linalg.lstsq(plain.T, wanted, rcond=None)[0]
    return np.asarray(wanted / np.sqrt(float(wanted @ wanted)))


def respond(profiles: Floats, plan: EdgePlan, light: float) -> Floats:
    """Edge responses (J, S, C) of a frame's profiles, for a wall whose median brightness is `light`."""
    stacked = np.ascontiguousarray(profiles.transpose(1, 0, 2)) * np.float32(100.0 / max(light, 1.0))
    return np.asarray(np.matmul(plan.banks, stacked).transpose(1, 0, 2), dtype=np.float32)


def response_noise(responses: Floats, plan: EdgePlan) -> Array:
    """Spread of a response per colour (C,), from the frame itself: most rows of the wall hold no edge."""
    held = plan.norms > 0.0
    if held.sum() < 12:
        return np.full(responses.shape[2], 3.0)
    return np.asarray(np.maximum(np.median(np.abs(responses[held]), axis=0) / 0.6745, 0.8), dtype=np.float64)


def vote(
    responses: Floats,
    noise: Array,
    empty: Floats | None,
    earlier: tuple[Floats, ...],
    px_below: int,
) -> tuple[Array, Array]:
    """Votes for the moving edge at each row.

    Parameters
    ----------
    responses : ndarray (J, S, C)
        This frame's.
    noise : ndarray (C,)
    empty : ndarray (J, S, C) or None
        Responses of the empty mould: what was there before the slip.
    earlier : tuple of ndarray (J, S, C)
        Responses some time ago; the line was higher then.
    px_below : int
        Rows below which another, stronger edge speaks against this one (the line is the lowest moving edge).

    Returns
    -------
    votes : ndarray (J,)
        Score of each row.
    power : ndarray (J,)
        The plain response, summed over sectors: for placing the line within its rows.
    """
    t_now = ((responses / noise) ** 2).sum(axis=2)
    static = t_now
    if empty is not None:
        static = np.minimum(static, ((responses - empty) ** 2 / (1.5 * noise**2)).sum(axis=2))
    still = np.log1p(static / SOFT).sum(axis=1)
    moving = static
    for old in earlier:
        moving = np.minimum(moving, ((responses - old) ** 2 / (2.0 * noise**2)).sum(axis=2))
    score = 0.5 * still + 1.5 * (np.log1p(moving / SOFT).sum(axis=1) if earlier else still)
    below = np.concatenate((np.maximum.accumulate(score[::-1])[::-1][px_below:], np.zeros(px_below)))
    return score - 0.6 * below[: score.size], t_now.sum(axis=1)
