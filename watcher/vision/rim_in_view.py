"""Is a hole's rim to be seen at all? Whatever lies over it shows no edge where the rim must be."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.vision.middle import middle_of_columns
from watcher.vision.strip import StripPlan

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]

REACH_MM, STEP_MM = 8.0, 0.5
ACROSS_MM = 2.0
"""An edge is the difference of the means over this much on either side of it. [mm]"""
RIM_WITHIN_MM = 1.0
BESIDE_MM = 4.5
UNLIKE = 8.0
LEAST_STEP = 3.0
BURNT = 252.0
PLAIN = 2.5
"""The rim shows where its edge is so many grey levels or more, and so many times what the top around has."""


def around_rim(image: Image, plan: StripPlan, shift_px: Array) -> Floats:
    """Sample the picture across the rim: (N, M, 3) grey levels, N directions, from inside to outside."""
    middle = plan.ring_xy.mean(axis=0)
    away = np.arange(-REACH_MM, REACH_MM + 0.01, STEP_MM)
    radius = float(np.interp(0.0, plan.shape.depths_mm, plan.shape.radii_mm))
    scale = 1.0 + away / radius
    at = middle + (plan.ring_xy - middle)[:, None, :] * scale[None, :, None] + shift_px
    xy = at.astype(np.float32)
    taken = cv2.remap(image, xy[..., 0], xy[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(taken, dtype=np.float32)


def rim_share(patch: Floats) -> float:
    """Share of the rim (0 to 1) along which an edge is seen where it must be.

    Parameters
    ----------
    patch : ndarray (N, M, 3)
        As `around_rim` takes it.
    """
    half = round(ACROSS_MM / STEP_MM)
    padded = np.concatenate((patch[-1:], patch, patch[:1]), axis=0)
    even = (padded[:-2] + padded[1:-1] + padded[2:]) / 3.0
    sums = np.cumsum(np.pad(even, ((0, 0), (1, 0), (0, 0))), axis=1)
    means = (sums[:, half:] - sums[:, :-half]) / half
    step = np.abs(means[:, half:] - means[:, :-half]).max(axis=2)
    at = -REACH_MM + ACROSS_MM + STEP_MM * np.arange(step.shape[1]) - 0.5 * STEP_MM
    rim = step[:, np.abs(at) <= RIM_WITHIN_MM + 0.1].max(axis=1)
    usual = middle_of_columns(step[:, at >= BESIDE_MM].T)
    return float((rim > np.maximum(LEAST_STEP, PLAIN * usual)).mean())


def unlike(patch: Floats) -> bool:
    """Tell whether inside and outside of the rim differ in colour: then nothing lies over both."""
    count = round((REACH_MM - RIM_WITHIN_MM - 1.0) / STEP_MM)
    inside, outside = patch[:, :count].mean(axis=(0, 1)), patch[:, -count:].mean(axis=(0, 1))
    return float(np.abs(inside - outside).max()) > UNLIKE


def burnt_share(patch: Floats) -> float:
    """Share of what lies inside the rim (0 to 1) that is burnt out in every colour."""
    inside = patch[:, : patch.shape[1] // 2]
    return float((inside.min(axis=2) >= BURNT).mean())
