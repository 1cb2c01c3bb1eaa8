"""An upright sheet through a pour hole's middle, seen face on: what falls straight stands straight in it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.layout import Lens
from watcher.vision.holes import HolePlace, HoleShape, far_azimuth, steepness
from watcher.vision.lens import to_pixels
from watcher.vision.pose import CameraPose

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]

STEP_MM = 0.75
OVER_MM = 16.0
"""How far above the far rim the sheet reaches: there nothing but a stream changes the view. [mm]"""

BESIDE_MM = 7.0
"""How far the sheet reaches past the rim on either side, for the flanks of a stream at the rim. [mm]"""


@dataclass(frozen=True, slots=True)
class Curtain:
    """Where the sheet's points lie in the picture.

    Attributes
    ----------
    across_mm : ndarray (U,)
        Sideways from the hole's middle, to the right of the picture. [mm]
    height_mm : ndarray (H,)
        Above the rim's level at the hole's middle, falling. [mm]
    pixels : ndarray (H, U, 2)
        (x, y). [px]
    far_mm : ndarray (U,)
        Height at which the far rim is seen behind the sheet. [mm]
    radius_mm : float
        Half width of the hole across the view. [mm]
    px_per_mm : float
    """

    across_mm: Array
    height_mm: Array
    pixels: Floats
    far_mm: Array
    radius_mm: float
    px_per_mm: float


def plan_curtain(shape: HoleShape, place: HolePlace, camera: CameraPose, lens: Lens) -> Curtain | None:
    """Lay the sheet for a hole; None where too little of it is in the picture."""
    eye = camera.eye_mm()
    far = far_azimuth(place, eye)
    side = np.array([math.sin(far), -math.cos(far), 0.0])
    radius = float(shape.radius_mm(0.0, far - 0.5 * math.pi - place.yaw))
    deep = float(shape.radius_mm(0.0, far - place.yaw))
    flatness = 1.0 / math.tan(max(steepness(place, eye), 0.15))
    across = np.arange(-radius - BESIDE_MM, radius + BESIDE_MM + 1e-6, STEP_MM)
    half = deep * np.sqrt(np.maximum(1.0 - (across / radius) ** 2, 0.0)) * flatness
    height = np.arange(float(half.max()) + OVER_MM, -float(half.max()), -STEP_MM)
    points = place.rim_mm + across[None, :, None] * side + height[:, None, None] * np.array([0.0, 0.0, 1.0])
    pixels = to_pixels(camera.to_camera(points), lens).astype(np.float32)
    x, y = pixels[..., 0], pixels[..., 1]
    shown = (x >= 1) & (y >= 1) & (x <= lens.width_px - 2) & (y <= lens.height_px - 2)
    if shown.mean() < 0.8:
        return None
    middle = pixels[height.size // 2]
    scale = float(np.hypot(*(middle[-1] - middle[0])) / (across[-1] - across[0]))
    return Curtain(across, height, pixels, half, radius, scale)


def hang(image: Image, curtain: Curtain) -> Floats:
    """Return the sheet as it is seen (H, U, 3): luma, red less blue, blue less green, in grey levels."""
    at = curtain.pixels
    bgr = cv2.remap(image, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).astype(
        np.float32
    )
    b, g, r = bgr[..., 0], bgr[..., 1], bgr[..., 2]
    return np.stack((0.114 * b + 0.587 * g + 0.299 * r, r - b, b - g), axis=-1)
