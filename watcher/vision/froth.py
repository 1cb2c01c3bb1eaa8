"""Froth on the slip: its surface is covered with small bubbles, where slip lies smooth."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.readings import Missed
from watcher.vision.level import Line
from watcher.vision.memory import MouldMemory
from watcher.vision.strip import StripPlan

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]

FINE_PX, COARSE_PX, AROUND_PX = 0.8, 2.5, 9
"""Bubbles are as large as this; the share of a picture that changes slower is shading. [px]"""
CLEAR_PX = 4
"""So far from rim and line their blur and what is left of them in the average do not reach. [px]"""
NEAR = np.ones((2 * CLEAR_PX + 1, 2 * CLEAR_PX + 1), np.uint8)
TOP_SCALE = 1.4
LEAST_PIXELS = 60
SURFACE_PART, TOP_PART = 30.0, 50.0
"""Percentiles: bubbles are nearly everywhere, an edge or a gleam is not."""

SURELY, LIKELY, SETTLED = 3.0, 2.0, 1.6
"""Settled slip was never more restless than 1.7 times the plaster beside it, slip that runs in 2.5 times (26
recordings); what is between is froth if it is still there at the next look."""
OF_CALM, LEAST = 3.5, 1.6
"""Where this hole's slip was seen smooth before, so many times what it had then is likely froth."""
CALM_LOOKS = 2
"""Froth comes with a pour: after so many smooth looks it is not asked for until the next one."""
FULL_MM, DEEPEST_MM, DEEPEST_RADII = 3.0, 12.0, 0.6
"""Where slip stands that was just poured in; how deep enough of its surface is in view. [mm, mm, radii]"""
LINE_GAIN = 9.0
LONGEST_S = 900.0
RISEN_MM = 3.0
"""Once levels of a filling were read, only slip that stands so much higher was poured in. [mm]"""


def froth_on(
    image: Image, plan: StripPlan, memory: MouldMemory, line: Line | None, shift_px: Array, now_s: float
) -> tuple[Missed | None, MouldMemory]:
    """Tell whether froth stands on the slip in a hole; asked from a pour until the slip lies smooth.

    The surface is what lies below the strongest line of this very picture, be it slip's or froth's.
    """
    if memory.calm_looks >= CALM_LOOKS:
        return None, memory
    at_mm = FULL_MM
    if line is not None and line.gain > LINE_GAIN:
        at_mm = float(plan.depths_mm[int(np.argmax(line.log_rows))])
    poured_s = memory.filled_s if memory.poured_s is None else memory.poured_s
    long_ago = poured_s is not None and now_s - poured_s > LONGEST_S
    lower = memory.level_mm is not None and at_mm > memory.level_mm - RISEN_MM
    sunk = memory.top_mm is not None and lower and not memory.restless
    if long_ago or sunk or at_mm > min(DEEPEST_MM, DEEPEST_RADII * plan.shape.radii_mm[0]):
        return None, replace(memory, calm_looks=memory.calm_looks + 1, restless=False)
    found = unrest(image, plan, at_mm, shift_px)
    calm = memory.calm_unrest
    likely = LIKELY if calm is None else min(max(OF_CALM * calm, LEAST), LIKELY)
    if found is None or found < (min(SETTLED, likely) if memory.restless else likely):
        calm = found if calm is None or found is None else min(found, calm)
        looks = memory.calm_looks + 1
        return None, replace(memory, restless=False, calm_looks=looks, calm_unrest=calm)
    why = Missed.FROTHED if memory.restless or found > SURELY else Missed.UNCERTAIN
    return why, replace(memory, restless=True, calm_looks=0)


def unrest(image: Image, plan: StripPlan, level_mm: float, shift_px: Array) -> float | None:
    """Tell how much more restless a slip's surface is than the plaster around the hole.

    Parameters
    ----------
    level_mm : float
        Where the surface is taken to lie, below the rim. [mm]

    Returns
    -------
    float or None
        Local contrast on the surface, as a multiple of that on the mould's top beside it, at least of one
        grey level; None where too little of the surface is in view.
    """
    ring = plan.ring_xy + shift_px
    low = np.floor(ring.min(axis=0)).astype(int) - 12
    high = np.ceil(ring.max(axis=0)).astype(int) + 13
    low, high = np.maximum(low, 0), np.minimum(high, (image.shape[1], image.shape[0]))
    if (high - low < 24).any():
        return None
    crop = image[low[1] : high[1], low[0] : high[0]]
    rim = ring - low
    grey = cv2.cvtColor(crop, cv2.COLOR_BGR2GRAY).astype(np.float32)
    fine = cv2.GaussianBlur(grey, (0, 0), FINE_PX) - cv2.GaussianBlur(grey, (0, 0), COARSE_PX)
    local = cv2.blur(np.abs(fine), (AROUND_PX, AROUND_PX))
    hole = _filled(grey.shape, rim, 1.0)
    top = _filled(grey.shape, rim, TOP_SCALE) > cv2.dilate(hole, NEAR)
    slip = _filled(grey.shape, rim + _sunk(plan, level_mm), 1.0) & hole
    surface = cv2.erode(slip, NEAR, borderValue=0).astype(bool)
    if surface.sum() < LEAST_PIXELS or top.sum() < LEAST_PIXELS:
        return None
    usual = max(float(np.percentile(local[top], TOP_PART)), 1.0)
    return float(np.percentile(local[surface], SURFACE_PART)) / usual


def _sunk(plan: StripPlan, level_mm: float) -> Array:
    """How far (x, y) a point so deep lies from the one above it at the rim, in the picture."""
    row = min(round(level_mm / float(plan.depths_mm[1])), plan.depths_mm.size - 1)
    middle = plan.nodes.shape[2] // 2
    return np.asarray(plan.nodes[0, row, middle] - plan.nodes[0, 0, middle], dtype=np.float64)


def _filled(shape: tuple[int, ...], outline: Array, scale: float) -> npt.NDArray[np.uint8]:
    middle = outline.mean(axis=0)
    mask = np.zeros(shape[:2], np.uint8)
    points = np.round((middle + (outline - middle) * scale) * 16).astype(np.int32)
    cv2.fillConvexPoly(mask, points, 1, shift=4)
    return mask
