"""An empty mould's own rim: where it really lies when its card or place is off by millimetres."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.layout import Lens
from watcher.vision.holes import HolePlace, HoleShape
from watcher.vision.lens import to_pixels
from watcher.vision.pose import CameraPose

Array = npt.NDArray[np.float64]

REACH_MM = 13.0
STEP_MM = 0.5
AROUND = 72
EDGE_HALF_MM = 2.0
LEAST_STEP = 6.0
"""Grey levels by which the cavity must be darker than the top just outside its rim."""
LEAST_ROUND = 0.55
WORST_SCATTER_MM = 1.2


@dataclass(frozen=True, slots=True)
class RimFound:
    """How far (x, y) the rim lies from where it was thought, in the bench frame; the fit's scatter; mm."""

    shift_mm: Array
    scatter_mm: float


def find_rim(
    image: Image, shape: HoleShape, place: HolePlace, camera: CameraPose, lens: Lens, shake_px: Array
) -> RimFound | None:
    """Fit the rim's known outline to the edge between an empty hole and the top around it.

    The picture is sampled along rays from the rim's centre on the level of the top. Along each ray the top
    ends where the picture turns darkest inwards; a shift of the whole outline is fitted to those ends, rays
    that do not agree left out. None where too few do.
    """
    around = np.arange(AROUND) * 2.0 * math.pi / AROUND
    radius = shape.radius_mm(0.0, around - place.yaw)
    away = np.arange(-REACH_MM - EDGE_HALF_MM, REACH_MM + EDGE_HALF_MM + 0.01, STEP_MM)
    along = np.maximum(radius[:, None] + away[None, :], 0.0)
    x = place.rim_mm[0] + along * np.cos(around)[:, None]
    y = place.rim_mm[1] + along * np.sin(around)[:, None]
    points = np.stack((x, y, np.full_like(x, place.rim_mm[2])), axis=-1)
    at = (to_pixels(camera.to_camera(points), lens) + shake_px).astype(np.float32)
    grey = cv2.remap(image, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)[..., 1]
    half = round(EDGE_HALF_MM / STEP_MM)
    sums = np.cumsum(np.pad(grey.astype(np.float64), ((0, 0), (1, 0))), axis=1)
    means = (sums[:, half:] - sums[:, :-half]) / half
    step = means[:, half:] - means[:, :-half]
    best = np.argmax(step, axis=1)
    ends = away[0] + (best + half) * STEP_MM - 0.5 * STEP_MM
    firm = step[np.arange(AROUND), best] > LEAST_STEP
    return _agree(around, ends, firm)


def _agree(around: Array, ends: Array, firm: npt.NDArray[np.bool_]) -> RimFound | None:
    """Fit shift and widening to the rays' ends, leaving out those that do not agree."""
    design = np.column_stack((np.cos(around), np.sin(around), np.ones(around.size)))
    keep = firm.copy()
    solved = np.zeros(3)
    for limit in (6.0, 3.0, 2.0, 1.5):
        if keep.sum() < LEAST_ROUND * around.size:
            return None
        solved = np.linalg.lstsq(design[keep], ends[keep], rcond=None)[0]
        keep = firm & (np.abs(design @ solved - ends) < limit)
    if keep.sum() < LEAST_ROUND * around.size:
        return None
    scatter = float(np.sqrt(np.mean((design[keep] @ solved - ends[keep]) ** 2)))
    if scatter > WORST_SCATTER_MM or abs(float(solved[2])) > 2.0:
        return None
    return RimFound(solved[:2], scatter)
