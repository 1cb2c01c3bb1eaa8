"""What was found of the bench and a mould, drawn over the picture."""

from __future__ import annotations

import math
from collections.abc import Iterable

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.layout import Lens, Point3, SheetTag
from watcher.setup.bench_sight import BenchSight
from watcher.setup.mould_place import MouldPlaced
from watcher.setup.sight_lines import sight_lines
from watcher.setup.tag_sightings import FoundTag
from watcher.vision.lens import to_pixels
from watcher.vision.pose import CameraPose, sheet_corners

DARK, BRIGHT = (30, 30, 30), (255, 255, 255)


def tags_picture(image: Image, tags: Iterable[FoundTag]) -> Image:
    """Draw every tag's outline with its number."""
    drawn = image.copy()
    for tag in tags:
        _outline(drawn, tag.corners_px, closed=True)
        x, y = tag.corners_px.mean(axis=0)
        _write(drawn, str(tag.tag_id), (round(x) - 8, round(y) + 6))
    return drawn


def placed_picture(image: Image, tags: Iterable[SheetTag], camera: CameraPose, lens: Lens) -> Image:
    """Draw tags where their places say that they must be seen: how well they fit is for the eye to judge."""
    corners = ((tag, camera.to_camera(sheet_corners(tag))) for tag in tags)
    seen = ((tag, to_pixels(at, lens)) for tag, at in corners if float(at[:, 2].min()) > 0.0)
    return tags_picture(image, (FoundTag(tag.tag_id, pixels) for tag, pixels in seen))


def mould_picture(
    image: Image,
    sight: BenchSight,
    placed: MouldPlaced,
    lens: Lens,
    *,
    taps_px: tuple[tuple[float, float], ...] = (),
    up: Point3 = (0.0, 0.0, 1.0),
    words: tuple[str, ...] = (),
) -> Image:
    """Draw the rim as a ring with its real centre, the taps, and a few lines of text."""
    drawn = tags_picture(image, sight.found)
    lines = sight_lines(np.array([[lens.cx_px, lens.cy_px]]), sight.camera, lens, up)
    centre = lines.upright @ np.array(placed.rim.centre_mm)
    ring = centre[:2] + _ring(placed)
    _outline(drawn, lines.pixels(ring, float(centre[2])), closed=True)
    middle = lines.pixels(centre[None, :2], float(centre[2]))[0]
    cv2.drawMarker(drawn, _whole(middle), DARK, cv2.MARKER_CROSS, 17, 3, cv2.LINE_AA)
    cv2.drawMarker(drawn, _whole(middle), BRIGHT, cv2.MARKER_CROSS, 15, 1, cv2.LINE_AA)
    for tap in taps_px:
        cv2.circle(drawn, _whole(np.array(tap)), 5, DARK, 3, cv2.LINE_AA)
        cv2.circle(drawn, _whole(np.array(tap)), 5, BRIGHT, 1, cv2.LINE_AA)
    for number, line in enumerate(words):
        _write(drawn, line, (12, 26 + 24 * number))
    return drawn


def _ring(placed: MouldPlaced) -> npt.NDArray[np.float64]:
    """Return the rim about its centre, level, (120, 2), in mm."""
    turns = np.linspace(0.0, 2.0 * math.pi, 120, endpoint=False)
    round_ring = 0.5 * np.column_stack((np.cos(turns), np.sin(turns)))
    if placed.oval is None:
        return np.asarray(round_ring * placed.rim.diameter_mm)
    a = math.radians(placed.oval.turn_deg)
    return np.asarray(
        round_ring * placed.oval.axes_mm @ np.array([[math.cos(a), math.sin(a)], [-math.sin(a), math.cos(a)]])
    )


def _outline(image: Image, points: npt.NDArray[np.float64], *, closed: bool) -> None:
    path = np.round(points).astype(np.int32).reshape(-1, 1, 2)
    cv2.polylines(image, [path], closed, DARK, 4, cv2.LINE_AA)
    cv2.polylines(image, [path], closed, BRIGHT, 2, cv2.LINE_AA)


def _write(image: Image, text: str, place: tuple[int, int]) -> None:
    (wide, high), _ = cv2.getTextSize(text, cv2.FONT_HERSHEY_SIMPLEX, 0.6, 1)
    x, y = place
    cv2.rectangle(image, (x - 4, y - high - 5), (x + wide + 4, y + 6), DARK, -1)
    cv2.putText(image, text, place, cv2.FONT_HERSHEY_SIMPLEX, 0.6, BRIGHT, 1, cv2.LINE_AA)


def _whole(point: npt.NDArray[np.float64]) -> tuple[int, int]:
    return round(float(point[0])), round(float(point[1]))
