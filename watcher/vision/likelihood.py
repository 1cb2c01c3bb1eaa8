"""Where one smooth shading ends and another begins: how much better an edge explains a wall than none."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from watcher.vision.middle import middle

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.intp]
Floats = npt.NDArray[np.float32]

INDEPENDENT_SHARE = 0.3
"""Share of the samples that count on their own: they overlap, JPEG and demosaicing tie them."""
EFFECTIVE_SAMPLES = 40.0
"""What a good fit is worth, in samples: shading that no smooth curve follows is alike in all of them."""
GAP_PX = 1.3
"""Rows this close to the edge are blurred across it and belong to neither region."""
WINDOW_MM = 7.0
WINDOW_PX = 8.0
"""Each region reaches this far from the edge: shading further away is another matter."""
SHADOW_MM = 3.0
"""Length over which the dark of a corner fades out on the slip beside the wall."""
RIDGE = (1e-4, 0.4, 0.4)
"""Penalty on a region's level, slope (per eight millimetres) and corner shadow, in rows' weight."""
LEAST_BELOW_PX = 1.2
BESIDE_PX = 2.5
DARKER_SHARE = 0.35
"""What an edge counts at which the wall turns darker downwards: slip lies level and takes more light than the
wall above it (so in 97 of 100 rendered lines); bare plaster above dark clay is the usual
cause of the opposite."""


@dataclass(frozen=True, slots=True)
class RegionPlan:
    """Windows and inverse normal matrices above, below and across every row, for one visible wall; made once.

    Attributes
    ----------
    basis : ndarray (3, J)
        1, depth in units of eight millimetres, corner shadow.
    weight : ndarray (J, S)
        1 where a sector is in view.
    bounds : tuple of four ndarray of int (J,)
        Window above [0, 1) and below [2, 3) each row.
    above, below, across : ndarray (J, S, 6)
        Inverse normal matrices (00, 01, 02, 11, 12, 22).
    usable : ndarray of bool (J, S)
        Sectors with enough wall above and slip below the row.
    floor : ndarray (J,)
        Samples that are used at each row.
    possible : ndarray of bool (J,)
        Rows at which an edge can be told.
    beside : int
        Rows right above and below the edge that tell its sign.
    """

    basis: Array
    weight: Array
    bounds: tuple[Ints, Ints, Ints, Ints]
    above: Array
    below: Array
    across: Array
    usable: Array
    floor: Array
    possible: Bools
    beside: int


def plan_regions(depths_mm: Array, shown: Bools, px_per_row: float) -> RegionPlan:
    """Work out windows and matrices for the wall in view, `shown` (J, S)."""
    rows = depths_mm.size
    step = float(depths_mm[1] - depths_mm[0])
    away = depths_mm - depths_mm[0]
    basis = np.stack((np.ones(rows), away / 8.0, np.exp(-away / SHADOW_MM)))
    weight = shown.astype(np.float64)
    reach = round(max(WINDOW_MM / step, WINDOW_PX / px_per_row))
    gap = max(1, round(GAP_PX / px_per_row))
    j = np.arange(rows)
    bounds = (
        np.maximum(j - reach, 0),
        np.maximum(j - gap + 1, 0),
        np.minimum(j + gap, rows),
        np.minimum(j + reach + 1, rows),
    )
    pairs = ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))
    products = np.stack([basis[a] * basis[b] for a, b in pairs], axis=-1)
    moments = _running(weight[:, :, None] * products[:, None, :])
    scale = np.exp(away / SHADOW_MM)[:, None]
    above = moments[bounds[1]] - moments[bounds[0]]
    below = moments[bounds[3]] - moments[bounds[2]]
    counts = _running(weight)
    over = counts[bounds[1]] - counts[bounds[0]]
    under = counts[bounds[3]] - counts[bounds[2]]
    usable = (over >= 2) & (under >= max(2.0, LEAST_BELOW_PX / px_per_row))
    return RegionPlan(
        basis,
        weight,
        bounds,
        _inverse(above, scale),
        _inverse(below, scale),
        _inverse(above + below, scale),
        usable.astype(np.float64),
        ((over + under) * usable).sum(axis=1) + 1e-9,
        usable.sum(axis=1) >= 2,
        max(2, round(BESIDE_PX / px_per_row)),
    )


def _running(values: Array) -> Array:
    """Return the sums of the first n rows, n from 0."""
    return np.concatenate((np.zeros((1, *values.shape[1:])), np.cumsum(values, axis=0)))


def _inverse(six: Array, scale: Array) -> Array:
    """Inverse of symmetric 3x3 matrices (six numbers each), ridge added.

    The shadow's ridge is meant for a shadow that starts at the row, hence its `scale`.
    """
    a, b, c, d, e, f = (six[..., i] for i in range(6))
    a, d, f = a + RIDGE[0], d + RIDGE[1], f + RIDGE[2] / scale**2
    det = a * (d * f - e * e) - b * (b * f - c * e) + c * (b * e - c * d)
    inverse = (d * f - e * e, c * e - b * f, b * e - c * d, a * f - c * c, b * c - a * e, a * d - b * b)
    return np.asarray(np.stack(inverse) / det)


def _explained(inverse: Array, y: Array) -> Array:
    """Sum of squares that a fit takes up: moments (3, J, S) through inverses (6, J, S)."""
    return np.asarray(
        y[0] * (inverse[0] * y[0] + 2.0 * (inverse[1] * y[1] + inverse[2] * y[2]))
        + y[1] * (inverse[3] * y[1] + 2.0 * inverse[4] * y[2])
        + inverse[5] * y[2] * y[2]
    )


@dataclass(frozen=True, slots=True)
class Edges:
    """By how much an edge at each row (J,) beats none, in log likelihood.

    `gain` is for the slip's line, where an edge that turns darker downwards counts little; `darker` holds the
    full gain of just those: the upper end of dark clay on bare plaster looks like that.
    """

    gain: Array
    darker: Array


def edge_gain(luma: Floats, plan: RegionPlan, noise: float) -> Edges:
    """Tell by how much an edge at each row beats no edge there.

    Only brightness is used: colour is stored at half the resolution in a JPEG and its slow shading misleads.

    Parameters
    ----------
    luma : ndarray (J, S)
        Sector means. [grey levels]
    noise : float
        Standard deviation of one of them. [grey levels]
    """
    y = (luma - luma.mean()) * (plan.weight / noise)
    runs = np.zeros((4, y.shape[0] + 1, y.shape[1]))
    np.cumsum(
        np.stack((y, y * plan.basis[1][:, None], y * plan.basis[2][:, None], y * y)), axis=1, out=runs[:, 1:]
    )
    a0, a1, b0, b1 = plan.bounds
    above = runs[:, a1] - runs[:, a0]
    below = runs[:, b1] - runs[:, b0]
    both = above + below
    taken_two = _explained(plan.above, above[:3]) + _explained(plan.below, below[:3])
    taken_one = _explained(plan.across, both[:3])
    two = (np.maximum(both[3] - taken_two, 0.0) * plan.usable).sum(axis=1)
    one = (np.maximum(both[3] - taken_one, 0.0) * plan.usable).sum(axis=1)
    better = INDEPENDENT_SHARE * (one - two) / np.maximum(two / plan.floor, 1.0)
    gain = 0.5 * EFFECTIVE_SAMPLES * np.log1p(np.maximum(better, 0.0) / EFFECTIVE_SAMPLES)
    brighter = _brighter_below(runs[0], plan) > 0.0
    told = np.where(plan.possible, gain, 0.0)
    return Edges(
        np.where(plan.possible, np.where(brighter, gain, DARKER_SHARE * gain), -np.inf),
        np.where(brighter, 0.0, told),
    )


def _brighter_below(run: Array, plan: RegionPlan) -> Array:
    """Mean step (J,) from right above each row's gap to right below it, over the sectors that can tell."""
    a0, a1, b0, b1 = plan.bounds
    top = np.maximum(a0, a1 - plan.beside)
    end = np.minimum(b1, b0 + plan.beside)
    over = (run[a1] - run[top]) / np.maximum(a1 - top, 1)[:, None]
    under = (run[end] - run[b0]) / np.maximum(end - b0, 1)[:, None]
    return np.asarray(((under - over) * plan.usable).sum(axis=1))


def noise_of(luma: Floats, shown: Bools, apart: int) -> float:
    """Return the spread of one profile value, from rows `apart` rows apart."""
    step = np.abs(luma[apart:] - luma[:-apart])
    both = shown[apart:] & shown[:-apart]
    if both.sum() < 8:
        return 2.0
    return max(middle(step[both]) / 0.6745 / 1.4142, 0.25)
