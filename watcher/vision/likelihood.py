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

    Only the R rows between the first and the last at which an edge can be told are worked out.

    Attributes
    ----------
    basis : ndarray (3, J, 1)
        1, depth in units of eight millimetres, corner shadow.
    weight : ndarray (J, S)
        1 where a sector is in view.
    rows : slice
        Those R rows.
    bounds : tuple of four ndarray of int (R,)
        Window above [0, 1) and below [2, 3) each row.
    inverses : ndarray (6, 3, R, S)
        Inverse normal matrices (00, 01, 02, 11, 12, 22), off the diagonal doubled; above, below, across.
    usable : ndarray (R, S)
        1 for sectors with enough wall above and slip below the row.
    floor : ndarray (R,)
        Samples that are used at each row.
    possible : ndarray of bool (J,)
        Rows at which an edge can be told.
    beside : tuple of two ndarray of int (R,)
        The rows right above an edge begin with the first, those right below it end before the second.
    """

    basis: Array
    weight: Array
    rows: slice
    bounds: tuple[Ints, Ints, Ints, Ints]
    inverses: Array
    usable: Array
    floor: Array
    possible: Bools
    beside: tuple[Ints, Ints]


def plan_regions(depths_mm: Array, shown: Bools, px_per_row: float) -> RegionPlan:
    """Work out windows and matrices for the wall in view, `shown` (J, S)."""
    rows = depths_mm.size
    step = float(depths_mm[1] - depths_mm[0])
    away = depths_mm - depths_mm[0]
    basis = np.stack((np.ones(rows), away / 8.0, np.exp(-away / SHADOW_MM)))
    weight = shown.astype(np.float64)
    reach = round(max(WINDOW_MM / step, WINDOW_PX / px_per_row))
    gap = max(1, round(GAP_PX / px_per_row))
    counts = _running(weight)
    a0, a1, b0, b1 = _bounds(np.arange(rows), reach, gap, rows)
    over, under = counts[a1] - counts[a0], counts[b1] - counts[b0]
    usable = (over >= 2) & (under >= max(2.0, LEAST_BELOW_PX / px_per_row))
    possible = usable.sum(axis=1) >= 2
    told = np.flatnonzero(possible)
    part = slice(int(told[0]), int(told[-1]) + 1) if told.size else slice(0, 0)
    a0, a1, b0, b1 = a0[part], a1[part], b0[part], b1[part]
    pairs = ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))
    products = np.stack([basis[a] * basis[b] for a, b in pairs])
    moments = np.zeros((6, rows + 1, weight.shape[1]))
    np.cumsum(products[:, :, None] * weight, axis=1, out=moments[:, 1:])
    regions = np.empty((6, 3, a0.size, weight.shape[1]))
    regions[:, 0] = moments.take(a1, axis=1) - moments.take(a0, axis=1)
    regions[:, 1] = moments.take(b1, axis=1) - moments.take(b0, axis=1)
    regions[:, 2] = regions[:, 0] + regions[:, 1]
    beside = max(2, round(BESIDE_PX / px_per_row))
    return RegionPlan(
        basis[:, :, None],
        weight,
        part,
        (a0, a1, b0, b1),
        _inverse(regions, np.exp(away[part] / SHADOW_MM)[:, None]),
        usable[part].astype(np.float64),
        ((over + under) * usable)[part].sum(axis=1) + 1e-9,
        possible,
        (np.maximum(a0, a1 - beside), np.minimum(b1, b0 + beside)),
    )


def _bounds(j: Ints, reach: int, gap: int, rows: int) -> tuple[Ints, Ints, Ints, Ints]:
    return (
        np.maximum(j - reach, 0),
        np.maximum(j - gap + 1, 0),
        np.minimum(j + gap, rows),
        np.minimum(j + reach + 1, rows),
    )


def _running(values: Array) -> Array:
    """Return the sums of the first n rows, n from 0."""
    return np.concatenate((np.zeros((1, *values.shape[1:])), np.cumsum(values, axis=0)))


def _inverse(six: Array, scale: Array) -> Array:
    """Inverse of symmetric 3x3 matrices (six numbers each), ridge added; off the diagonal doubled.

    The shadow's ridge is meant for a shadow that starts at the row, hence its `scale`.
    """
    a, b, c, d, e, f = six
    a, d, f = a + RIDGE[0], d + RIDGE[1], f + RIDGE[2] / scale**2
    ad, be = d * f - e * e, c * e - b * f
    ce = b * e - c * d
    inverse = np.stack((ad, 2.0 * be, 2.0 * ce, a * f - c * c, 2.0 * (b * c - a * e), a * d - b * b))
    inverse /= a * ad + b * be + c * ce
    return inverse


def _explained(inverse: Array, y: Array) -> Array:
    """Sum of squares that a fit takes up: moments (3, ...) through inverses (6, ...)."""
    return np.asarray(
        y[0] * (inverse[0] * y[0] + inverse[1] * y[1] + inverse[2] * y[2])
        + y[1] * (inverse[3] * y[1] + inverse[4] * y[2])
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
    rows = luma.shape[0]
    if plan.rows.stop == 0:
        return Edges(np.full(rows, -np.inf), np.zeros(rows))
    y = (luma - luma.mean()) * (plan.weight / noise)
    runs = np.zeros((4, rows + 1, y.shape[1]))
    runs[0, 1:], runs[3, 1:] = y, y * y
    np.multiply(plan.basis[1:], y, out=runs[1:3, 1:])
    np.cumsum(runs, axis=1, out=runs)
    a0, a1, b0, b1 = plan.bounds
    above_end, below_start = runs.take(a1, axis=1), runs.take(b0, axis=1)
    sums = np.empty((4, 3, *plan.usable.shape))
    sums[:, 0] = above_end - runs.take(a0, axis=1)
    sums[:, 1] = runs.take(b1, axis=1) - below_start
    both = sums[:, 2] = sums[:, 0] + sums[:, 1]
    taken = _explained(plan.inverses, sums[:3])
    two = _over_sectors(np.maximum(both[3] - taken[0] - taken[1], 0.0), plan.usable)
    one = _over_sectors(np.maximum(both[3] - taken[2], 0.0), plan.usable)
    better = INDEPENDENT_SHARE * (one - two) / np.maximum(two / plan.floor, 1.0)
    found = 0.5 * EFFECTIVE_SAMPLES * np.log1p(np.maximum(better, 0.0) / EFFECTIVE_SAMPLES)
    brighter = _brighter_below(runs[0], above_end[0], below_start[0], plan) > 0.0
    possible = plan.possible[plan.rows]
    gain, darker = np.full(rows, -np.inf), np.zeros(rows)
    gain[plan.rows] = np.where(possible, np.where(brighter, found, DARKER_SHARE * found), -np.inf)
    darker[plan.rows] = np.where(possible & ~brighter, found, 0.0)
    return Edges(gain, darker)


def _over_sectors(values: Array, usable: Array) -> Array:
    return np.asarray(np.einsum("rs,rs->r", values, usable))


def _brighter_below(run: Array, above_end: Array, below_start: Array, plan: RegionPlan) -> Array:
    """Mean step (R,) from right above each row's gap to right below it, over the sectors that can tell."""
    _, a1, b0, _ = plan.bounds
    top, end = plan.beside
    over = (above_end - run.take(top, axis=0)) / np.maximum(a1 - top, 1)[:, None]
    under = (run.take(end, axis=0) - below_start) / np.maximum(end - b0, 1)[:, None]
    return _over_sectors(under - over, plan.usable)


def noise_of(luma: Floats, shown: Bools, apart: int) -> float:
    """Return the spread of one profile value, from rows `apart` rows apart."""
    step = np.abs(luma[apart:] - luma[:-apart])
    both = np.flatnonzero(shown[apart:] & shown[:-apart])
    if both.size < 8:
        return 2.0
    return max(middle(step.ravel().take(both)) / 0.6745 / 1.4142, 0.25)
