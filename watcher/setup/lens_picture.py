"""The coverage map as a picture: where in the camera's picture the board has been, and what is missing."""

from __future__ import annotations

import cv2
import numpy as np

from watcher.records.frames import Image
from watcher.setup.coverage import MAP_COLS, MAP_ROWS
from watcher.setup.lens_views import LensViews

PAPER, INK, SEEN = (250, 250, 250), (40, 40, 40), (150, 190, 90)
MANY = 12
"""Corners in one part of the picture from which on it is drawn full."""


def coverage_picture(so_far: LensViews, width_px: int = 960, height_px: int = 540) -> Image:
    """Draw the picture's parts, fuller where more corners were seen, the last board, and what is missing."""
    image = np.full((height_px + 60, width_px, 3), PAPER, np.uint8)
    covered = so_far.covered
    for row in range(MAP_ROWS):
        for column in range(MAP_COLS):
            _part(image, row, column, int(covered.seen[row, column]), width_px, height_px)
    if so_far.last is not None:
        scale = (width_px / so_far.last.width_px, height_px / so_far.last.height_px)
        for x, y in so_far.last.corners_px * scale:
            cv2.circle(image, (round(x), round(y)), 4, INK, 1, cv2.LINE_AA)
    missing = covered.missing
    first = f"{covered.views} views kept" + ("" if not missing else f"; missing: {missing[0]}")
    second = so_far.said if len(missing) < 2 else f"{len(missing) - 1} more missing; {so_far.said}"
    for line, text in enumerate((first, second)):
        place = (10, height_px + 24 + 26 * line)
        cv2.putText(image, text, place, cv2.FONT_HERSHEY_SIMPLEX, 0.6, INK, 1, cv2.LINE_AA)
    return image


def _part(image: Image, row: int, column: int, count: int, width_px: int, height_px: int) -> None:
    left, right = (round(width_px * edge / MAP_COLS) for edge in (column, column + 1))
    top, bottom = (round(height_px * edge / MAP_ROWS) for edge in (row, row + 1))
    full = round((bottom - top) * min(1.0, count / MANY))
    if full:
        cv2.rectangle(image, (left, bottom - full), (right, bottom), SEEN, -1)
    cv2.rectangle(image, (left, top), (right, bottom), INK, 1)
    if count:
        cv2.putText(
            image, str(count), (left + 6, top + 20), cv2.FONT_HERSHEY_SIMPLEX, 0.5, INK, 1, cv2.LINE_AA
        )
