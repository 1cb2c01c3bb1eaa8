"""Is anything in the way? A ring of plaster around the rim, compared with how it looked before."""

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
from watcher.vision.middle import middle_of_columns
from watcher.vision.pose import CameraPose

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]

RING_MM = (2.5, 4.5, 6.5)
AROUND = 40
SWITCHED_RATIO = 1.08
SWITCHED_COLOUR = 3.5
SMALL_CHANGE = 0.10
"""Relative change of a ring sample that noise and slow light do not make."""


@dataclass(frozen=True, slots=True)
class RingPlan:
    """Pixels (3, N, 2) of the ring outside the rim, and which of them lie in the picture."""

    pixels: Floats
    inside: npt.NDArray[np.bool_]


def plan_ring(shape: HoleShape, place: HolePlace, camera: CameraPose, lens: Lens) -> RingPlan:
    """Lay a ring of samples around the rim, on the level of the mould's top."""
    around = np.arange(AROUND) * 2.0 * math.pi / AROUND
    rim = shape.radius_mm(0.0, around - place.yaw)
    radius = rim[None, :] + np.array(RING_MM)[:, None]
    points = np.stack(
        (
            place.rim_mm[0] + radius * np.cos(around),
            place.rim_mm[1] + radius * np.sin(around),
            np.full_like(radius, place.rim_mm[2]),
        ),
        axis=-1,
    )
    pixels = to_pixels(camera.to_camera(points), lens).astype(np.float32)
    x, y = pixels[..., 0], pixels[..., 1]
    inside = (x >= 1) & (y >= 1) & (x <= lens.width_px - 2) & (y <= lens.height_px - 2)
    return RingPlan(pixels, inside)


def sample_ring(image: Image, plan: RingPlan, shift_px: Array) -> Floats:
    """Ring samples (3, N, 3), in grey levels."""
    at = plan.pixels + shift_px.astype(np.float32)
    sampled = cv2.remap(image, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(cv2.blur(sampled.astype(np.float32), (3, 1)), dtype=np.float32)


def ring_change(ring: Floats, reference: Floats, plan: RingPlan) -> float:
    """Share of the ring that looks different.

    Both rings are first divided by their own median, so that light that changes everywhere at once cancels.
    """
    if plan.inside.sum() < 3 * AROUND // 4:
        return 0.0
    now, before = ring[plan.inside], reference[plan.inside]
    expected = before * (middle_of_columns(now) / np.maximum(middle_of_columns(before), 1.0)).astype(
        np.float32
    )
    away = np.abs(now - expected) / np.maximum(expected, 24.0)
    return float((away.max(axis=-1) > SMALL_CHANGE).mean())


def ring_light(bgr: Array) -> tuple[float, float]:
    """Brightness of the ring and its colour, red less blue in hundredths of it, from its median (3,)."""
    luma = max(float(0.114 * bgr[0] + 0.587 * bgr[1] + 0.299 * bgr[2]), 1.0)
    return luma, 100.0 * float(bgr[2] - bgr[0]) / luma


def light_switched(now: tuple[float, float], before: tuple[float, float]) -> bool:
    """Tell a lamp or a shutter from light that drifts: much brighter, darker or another colour at once."""
    brighter = max(now[0], before[0]) / min(now[0], before[0])
    return brighter > SWITCHED_RATIO or abs(now[1] - before[1]) > SWITCHED_COLOUR
