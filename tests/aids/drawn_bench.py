"""A bench in one photograph: the printed sheet, and a mould's level top with its card and its hole."""

from __future__ import annotations

import cv2
import numpy as np
from bench_camera import CAMERA, TRUE
from photographed import FlatPage, photograph, turned
from printed_pages import rendered

from watcher.setup.bench_sheet import bench_page
from watcher.setup.drawing import Paper
from watcher.setup.pdf import pdf_bytes

TOP_MM, PX_PER_MM = 150.0, 4.0
PLASTER, INSIDE = 222, 95


def mould_top(
    tag_id: int, tag_mm: float, tag_at: tuple[float, float], hole_mm: float, tag_turn: int = 0
) -> np.ndarray:
    """A square of plaster with a hole in its middle and a card; places in mm from the middle, y up."""
    side = int(TOP_MM * PX_PER_MM)
    down, across = np.mgrid[0:side, 0:side] - 0.5 * (side - 1)
    outside = np.clip(np.hypot(down, across) - 0.5 * hole_mm * PX_PER_MM + 0.5, 0.0, 1.0)
    top = np.round(INSIDE + (PLASTER - INSIDE) * outside).astype(np.uint8)
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    wide = round(tag_mm * PX_PER_MM)
    tag = np.rot90(cv2.aruco.generateImageMarker(book, tag_id, wide), tag_turn)
    card = np.pad(tag, round(5.0 * PX_PER_MM), constant_values=255)
    row = round(0.5 * side - tag_at[1] * PX_PER_MM - 0.5 * card.shape[0])
    column = round(0.5 * side + tag_at[0] * PX_PER_MM - 0.5 * card.shape[1])
    top[row : row + card.shape[0], column : column + card.shape[1]] = card
    return top


def with_hole(top: np.ndarray, at_mm: tuple[float, float], long_mm: float, short_mm: float) -> np.ndarray:
    """Cut one more hole, long way across, its middle at (x, y up) from the top's."""
    side = len(top)
    down, across = np.mgrid[0:side, 0:side] - 0.5 * (side - 1)
    x, y = across / PX_PER_MM - at_mm[0], -down / PX_PER_MM - at_mm[1]
    reach = np.hypot(x / (0.5 * long_mm), y / (0.5 * short_mm))
    outside = np.clip((reach - 1.0) * 0.5 * short_mm * PX_PER_MM + 0.5, 0.0, 1.0)
    return np.minimum(top, np.round(INSIDE + (255 - INSIDE) * outside)).astype(np.uint8)


def drawn_bench(
    *tops: tuple[np.ndarray, tuple[float, float, float], float], lens=TRUE, camera=CAMERA, **how
) -> np.ndarray:
    """Photograph the sheet and moulds' tops, each with its middle and its turn about the vertical."""
    sheet = rendered(pdf_bytes([bench_page(Paper.A4)], "test"), 0, 3.0)
    pages = [FlatPage(sheet, sheet.shape[1] / 297.0, camera.shift_mm, camera.rotation)]
    for top, place, yaw_deg in tops:
        middle = camera.rotation @ np.array(place) + camera.shift_mm
        pages.append(FlatPage(top, PX_PER_MM, middle, camera.rotation @ turned(z_deg=yaw_deg)))
    return photograph(lens, pages, **how)
