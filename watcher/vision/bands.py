"""Top, band of bare wall and slip fitted at many places of both edges at once.

The three parts meet at two blurred edges: where the top (or what else lies above the band) ends, and where
the slip begins. Every entry of every fit's normal matrix is a sum over rows of a function of the one edge
times a function of the other, so all of them come out of a few products of matrices; eliminating one unknown
after the other in all fits together then costs a few steps whatever their number.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

Array = npt.NDArray[np.float64]

BLUR_PX = 0.5
"""Spread of the line where the slip begins to climb: the sharpest part of what a camera sees of it. [px]"""
RIM_BLUR_PX = 1.0
"""Spread of the rim's edge: lens, demosaicing, and the rim's rounding. [px]"""
SHADOW_MM = 3.0
"""Length over which the climb of the slip and the dark of the corner fade out. [mm]"""
RIDGE = (1e-3, 6.0, 1e-3, 0.3, 1e-3, 1.0)
"""Penalty on level and slope (per eight millimetres) of the wall, level and shadow of the slip, and the
same two of the top, in rows' weight."""
T0, T1, W1, S1, W0, S0 = range(6)
"""Order in which the unknowns are eliminated: level and slope of the top, slope of the wall, shadow of the
slip; the levels of wall and slip stay for the end, as their difference is asked for."""


def fit_bands(
    z: Array, y: Array, tried_mm: Array, ends_mm: Array | None, px_per_mm: float
) -> tuple[Array, Array]:
    """Fit at every place of the line and every place where the top ends, the same in all sectors.

    Parameters
    ----------
    z : ndarray (J,)
        Depths of the rows. [mm]
    y : ndarray (J, S)
        Brightness, less its mean. [grey levels]
    tried_mm : ndarray (T,)
        Depths at which the line is tried. [mm]
    ends_mm : ndarray (E,) or None
        Depths at which the top ends; None: it is out of reach, and E is 1. [mm]
    px_per_mm : float

    Returns
    -------
    left : ndarray (T, E, S)
        Squares that the fit leaves. [grey levels squared]
    steps : ndarray (T, E, S)
        By how much the slip is brighter than the wall. [grey levels]
    """
    wall, slip = _below_top(z, tried_mm, px_per_mm)
    if ends_mm is None:
        explained, steps = _without_top(np.concatenate((wall, slip)).swapaxes(0, 1), y)
    else:
        away = z - ends_mm[:, None]
        under = ndtr(away * (px_per_mm / RIM_BLUR_PX))
        over = 1.0 - under
        sloped = over * np.minimum(away, 0.0) * 0.125
        normal = _normal(wall, slip, under, np.ones_like(under))
        _add_top(normal, wall, slip, under, over, sloped)
        moments = _moments(wall, slip, under.T[:, :, None] * y[:, None], y[:, None])
        moments[T0], moments[T1] = over @ y, sloped @ y
        explained, steps = _eliminate(normal, moments)
    return np.maximum(np.einsum("js,js->s", y, y) - explained, 0.0), steps


def fit_bands_apart(
    z: Array, y: Array, used: Array, tried_mm: Array, ends_mm: Array, px_per_mm: float
) -> tuple[Array, Array]:
    """Fit as `fit_bands` does where what lies above the band ends elsewhere in every sector.

    Parameters
    ----------
    y : ndarray (J, S)
        Brightness. [grey levels]
    used : ndarray (E, S, J)
        1 for rows that count, 0 for the others.
    ends_mm : ndarray (E, S)

    Returns
    -------
    left, steps : ndarray (E, S, T)
    """
    wall, slip = _below_top(z, tried_mm, px_per_mm)
    away = z - ends_mm.reshape(-1, 1)
    rows_used = used.reshape(-1, z.size)
    under = ndtr(away * (px_per_mm / RIM_BLUR_PX))
    over = (1.0 - under) * rows_used
    sloped = over * np.minimum(away, 0.0) * 0.125
    normal = _normal(wall, slip, under, rows_used)
    _add_top(normal, wall, slip, under, over, sloped)
    told = (used * y.T).reshape(-1, z.size)
    moments = _moments(wall, slip, (under * told).T[..., None], told.T[..., None])
    moments[T0], moments[T1] = (np.einsum("mj,mj->m", top, told)[:, None] for top in (over, sloped))
    explained, steps = _eliminate(normal, moments)
    left = np.maximum(np.einsum("mj,mj->m", told, told) - explained[..., 0], 0.0)
    return left.T.reshape(*ends_mm.shape, -1), steps[..., 0].T.reshape(*ends_mm.shape, -1)


