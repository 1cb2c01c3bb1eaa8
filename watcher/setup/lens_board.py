"""The board that a lens is measured with: a chessboard whose white fields carry small tags (ChArUco)."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.setup.drawing import Box, Page, Paper, Patch, Shape, Words
from watcher.setup.ruler import ruler_line
from watcher.setup.tag_print import tag_patch

COLUMNS, ROWS = 7, 5
SQUARE_MM, MARKER_MM = 36.0, 28.0
"""Few and large, so that a cheap camera reads the tags at arm's length."""
DICTIONARY = "DICT_5X5_50"
"""Another family than the bench's tags, so that the board lying on the bench is never taken for a card."""
RULER_MM = 200.0


@dataclass(frozen=True, slots=True)
class LensBoard:
    """The board as it lies on the paper. `square_mm`: side of a field after the print's scale."""

    square_mm: float = SQUARE_MM

    def opencv_board(self) -> cv2.aruco.CharucoBoard:
        """Return OpenCV's description of it."""
        book = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY))
        marker_mm = self.square_mm * MARKER_MM / SQUARE_MM
        return cv2.aruco.CharucoBoard((COLUMNS, ROWS), self.square_mm, marker_mm, book)

    def corners_mm(self) -> npt.NDArray[np.float64]:
        """Return the inner corners (N, 3) by their number: x right, y down the board, in mm."""
        corners = self.opencv_board().getChessboardCorners()
        return np.asarray(corners, dtype=np.float64).reshape(-1, 3)

    @property
    def corner_columns(self) -> int:
        """How many inner corners stand in one row of the board."""
        return COLUMNS - 1


def board_page(paper: Paper) -> Page:
    """Draw the lens board, lying, in the middle of the page."""
    width, height = paper.landscape_mm
    left = 0.5 * (width - COLUMNS * SQUARE_MM)
    top = 0.5 * (height + ROWS * SQUARE_MM) + 5.0
    black = tuple(
        Box(left + column * SQUARE_MM, top - (row + 1) * SQUARE_MM, SQUARE_MM, SQUARE_MM)
        for row in range(ROWS)
        for column in range(COLUMNS)
        if _is_black(row, column)
    )
    shapes: list[Shape] = [Patch(black)]
    for tag_id, (x, y) in enumerate(_white_centres()):
        shapes.append(tag_patch(tag_id, MARKER_MM, (left + x, top - y), DICTIONARY))
    foot = top - ROWS * SQUARE_MM
    text = (
        f"Tipbell lens board, fields of {SQUARE_MM:g} mm. Print at 100 %, glue it on something stiff, "
        "show it to the camera from all sides."
    )
    shapes.append(Words(left, foot - 5.0, text, 3.0, within_mm=COLUMNS * SQUARE_MM))
    shapes += ruler_line((0.5 * (width - RULER_MM), foot - 12.5), RULER_MM)
    return Page(width, height, tuple(shapes))


def _is_black(row: int, column: int) -> bool:
    return (row + column) % 2 == 0


def _white_centres() -> list[tuple[float, float]]:
    """Centres of the white fields, row by row; x right, y down from the board's upper left corner, in mm."""
    return [
        ((column + 0.5) * SQUARE_MM, (row + 0.5) * SQUARE_MM)
        for row in range(ROWS)
        for column in range(COLUMNS)
        if not _is_black(row, column)
    ]
