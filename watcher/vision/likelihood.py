"""Where one smooth shading ends and another begins: a two-region likelihood over the whole visible wall."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float32]

EFFECTIVE_SAMPLES = 40.0
"""What the shading's misfit is worth in independent samples: it is correlated, so far fewer than pixels."""
GAP_PX = 0.8
"""Rows this close to the edge are blurred across it and belong to neither region."""
RIDGE = (0.0, 0.35, 1.4)
"""Penalty on slope and bend of a region's shading, in rows' weight per (eight millimetres)^2."""


@dataclass(frozen=True, slots=True)
class RegionPlan:
    """Normal matrices of the smooth shading above and below every row, for one visible wall; made once.

    Attributes
    ----------
    powers : ndarray (3, J)
        1, x, x^2 of the rows' depth in units of eight millimetres.
    weight : ndarray (J, S)
        1 where a sector is in view.
    above, below : ndarray (J, S, 6)
        Inverse normal matrices (00, 01, 02, 11, 12, 22) of the rows above and below the gap at j.
    whole : ndarray (S, 6)
        The same for all rows of a sector.
    up_to, from_on : ndarray of int (J,)
        Last row of the region above, first row of the region below.
    possible : ndarray of bool (J,)
        Rows at which an edge can be told: enough wall above and slip below, in enough sectors.
    """

    powers: Array
    weight: Array
    above: Array
    below: Array
    whole: Array
    up_to: npt.NDArray[np.intp]
    from_on: npt.NDArray[np.intp]
    possible: Bools


def plan_regions(depths_mm: Array, shown: Bools, px_per_row: float) -> RegionPlan:
    """Work out the matrices for the wall in view, `shown` (J, S)."""
    rows = depths_mm.size
    x = (depths_mm - depths_mm.mean()) / 8.0
    powers = np.stack((np.ones(rows), x, x * x))
    weight = shown.astype(np.float64)
    gap = max(1, round(GAP_PX / px_per_row))
    j = np.arange(rows)
    up_to = np.maximum(j - gap, 0)
    from_on = np.minimum(j + gap, rows - 1)
    ten = np.stack(
        [powers[a] * powers[b] for a, b in ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))], axis=-1
    )
    running = np.cumsum(weight[:, :, None] * ten[:, None, :], axis=0)
    total = running[-1]
    before = np.concatenate((np.zeros((1, *running.shape[1:])), running[:-1]))
    above = _inverse(running[up_to] * (j >= gap)[:, None, None])
    below = _inverse(total - before[from_on])
    counts = np.cumsum(weight, axis=0)
    over = counts[up_to] >= 2
    under = counts[-1] - counts[from_on] >= max(2.0, 1.2 / px_per_row)
    possible = ((over & under).sum(axis=1) >= 2) & (j >= gap)
    return RegionPlan(powers, weight, above, below, _inverse(total), up_to, from_on, possible)


def _inverse(six: Array) -> Array:
    """Inverse of symmetric 3x3 matrices given by six numbers, a ridge on slope and bend added."""
    a, b, c, d, e, f = (six[..., i] for i in range(6))
    a, d, f = a + RIDGE[0] + 1e-9, d + RIDGE[1], f + RIDGE[2]
    det = a * (d * f - e * e) - b * (b * f - c * e) + c * (b * e - c * d)
    out = np.stack(
        (d * f - e * e, c * e - b * f, b * e - c * d, a * f - c * c, b * c - a * e, a * d - b * b), axis=-1
    )
    return np.asarray(out / det[..., None])


def _explained(inverse: Array, y: Sequence[Array]) -> Array:
    """Sum of squares that a fit takes up: moments (..., C) through inverses (..., 6)."""
    i = inverse[..., None, :]
    y0, y1, y2 = y
    return np.asarray(
        y0 * (i[..., 0] * y0 + 2.0 * (i[..., 1] * y1 + i[..., 2] * y2))
        + y1 * (i[..., 3] * y1 + 2.0 * i[..., 4] * y2)
        + i[..., 5] * y2 * y2
    )


@dataclass(frozen=True, slots=True)
class Split:
    """Scores of one frame. `log_edge` (J,) and `log_none` are log likelihoods up to one common constant."""

    log_edge: Array
    log_none: float


def split_scores(profiles: Floats, plan: RegionPlan, noise: Array, sectors: Array | None = None) -> Split:
    """Score every row as the edge between two smooth shadings.

    Parameters
    ----------
    profiles : ndarray (J, S, C)
        Sector means. [grey levels]
    noise : ndarray (C,)
        Standard deviation of one value of a profile, per colour. [grey levels]
    sectors : ndarray (S,), optional
        Weight of each sector, 0 to 1.
    """
    w = plan.weight[:, :, None]
    y = (profiles - profiles.mean(axis=0, keepdims=True)) / noise
    y = y * w
    runs = [np.cumsum(y * p[:, None, None], axis=0) for p in plan.powers]
    squares = np.cumsum(y * y, axis=0)
    above = [run[plan.up_to] for run in runs]
    below = tuple(
        run[-1] - run[plan.from_on] + (y * p[:, None, None])[plan.from_on]
        for run, p in zip(runs, plan.powers, strict=True)
    )
    saved = _explained(plan.above, above) + _explained(plan.below, below)
    gapped = squares[plan.from_on] - squares[plan.up_to] - (y * y)[plan.from_on]
    rest = squares[-1] - saved - gapped
    counts = np.cumsum(plan.weight, axis=0)
    used = counts[-1] - (counts[plan.from_on] - counts[plan.up_to] - plan.weight[plan.from_on])
    rest = rest * (counts[-1] / np.maximum(used, 1.0))[:, :, None]
    alone = squares[-1] - _explained(plan.whole, [run[-1] for run in runs])
    s = np.ones(plan.weight.shape[1]) if sectors is None else sectors
    cost = np.einsum("jsc,s->j", np.maximum(rest, 0.0), s)
    floor = float((counts[-1] * s).sum()) * profiles.shape[2] * 0.35 + 1e-9
    log_edge = -0.5 * EFFECTIVE_SAMPLES * np.log(cost / floor + 1.0)
    single = float(np.einsum("sc,s->", np.maximum(alone, 0.0), s))
    log_none = -0.5 * EFFECTIVE_SAMPLES * float(np.log(single / floor + 1.0))
    return Split(np.where(plan.possible, log_edge, -np.inf), log_none)


def noise_of(profiles: Floats, shown: Bools, apart: int) -> Array:
    """Return the spread of one profile value per colour (C,), from rows `apart` rows apart."""
    step = np.abs(profiles[apart:] - profiles[:-apart])
    both = shown[apart:] & shown[:-apart]
    if both.sum() < 8:
        return np.full(profiles.shape[2], 2.0)
    spread = np.median(step[both], axis=0) / 0.6745 / np.sqrt(2.0)
    return np.asarray(np.maximum(spread, 0.25), dtype=np.float64)
