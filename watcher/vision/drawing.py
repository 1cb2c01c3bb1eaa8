"""Pictures of what the eyes see: rings and lines over the frame, a hole straightened with its evidence."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.frames import Frame, Image
from watcher.records.readings import HoleSighting, LevelReading, Sighting
from watcher.vision.level import MENISCUS_MM
from watcher.vision.likelihood import edge_gain, noise_of
from watcher.vision.memory import Eyes, HolePlans
from watcher.vision.strip import pixels_at, straighten, to_sectors

Bgr = tuple[int, int, int]

READ: Bgr = (120, 200, 60)
UNREAD: Bgr = (60, 170, 250)
WALL: Bgr = (200, 200, 200)
EVIDENCE: Bgr = (240, 240, 240)
BELIEF: Bgr = (60, 170, 250)
PIXELS_PER_ROW = 4
STRIP_COLS = 288
CURVE_COLS = 200
MARGIN = 36


def over_frame(image: Image, sighting: Sighting) -> Image:
    """Return a copy of the picture with a ring on each pour hole and the found lines."""
    drawn = image.copy()
    for hole in sighting.holes:
        colour = READ if isinstance(hole.reading, LevelReading) else UNREAD
        _polyline(drawn, hole.rim_rc, True, colour)
        _polyline(drawn, hole.line_rc, False, READ)
    return drawn


def _polyline(image: Image, points_rc: tuple[tuple[float, float], ...], closed: bool, colour: Bgr) -> None:
    if len(points_rc) > 1:
        xy = np.array([(c, r) for r, c in points_rc]) * 8.0
        cv2.polylines(image, [np.round(xy).astype(np.int32)], closed, colour, 1, cv2.LINE_AA, 3)


def straightened(frame: Frame, eyes: Eyes, hole: HoleSighting) -> Image | None:
    """Draw one pour hole straightened: depth downwards, the found line, and the evidence beside it.

    Parameters
    ----------
    frame : Frame
        The frame that was looked at.
    eyes : Eyes
        The memory that this look returned.
    hole : HoleSighting
        What the look said of the mould.

    Returns
    -------
    Image or None
        Left the wall as the camera shows it (what it cannot see is dimmed), right the gain of an edge at each
        depth (white) and the belief (orange), green the line. None where the mould's place is not known.
    """
    memory = eyes.moulds.get(hole.mould)
    if memory is None or not memory.plans:
        return None
    plans = memory.plans[0]
    strip = straighten(frame.image, pixels_at(plans.strip, plans.strip.film_mm, np.zeros(2)))
    belief = memory.belief.rows if memory.belief is not None else None
    gains = _gains(strip, plans)
    rows = plans.strip.depths_mm.size
    height = rows * PIXELS_PER_ROW
    shown = np.where(plans.strip.seen[:, :, None], strip, 0.4 * strip).clip(0, 255).astype(np.uint8)
    wall = cv2.resize(shown, (STRIP_COLS, height), interpolation=cv2.INTER_NEAREST)
    curves = np.full((height, CURVE_COLS, 3), 24, np.uint8)
    _curve(curves, gains, EVIDENCE)
    if belief is not None and belief.size == rows:
        _curve(curves, belief, BELIEF)
    picture = np.concatenate((np.full((height, MARGIN, 3), 24, np.uint8), wall, curves), axis=1)
    _scale(picture, plans)
    if isinstance(hole.reading, LevelReading):
        depth = hole.reading.level_mm - MENISCUS_MM
        y = round(depth / float(plans.strip.depths_mm[1]) * PIXELS_PER_ROW)
        cv2.line(picture, (MARGIN, y), (MARGIN + STRIP_COLS + CURVE_COLS - 1, y), READ, 1)
    said = (
        hole.reading.value
        if not isinstance(hole.reading, LevelReading)
        else f"{hole.reading.level_mm:.2f} mm"
    )
    cv2.putText(
        picture, f"{hole.mould}: {said}", (MARGIN + 4, height - 6), cv2.FONT_HERSHEY_SIMPLEX, 0.45, READ, 1
    )
    return np.asarray(picture, dtype=np.uint8)


def _gains(strip: npt.NDArray[np.float32], plans: HolePlans) -> npt.NDArray[np.float64]:
    profiles, shown = to_sectors(strip), plans.strip.shown()
    luma = np.ascontiguousarray(profiles[..., 0])
    gains = edge_gain(luma, plans.regions, noise_of(luma, shown, 2)).gain
    return np.where(np.isfinite(gains), np.maximum(gains, 0.0), 0.0)


def _curve(into: Image, values: npt.NDArray[np.float64], colour: Bgr) -> None:
    top = max(float(values.max()), 1e-9)
    x = values / top * (CURVE_COLS - 8) + 2.0
    y = (np.arange(values.size) + 0.5) * PIXELS_PER_ROW
    points = np.round(np.stack((x, y), axis=1)).astype(np.int32)
    cv2.polylines(into, [points], False, colour, 1, cv2.LINE_AA)


def _scale(picture: Image, plans: HolePlans) -> None:
    step = float(plans.strip.depths_mm[1])
    deepest = float(plans.strip.depths_mm[-1])
    for mm in range(0, int(deepest) + 1, 5):
        y = min(round(mm / step * PIXELS_PER_ROW), picture.shape[0] - 1)
        cv2.line(picture, (MARGIN - 6, y), (MARGIN, y), WALL, 1)
        cv2.putText(picture, str(mm), (2, y + 9), cv2.FONT_HERSHEY_SIMPLEX, 0.35, WALL, 1)
