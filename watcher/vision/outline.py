"""What to draw over the picture: the rim of a hole and the line that was found in it."""

from __future__ import annotations

import numpy as np

from watcher.records.readings import Contents, LevelReading, Missed, Pixels
from watcher.vision.memory import MouldMemory
from watcher.vision.strip import StripPlan, pixels_at

NO_SHIFT = np.zeros(2)


def outlines(memory: MouldMemory, reading: LevelReading | Missed) -> tuple[Pixels, Pixels]:
    """Return rim and found line of a mould's first hole; empty where not known, or the mould is away."""
    if not memory.plans or memory.contents is Contents.AWAY:
        return (), ()
    strip = memory.plans[0].strip
    line = line_outline(strip, reading.level_mm) if isinstance(reading, LevelReading) else ()
    return rim_outline(strip), line


def rim_outline(plan: StripPlan) -> Pixels:
    """Return the rim as a closed line of points (row, col) in the picture [px]."""
    return _points(plan.rim_xy)


def line_outline(plan: StripPlan, level_mm: float) -> Pixels:
    """Return the slip's edge at a level as points (row, col) in the picture, where it is in view [px]."""
    if not 0.0 <= level_mm <= float(plan.depths_mm[-1]):
        return ()
    row = int(np.argmin(np.abs(plan.depths_mm - level_mm)))
    film = np.maximum(plan.film_mm, 0.0)
    pixels = pixels_at(plan, film, NO_SHIFT)[row]
    shown = plan.seen[row] if plan.seen[row].any() else np.ones(len(pixels), dtype=bool)
    return _points(pixels[shown])


def _points(pixels_xy: np.ndarray[tuple[int, ...], np.dtype[np.float32]]) -> Pixels:
    return tuple((round(float(y), 1), round(float(x), 1)) for x, y in pixels_xy)
