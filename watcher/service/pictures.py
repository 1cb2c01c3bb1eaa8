"""Pictures for the page: the bench, small enough for a phone, and one hole with the found line drawn in."""

from __future__ import annotations

import cv2
import numpy as np

from watcher.page.port import Picture
from watcher.records.frames import Frame, Image
from watcher.records.readings import HoleSighting, Pixels

BENCH_WIDTH_PX = 960
BENCH_BYTES = 40_000
HOLE_WIDTH_PX = 360
QUALITIES = (72, 60, 50, 40, 30, 22)

LINE_BGR = (60, 40, 230)
RIM_BGR = (210, 190, 120)


def bench_picture(frame: Frame) -> Picture:
    """Shrink a frame to the page's size; quality gives way until it fits 40 kB."""
    rows, cols = frame.image.shape[:2]
    scale = min(1.0, BENCH_WIDTH_PX / cols)
    small = cv2.resize(frame.image, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    jpeg = b""
    for quality in QUALITIES:
        jpeg = _jpeg(small, quality)
        if len(jpeg) <= BENCH_BYTES:
            break
    return Picture(jpeg, _frame_id(frame), frame.taken_at, small.shape[1], small.shape[0], cols, rows)


def hole_picture(frame: Frame, hole: HoleSighting) -> Picture | None:
    """Cut out one pour hole, enlarged, with the rim and the found line; None when its rim is not known."""
    if len(hole.rim_rc) < 3:
        return None
    rows, cols = frame.image.shape[:2]
    rim = np.asarray(hole.rim_rc, dtype=np.float64)
    middle, reach = rim.mean(axis=0), 0.75 * np.ptp(rim, axis=0).max()
    top, left = np.maximum(np.floor(middle - reach), 0).astype(int)
    bottom, right = np.minimum(np.ceil(middle + reach), (rows, cols)).astype(int)
    if bottom - top < 8 or right - left < 8:
        return None
    crop = frame.image[top:bottom, left:right]
    scale = HOLE_WIDTH_PX / crop.shape[1]
    large = cv2.resize(crop, None, fx=scale, fy=scale, interpolation=cv2.INTER_CUBIC)
    _draw(large, hole.rim_rc, top, left, scale, RIM_BGR, closed=True)
    _draw(large, hole.line_rc, top, left, scale, LINE_BGR, closed=False)
    jpeg = _jpeg(np.asarray(large, dtype=np.uint8), 80)
    return Picture(
        jpeg, f"{_frame_id(frame)}-{hole.mould}", frame.taken_at, large.shape[1], large.shape[0], cols, rows
    )


def _draw(
    image: Image,
    line: Pixels,
    top: int,
    left: int,
    scale: float,
    colour: tuple[int, int, int],
    *,
    closed: bool,
) -> None:
    if len(line) < 2:
        return
    points_rc = (np.asarray(line) - (top, left)) * scale
    points_xy = np.round(points_rc[:, ::-1] * 16).astype(np.int32).reshape(-1, 1, 2)
    cv2.polylines(image, [points_xy], closed, colour, 2, cv2.LINE_AA, 4)


def _jpeg(image: Image, quality: int) -> bytes:
    fine, data = cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, quality])
    if not fine:
        raise ValueError(f"a picture of {image.shape[1]} x {image.shape[0]} could not be written as JPEG")
    return data.tobytes()


def _frame_id(frame: Frame) -> str:
    return f"{frame.camera}-{frame.taken_s:.2f}"