def _without_top(basis: Array, y: Array) -> tuple[Array, Array]:
    """Fit wall and slip alone, basis (T, 4, J): squares explained and slip less wall, (T, 1, S) each."""
    moments = basis @ y
    solved = np.linalg.solve(basis @ basis.swapaxes(1, 2) + np.diag(RIDGE[:4]), moments)
    return np.einsum("tks,tks->ts", solved, moments)[:, None], (solved[:, 2] - solved[:, 0])[:, None]


def _below_top(z: Array, tried_mm: Array, px_per_mm: float) -> tuple[Array, Array]:
    """Wall's level and slope, slip's level and shadow, for every place of the line: (2, T, J) each."""
    away = z - tried_mm[:, None]
    slip = ndtr(away * (px_per_mm / BLUR_PX))
    wall = 1.0 - slip
    shadow = slip * np.exp(np.maximum(away, 0.0) * (-1.0 / SHADOW_MM))
    return np.stack((wall, wall * away * 0.125)), np.stack((slip, shadow))


def _sums(functions: Array, weights: Array) -> Array:
    """Sum functions (..., T, J) of the line over rows with weights (M, J): (..., T, M)."""
    flat = functions.reshape(-1, functions.shape[-1]) @ weights.T
    return np.asarray(flat.reshape(*functions.shape[:-1], weights.shape[0]))


def _normal(wall: Array, slip: Array, under: Array, used: Array) -> Array:
    """Upper half of the normal matrices (6, 6, T, M), those of the top left out."""
    normal = np.zeros((6, 6, wall.shape[1], under.shape[0]))
    of_wall = _sums(np.stack((wall[0] * wall[0], wall[0] * wall[1], wall[1] * wall[1])), under * under * used)
    normal[W0, W0], normal[W1, W0], normal[W1, W1] = of_wall
    of_slip = _sums(np.stack((slip[0] * slip[0], slip[0] * slip[1], slip[1] * slip[1])), used)
    normal[S0, S0], normal[S1, S0], normal[S1, S1] = of_slip
    both = _sums(wall[:, None] * slip[None], under * used)
    normal[W0, S0], normal[S1, W0] = both[0]
    normal[W1, S0], normal[W1, S1] = both[1]
    for k, ridge in zip((W0, W1, S0, S1, T0, T1), RIDGE, strict=True):
        normal[k, k] += ridge
    return normal


def _add_top(normal: Array, wall: Array, slip: Array, under: Array, over: Array, sloped: Array) -> None:
    """Put in what belongs to the top: `over` and `sloped` (M, J) are its level and slope."""
    for k, top in ((T0, over), (T1, sloped)):
        normal[k, W0], normal[k, W1] = _sums(wall, top * under)
        normal[k, S0], normal[k, S1] = _sums(slip, top)
    normal[T0, T0] += np.einsum("mj,mj->m", over, over)
    normal[T0, T1] += np.einsum("mj,mj->m", over, sloped)
    normal[T1, T1] += np.einsum("mj,mj->m", sloped, sloped)


def _moments(wall: Array, slip: Array, under_y: Array, y: Array) -> Array:
    """Moments (6, T, M, R) of brightness (J, M or 1, R), that of the wall under the top's end apart."""
    rows, ends, each = under_y.shape
    moments = np.empty((6, wall.shape[1], ends, each))
    on_wall = wall.reshape(-1, rows) @ under_y.reshape(rows, -1)
    moments[W0], moments[W1] = on_wall.reshape(2, -1, ends, each)
    on_slip = slip.reshape(-1, rows) @ y.reshape(rows, -1)
    moments[S0], moments[S1] = on_slip.reshape(2, -1, *y.shape[1:])
    return moments


def _eliminate(normal: Array, moments: Array) -> tuple[Array, Array]:
    """Solve all fits; return the squares explained and slip less wall, (T, M, R) each. Both are used up."""
    explained = np.zeros(moments.shape[1:])
    for k in range(S0):
        scale = 1.0 / normal[k, k]
        share = normal[k, k + 1 :] * scale
        explained += moments[k] * moments[k] * scale[..., None]
        normal[k + 1 :, k + 1 :] -= share[:, None] * normal[k, k + 1 :]
        moments[k + 1 :] -= share[..., None] * moments[k]
    slip = moments[S0] / normal[S0, S0][..., None]
    explained += slip * moments[S0]
    wall = (moments[W0] - normal[W0, S0][..., None] * slip) / normal[W0, W0][..., None]
    return explained, slip - wall
