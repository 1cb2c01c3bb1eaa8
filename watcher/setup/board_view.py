"""One picture of the lens board: which of its corners were seen, how sharp, or why it is no use."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from scipy.special import erf

from watcher.records.frames import Image
from watcher.setup.lens_board import MARKER_MM, SQUARE_MM, LensBoard
from watcher.vision.lighting import LINEAR, LINEAR_BYTE

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

LEAST_CORNERS = 10
SMALL_PICTURE_PX = 1000
SHARP_PX = 2.4
"""Blur (standard deviation) above which a corner's place suffers; a webcam in focus has 0.7 to 1.5 px."""
ALONG = np.linspace(0.25, 0.75, 15)
ACROSS_SHARE = 0.11
"""How far across a field's side to look, in fields; less than the white gap before the small tags:"""
GAP_SHARE = 0.5 * (SQUARE_MM - MARKER_MM) / SQUARE_MM


@dataclass(frozen=True, slots=True)
class BoardView:
    """The board as one picture shows it.

    Attributes
    ----------
    name : str
        Where the picture came from.
    ids : ndarray of int, shape (N,)
        Numbers of the corners seen.
    corners_px : ndarray, shape (N, 2)
        Their places (x, y). [px]
    width_px, height_px : int
        Size of the picture.
    blur_px : float
        Standard deviation of the blur along the board's worse direction. [px]
    """

    name: str
    ids: Ints
    corners_px: Array
    width_px: int
    height_px: int
    blur_px: float


@dataclass(frozen=True, slots=True)
class NoView:
    """Why a picture of the board is not used: one sentence."""

    name: str
    why: str


def see_board(image: Image, board: LensBoard, name: str = "") -> BoardView | NoView:
    """Find the lens board in a picture and judge it.

    Parameters
    ----------
    image : ndarray of uint8, shape (rows, cols, 3)
    board : LensBoard
    name : str
        For messages.
    """
    grey = cv2.cvtColor(image, cv2.COLOR_BGR2GRAY)
    numbers, px, markers = _corners(grey, board)
    if numbers.size < LEAST_CORNERS:
        return NoView(name, _why_few(numbers.size, markers))
    blur = _blur_px(grey, numbers, px, board.corner_columns)
    if not blur <= SHARP_PX:
        return NoView(
            name,
            f"the board is blurred (by {blur:.1f} px, {SHARP_PX:g} at most); hold it still, give more light",
        )
    rows, cols = grey.shape
    return BoardView(name, numbers, px, cols, rows, blur)


def moved_px(before: BoardView, now: BoardView) -> float:
    """Tell how far the board moved between two pictures: the largest step of a corner seen in both, in px."""
    shared, first, second = np.intersect1d(before.ids, now.ids, return_indices=True)
    if shared.size == 0:
        return math.inf
    return float(np.abs(before.corners_px[first] - now.corners_px[second]).max())


def _corners(grey: npt.NDArray[np.uint8], board: LensBoard) -> tuple[Ints, Array, int]:
    """Find the corners in the grey picture, else in the light behind it, else in both enlarged."""
    best: tuple[Ints, Array, int] = (np.zeros(0, np.int64), np.zeros((0, 2)), 0)
    whole = len(board.corners_mm())
    for picture, scale in _renderings(grey):
        corners, ids, _, markers = cv2.aruco.CharucoDetector(board.opencv_board()).detectBoard(picture)
        tags = 0 if markers is None else len(np.ravel(markers))
        if ids is None or len(np.ravel(ids)) <= best[0].size:
            best = (best[0], best[1], max(tags, best[2]))
            continue
        px = (np.asarray(corners, dtype=np.float64).reshape(-1, 2) + 0.5) / scale - 0.5
        best = (np.ravel(ids).astype(np.int64), px, tags)
        if best[0].size == whole:
            break
    return best


def _renderings(grey: npt.NDArray[np.uint8]) -> Iterator[tuple[npt.NDArray[np.uint8], float]]:
    yield grey, 1.0
    light = cv2.LUT(grey, LINEAR_BYTE)
    yield light, 1.0
    if grey.shape[1] <= SMALL_PICTURE_PX:
        for one in (grey, light):
            yield cv2.resize(one, None, fx=2.0, fy=2.0, interpolation=cv2.INTER_CUBIC), 2.0


def _why_few(corners: int, markers: int) -> str:
    if markers == 0:
        return "the lens board is not in the picture, or too small, too dark or too blurred to be read"
    return (
        f"only {corners} of the board's corners can be read; show at least {LEAST_CORNERS}, sharp, still and "
        "well lit"
    )


def _blur_px(grey: npt.NDArray[np.uint8], ids: Ints, px: Array, columns: int) -> float:
    """Blur from the slope of the fields' sides: the worse of the board's two directions."""
    at = dict(zip(ids.tolist(), px, strict=True))
    worst = 0.0
    for step in (1, columns):
        pairs = [
            (at[one], at[one + step])
            for one in at
            if one + step in at and (step != 1 or one % columns != columns - 1)
        ]
        if pairs:
            widths = [_side_blur_px(grey, start, end) for start, end in pairs]
            worst = max(worst, float(np.nanmedian(widths))) if not np.isnan(widths).all() else math.inf
    return worst if worst > 0.0 else math.inf


def _side_blur_px(grey: npt.NDArray[np.uint8], start: Array, end: Array) -> float:
    """Blur across one side of a field, from its steepest slope and the white gap's height."""
    side = end - start
    length = float(np.hypot(*side))
    normal = np.array([-side[1], side[0]]) / length
    reach = max(ACROSS_SHARE * length, 3.0)
    offsets = np.linspace(-reach, reach, 4 * math.ceil(reach) + 1)
    xy = (start + ALONG[:, None] * side)[:, None, :] + offsets[:, None] * normal
    flat = xy.astype(np.float32)
    shown = cv2.remap(grey, flat[..., 0], flat[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    profile = LINEAR[shown].mean(axis=0).astype(np.float64)
    slope = float(np.abs(np.gradient(profile, offsets)).max())
    height = float(profile.max() - profile.min())
    if height < 0.02 or slope <= 0.0:
        return math.nan
    return _blur_of(height / slope, GAP_SHARE * length)


def _blur_of(height_per_slope_px: float, gap_px: float) -> float:
    """Tell a Gaussian blur's standard deviation from what it leaves of a white gap between two blacks.

    With b the blur and w the gap: height = A (2 Phi(w / 2b) - 1),
    slope = A (1 - exp(-w2 / 2b2)) / (sqrt(2 pi) b).
    """
    b = np.linspace(0.2, 6.0, 117)
    ratio = (
        np.sqrt(2.0 * np.pi)
        * b
        * erf(gap_px / (2.0 * np.sqrt(2.0) * b))
        / (1.0 - np.exp(-0.5 * (gap_px / b) ** 2))
    )
    return float(np.interp(height_per_slope_px, ratio, b))
