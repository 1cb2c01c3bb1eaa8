"""A plain baseline: the slip as a blob of pixels in the pour hole, its edge taken for the level.

What somebody writes in an afternoon: split the pixels inside the rim in two by brightness (Otsu), take the
largest blob that reaches down to the near side, and turn the distance of its upper edge from the far rim into
depth. No film, no cake, no memory. It is helped where it can be: the rim's true place is given to it.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
import numpy.typing as npt

from watcher.proof.true_view import TrueHole
from watcher.records.frames import Image

HALF_WIDTH = 0.35
"""The upper edge is looked for in so much of the hole's half width, either side of its middle."""
RIM_PX = 2
"""The rim's own edge, so many pixels wide, is left out: it is as bright as the plaster round it. [px]"""
LEAST_SHARE = 0.1
"""A blob smaller than this share of what is inside the rim is no slip."""


def threshold_level_mm(image: Image, hole: TrueHole) -> float | None:
    """Read the level of a pour hole by its blob; None where there is none.

    Parameters
    ----------
    image : ndarray (rows, cols, 3)
        The picture, BGR.
    hole : TrueHole
    """
    ring = hole.ring_px(0.0)
    left, top = np.floor(ring.min(axis=0)).astype(int)
    right, bottom = np.ceil(ring.max(axis=0)).astype(int)
    rows, cols = image.shape[:2]
    if left < 0 or top < 0 or right >= cols or bottom >= rows or right - left < 6 or bottom - top < 6:
        return None
    grey = cv2.cvtColor(image[top : bottom + 1, left : right + 1], cv2.COLOR_BGR2GRAY)
    grey = np.asarray(cv2.GaussianBlur(grey, (3, 3), 0))
    inside = np.zeros(grey.shape, np.uint8)
    cv2.fillPoly(inside, [np.round(ring - (left, top)).astype(np.int32)], 1)
    inside = cv2.erode(inside, np.ones((3, 3), np.uint8), iterations=RIM_PX, borderValue=0)
    if not inside.any():
        return None
    blob = _blob(grey, inside.astype(bool))
    return None if blob is None else _depth_mm(blob, ring - (left, top), hole)


def _blob(grey: npt.NDArray[np.uint8], inside: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_] | None:
    split, _ = cv2.threshold(grey[inside].reshape(1, -1), 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    near_rows = np.flatnonzero(inside.any(axis=1))
    lower = inside.copy()
    lower[: int(np.quantile(near_rows, 0.75))] = False
    bright = float(np.median(grey[lower])) > split
    own = inside & ((grey > split) == bright)
    whole = cv2.morphologyEx(own.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(whole, connectivity=4)
    if count < 2:
        return None
    largest = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    if stats[largest, cv2.CC_STAT_AREA] < LEAST_SHARE * int(inside.sum()):
        return None
    return np.asarray(labels == largest)


def _depth_mm(blob: npt.NDArray[np.bool_], ring: npt.NDArray[np.float64], hole: TrueHole) -> float | None:
    """Distance from the far rim down to the blob's upper edge, over the pixels that a mm of depth takes."""
    middle, reach = ring[:, 0].mean(), HALF_WIDTH * np.ptp(ring[:, 0]) / 2.0
    cols = np.arange(math.ceil(middle - reach), math.floor(middle + reach) + 1)
    cols = cols[(cols >= 0) & (cols < blob.shape[1])]
    cols = cols[blob[:, cols].any(axis=0)]
    if cols.size == 0:
        return None
    upper = np.median(np.argmax(blob[:, cols], axis=0))
    far_row = ring[0, 1]
    px_per_mm = (hole.points_px(10.0, 0.0, np.zeros(1)) - hole.points_px(0.0, 0.0, np.zeros(1)))[0, 1] / 10.0
    if px_per_mm <= 0.0:
        return None
    return float((upper - far_row) / px_per_mm)
