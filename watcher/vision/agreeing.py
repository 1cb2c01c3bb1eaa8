"""One level out of what several pour holes of one mould say: slip stands alike in all of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from watcher.records.readings import LevelReading

SHARED_SHARE = 0.5
"""Of the variance that stays from frame to frame (card, clay, meniscus) so much is taken to be the same in
all holes of a mould; how much it truly is was not measured."""
OUTLYING = 3.0
DUE_SIGMA_MM = 0.5
MOST_APART_MM = 4.0
"""Two holes that say levels so far apart, with nothing to tell which is wrong, give none."""


@dataclass(frozen=True, slots=True)
class Agreed:
    """A level that holes agree on, and the weight (0 to 1, sum 1) of each; 0: left out as wrong."""

    reading: LevelReading
    weights: tuple[float, ...]


def agreed(readings: Sequence[LevelReading], due_mm: float | None) -> Agreed | None:
    """Combine the levels read in the holes of one mould in one picture.

    Weighted by the variance that each hole has to itself. Three witnesses, the level that is due among them,
    put out the one that is wrong. Two alone cannot: their difference then goes into the spread. Holes that
    differ by more than they claim stretch the spread by what they differ more (the scale factor of the
    Particle Data Group's averages, from memory).

    Parameters
    ----------
    readings : sequence of LevelReading
        At least one.
    due_mm : float or None
        Where the level should be by the last one read. [mm]

    Returns
    -------
    Agreed or None
        None where they contradict each other and nothing tells which is wrong.
    """
    level = np.array([r.level_mm for r in readings])
    sigma = np.array([r.sigma_mm for r in readings])
    drift = np.array([r.drift_sigma_mm for r in readings])
    lasting = np.maximum(sigma**2 - drift**2, 0.0)
    shared = SHARED_SHARE * float(lasting.min())
    own = sigma**2 - shared
    kept = _kept(level, own, due_mm)
    if not kept.any():
        return None
    weight = np.where(kept, 1.0 / own, 0.0)
    weight /= weight.sum()
    mean = float(weight @ level)
    count = int(kept.sum())
    spread = float((kept * (level - mean) ** 2 / own).sum())
    stretch = math.sqrt(max(spread / (count - 1), 1.0)) if count > 1 else 1.0
    variance = float((weight**2) @ own) * stretch**2
    best = readings[int(np.argmax(weight))]
    made = replace(
        best,
        level_mm=mean,
        sigma_mm=math.sqrt(shared + variance),
        drift_sigma_mm=math.sqrt(float((weight**2) @ drift**2)) * stretch,
        confidence=max(r.confidence for r, k in zip(readings, kept, strict=True) if k),
        clay_mm=float(weight @ [r.clay_mm for r in readings]),
        mm_per_clay_mm=float(weight @ [r.mm_per_clay_mm for r in readings]),
        rim_share=float(weight @ [r.rim_share for r in readings]),
        clay_sigma_mm=float(weight @ [r.clay_sigma_mm for r in readings]),
    )
    return Agreed(made, tuple(float(w) for w in weight))


def _kept(
    level: np.ndarray[tuple[int], np.dtype[np.float64]],
    own: np.ndarray[tuple[int], np.dtype[np.float64]],
    due_mm: float | None,
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Which holes (N,) are believed."""
    all_of_them = np.ones(level.size, dtype=np.bool_)
    apart = float(np.ptp(level))
    if level.size == 1 or apart <= OUTLYING * math.sqrt(2.0 * float(own.mean())):
        return all_of_them
    witnesses = level if due_mm is None else np.append(level, due_mm)
    if witnesses.size < 3:
        return all_of_them if apart <= MOST_APART_MM else ~all_of_them
    middle = float(np.median(witnesses))
    near = np.abs(level - middle) <= OUTLYING * np.sqrt(own + DUE_SIGMA_MM**2)
    return np.asarray(near, dtype=np.bool_)
