"""Frames of a measurement with what was found drawn in, for the eye to check."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

from watcher.commands.replaying import Instant
from watcher.records.frames import Image, NoFrame
from watcher.records.readings import HoleSighting, LevelReading, Pixels

RIM = (200, 160, 40)
LINE = (40, 40, 240)
UNREAD = (140, 140, 140)
_FONT = cv2.FONT_HERSHEY_SIMPLEX


def draw(instant: Instant, folder: Path) -> None:
    """Write the frame of this moment with rims, slip lines and levels, under the frame's own name."""
    if instant.frame is None or isinstance(instant.given, NoFrame):
        return
    image = instant.frame.image.copy()
    for hole in instant.given.holes:
        _draw_hole(image, hole)
    name = Path(instant.frame.name).stem or f"{instant.frame.taken_s:09.2f}"
    cv2.imwrite(str(folder / f"{name}.jpg"), image, [cv2.IMWRITE_JPEG_QUALITY, 88])


def _draw_hole(image: Image, hole: HoleSighting) -> None:
    read = isinstance(hole.reading, LevelReading)
    _polyline(image, hole.rim_rc, RIM if read else UNREAD, closed=True)
    _polyline(image, hole.line_rc, LINE, closed=False)
    if not hole.rim_rc:
        return
    words = f"{hole.mould} {hole.contents.value}"
    words += (
        f" {hole.reading.level_mm:.1f} mm" if isinstance(hole.reading, LevelReading) else f" {hole.reading}"
    )
    row, col = np.max(np.asarray(hole.rim_rc), axis=0)
    place = (int(col) - 60, int(row) + 18)
    cv2.putText(image, words, place, _FONT, 0.45, (0, 0, 0), 3, cv2.LINE_AA)
    cv2.putText(image, words, place, _FONT, 0.45, (255, 255, 255), 1, cv2.LINE_AA)


def _polyline(image: Image, points_rc: Pixels, colour: tuple[int, int, int], *, closed: bool) -> None:
    if len(points_rc) < 2:
        return
    xy = np.rint(np.asarray(points_rc, dtype=np.float64)[:, ::-1]).astype(np.int32)  # OpenCV wants (col, row)
    cv2.polylines(image, [xy.reshape(-1, 1, 2)], closed, colour, 1, cv2.LINE_AA)
