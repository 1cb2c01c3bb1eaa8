"""Belief about the level over depth, carried from frame to frame: slip sinks, it rises only when poured."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

SPREAD_MM = 0.15
POUR_CHANCE = 0.15
STRAY_CHANCE = 1e-9
SLIP_BY = 1e-3
FURTHER_MM = 3.0
START_SIGMA_MM = 1.2


@dataclass(frozen=True, slots=True)
class Belief:
    """Chance of each depth row (J,) and of `below`: under all that can be seen. They sum to 1."""

    rows: Array
    below: float


def fresh(depths_mm: Array, seen_rows: npt.NDArray[np.bool_]) -> Belief:
    """Know nothing: every row that can be seen is as likely."""
    rows = np.where(seen_rows, 1.0, 0.0)
    total = float(rows.sum())
    return Belief(rows / total * 0.999, 0.001) if total > 0.0 else Belief(rows, 1.0)


def sink(belief: Belief, step_mm: float, expected_mm: float, pour: float) -> Belief:
    """Let time pass: sink by about `expected_mm` (exponential), spread a little, jump with chance `pour`."""
    rows = belief.rows
    mean_rows = max(expected_mm / step_mm, 1e-3)
    reach = int(min(max(4.0, 6.0 * mean_rows + 4.0), rows.size - 1))
    fall = np.exp(-np.arange(reach + 1) / mean_rows)
    fall /= fall.sum()
    wide = int(np.ceil(3.0 * SPREAD_MM / step_mm))
    i = np.arange(-wide, wide + 1)
    blur = np.exp(-0.5 * (i * step_mm / SPREAD_MM) ** 2)
    kernel = np.convolve(fall, blur / blur.sum())
    moved = np.convolve(rows, kernel)
    kept = moved[wide : wide + rows.size].copy()
    kept[0] += float(moved[:wide].sum())
    lost = float(moved[wide + rows.size :].sum())
    stay = np.exp(-expected_mm / max(4.0 * step_mm, 1e-6))
    back = belief.below * 0.02 * (1.0 - stay)
    below = belief.below - back + lost
    if back > 0.0:
        kept[-min(4, rows.size) :] += back / min(4, rows.size)
    kept = (1.0 - pour - SLIP_BY) * kept + pour * _above(rows) + SLIP_BY * _beyond(rows, step_mm)
    kept += pour * below / rows.size
    below = (1.0 - pour - SLIP_BY) * below
    total = float(kept.sum()) + below
    return Belief(kept / total, below / total)


def _above(rows: Array) -> Array:
    """Where a pour can lift the level to: any row above each, alike."""
    share = rows / np.arange(1, rows.size + 1)
    return np.cumsum(share[::-1])[::-1]


def _beyond(rows: Array, step_mm: float) -> Array:
    """Where the level can be found after a mistake: some millimetres further down."""
    reach = max(2, int(4.0 * FURTHER_MM / step_mm))
    tail = np.exp(-np.arange(reach) * step_mm / FURTHER_MM)
    return np.convolve(rows, tail / tail.sum())[: rows.size]


def weigh(belief: Belief, log_rows: Array, log_below: float) -> tuple[Belief, float]:
    """Meet a frame: multiply by its likelihood; also return the log of the evidence."""
    finite = np.isfinite(log_rows)
    top = max(float(log_rows[finite].max()) if finite.any() else -np.inf, log_below)
    rows = belief.rows * np.where(finite, np.exp(np.clip(log_rows - top, -80.0, 0.0)), 0.0)
    below = belief.below * float(np.exp(max(log_below - top, -80.0)))
    total = float(rows.sum()) + below
    if total <= 0.0:
        return belief, -np.inf
    return Belief(rows / total, below / total), float(np.log(total) + top)


def mass_near(belief: Belief, depths_mm: Array, at_mm: float, within_mm: float) -> float:
    """Chance that the level lies within `within_mm` of `at_mm`."""
    return float(belief.rows[np.abs(depths_mm - at_mm) <= within_mm + 1e-9].sum())
