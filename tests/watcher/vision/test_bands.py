"""Fits of top, wall and slip made for many places at once, against one least-squares fit after the other."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from scipy.special import ndtr

from watcher.vision.bands import BLUR_PX, RIDGE, RIM_BLUR_PX, SHADOW_MM, fit_bands, fit_bands_apart

Array = npt.NDArray[np.float64]

PX_PER_MM = 1.7
Z = np.arange(-3.0, 12.0, 0.25, dtype=np.float64)
TRIED: Array = np.arange(4.0, 6.6, 0.25)
ENDS: Array = np.array([0.2, 0.9, 2.4])


def drawn(sectors: int, seed: int) -> Array:
    """Draw a wall (J, S) with a top, a band and slip, its shading bent and noisy."""
    noise = np.random.default_rng(seed)
    levels = noise.uniform(60.0, 160.0, size=(3, sectors))
    top, band = ndtr((0.8 - Z) * 2.0)[:, None], ndtr((5.1 - Z) * 3.0)[:, None]
    wall = top * levels[0] + (1.0 - top) * (band * levels[1] + (1.0 - band) * levels[2])
    return np.asarray(wall + 0.02 * Z[:, None] ** 2 + noise.normal(0.0, 1.5, size=wall.shape))


def one_fit(y: Array, at_mm: float, end_mm: float | None, used: Array | None = None) -> tuple[float, float]:
    """Fit one column (J,) by QR with the penalties as rows of their own: what is left, and the step."""
    away = Z - at_mm
    slip = ndtr(away * PX_PER_MM / BLUR_PX)
    wall = 1.0 - slip
    columns = [wall, wall * away / 8.0, slip, slip * np.exp(-np.maximum(away, 0.0) / SHADOW_MM)]
    if end_mm is not None:
        under = ndtr((Z - end_mm) * PX_PER_MM / RIM_BLUR_PX)
        columns[:2] = [column * under for column in columns[:2]]
        columns += [1.0 - under, (1.0 - under) * np.minimum(Z - end_mm, 0.0) / 8.0]
    basis = np.stack(columns, axis=1)
    if used is not None:
        basis, y = basis * used[:, None], y * used
    held = np.diag(np.sqrt(RIDGE[: basis.shape[1]]))
    both, goal = np.vstack((basis, held)), np.concatenate((y, np.zeros(basis.shape[1])))
    solved = np.linalg.lstsq(both, goal, rcond=None)[0]
    return float(((goal - both @ solved) ** 2).sum()), float(solved[2] - solved[0])


def test_every_place_of_both_edges_is_fitted_as_a_fit_of_its_own_would_be() -> None:
    y = drawn(4, 1)
    y -= y.mean()
    left, steps = fit_bands(Z, y, TRIED, ENDS, PX_PER_MM)
    assert left.shape == steps.shape == (TRIED.size, ENDS.size, 4)
    for t, e, s in ((0, 0, 0), (5, 1, 3), (10, 2, 1), (3, 2, 2)):
        alone = one_fit(y[:, s], TRIED[t], ENDS[e])
        assert (left[t, e, s], steps[t, e, s]) == pytest.approx(alone, rel=1e-7)


def test_a_line_far_below_the_rim_is_fitted_without_a_top() -> None:
    y = drawn(3, 2)
    y -= y.mean()
    left, steps = fit_bands(Z, y, TRIED, None, PX_PER_MM)
    for t, s in ((0, 0), (6, 2)):
        alone = one_fit(y[:, s], TRIED[t], None)
        assert (left[t, 0, s], steps[t, 0, s]) == pytest.approx(alone, rel=1e-7)


def test_a_top_that_ends_elsewhere_in_every_sector_is_fitted_there_from_the_rows_that_count() -> None:
    y = drawn(3, 3) - 110.0
    ends: Array = ENDS[:, None] + np.array([0.0, 0.15, 0.4])
    used = (Z >= ends[..., None] - 1.5).astype(np.float64)
    left, steps = fit_bands_apart(Z, y, used, TRIED, ends, PX_PER_MM)
    assert left.shape == steps.shape == (3, 3, TRIED.size)
    for e, s, t in ((0, 0, 0), (1, 2, 7), (2, 1, 4)):
        alone = one_fit(y[:, s], TRIED[t], ends[e, s], used[e, s])
        assert (left[e, s, t], steps[e, s, t]) == pytest.approx(alone, rel=1e-7)
