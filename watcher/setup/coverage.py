"""Which views of the lens board are there, and which are still missing: the map that fills as it moves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.layout import Lens
from watcher.setup.board_view import BoardView
from watcher.setup.lens_board import LensBoard
from watcher.vision.lens import camera_matrix, usable_lens

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

LEAST_VIEWS = 8
MAP_ROWS, MAP_COLS = 6, 8
CORNER_SHARE = 0.25
"""The picture's four corners are its outer quarters; each must have held at least this many board corners:"""
LEAST_IN_CORNER = 3
TILT_DEG = 15.0
NEAR_SHARE, FAR_SHARE = 0.13, 0.07
"""Share of the picture that the inner corners span in a near and in a far view (the whole board 2.3
times that). All these: common practice, no source."""
NEW_SHIFT_SHARE, NEW_SIZE, NEW_TILT_DEG = 0.10, 1.25, 10.0


@dataclass(frozen=True, slots=True)
class Stance:
    """How the board stood in one view.

    `centre` is the board's place as a share of the picture (x, y); `fills` the share of the picture that the
    seen corners span, `tilt_deg` how far its right (x) and lower (y) side lies back.
    """

    centre: tuple[float, float]
    fills: float
    tilt_deg: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Coverage:
    """What a set of views covers. `seen` (6, 8): corners seen in each part of the picture."""

    views: int
    seen: Ints
    missing: tuple[str, ...]

    @property
    def share(self) -> float:
        """Share of the picture's parts in which the board has been seen."""
        return float((self.seen > 0).mean())


def stance(view: BoardView, board: LensBoard, lens: Lens | None = None) -> Stance:
    """Tell how the board stood; without a lens, by an ordinary webcam's, which is near enough for this."""
    used = usable_lens(lens, view.height_px, view.width_px)
    _, rvec, _ = cv2.solvePnP(
        board.corners_mm()[view.ids], view.corners_px, camera_matrix(used), np.array(used.distortion)
    )
    normal = np.asarray(cv2.Rodrigues(rvec)[0])[:, 2]
    if normal[2] > 0.0:  # the side that faces the camera
        normal = -normal
    hull = cv2.convexHull(view.corners_px.astype(np.float32))
    size = np.array([view.width_px, view.height_px], dtype=np.float64)
    centre = view.corners_px.mean(axis=0) / size
    return Stance(
        (float(centre[0]), float(centre[1])),
        float(cv2.contourArea(hull)) / float(size.prod()),
        (math.degrees(math.asin(float(normal[0]))), math.degrees(math.asin(float(normal[1])))),
    )


def is_new(one: Stance, others: Sequence[Stance]) -> bool:
    """Say whether a view differs from each of the others in place, size or tilt."""
    return all(
        math.dist(one.centre, other.centre) > NEW_SHIFT_SHARE
        or max(one.fills, other.fills) > NEW_SIZE * min(one.fills, other.fills)
        or math.dist(one.tilt_deg, other.tilt_deg) > NEW_TILT_DEG
        for other in others
    )


def coverage(views: Sequence[BoardView], stances: Sequence[Stance]) -> Coverage:
    """Lay all views over each other and name what is missing, in the caster's words."""
    seen = np.zeros((MAP_ROWS, MAP_COLS), dtype=np.int64)
    places = [view.corners_px / (view.width_px, view.height_px) for view in views]
    for place in places:
        columns = np.clip((place[:, 0] * MAP_COLS).astype(int), 0, MAP_COLS - 1)
        rows = np.clip((place[:, 1] * MAP_ROWS).astype(int), 0, MAP_ROWS - 1)
        np.add.at(seen, (rows, columns), 1)
    every = np.concatenate(places) if places else np.zeros((0, 2))
    missing = [*_missing_corners(every), *_missing_stances(stances)]
    if len(views) < LEAST_VIEWS:
        count = LEAST_VIEWS - len(views)
        missing.append("one more view" if count == 1 else f"{count} more views")
    return Coverage(len(views), seen, tuple(missing))


def _missing_corners(place: Array) -> list[str]:
    missing = []
    for word_y, low in (("upper", place[:, 1] < CORNER_SHARE), ("lower", place[:, 1] > 1.0 - CORNER_SHARE)):
        for word_x, side in (
            ("left", place[:, 0] < CORNER_SHARE),
            ("right", place[:, 0] > 1.0 - CORNER_SHARE),
        ):
            if int((low & side).sum()) < LEAST_IN_CORNER:
                missing.append(f"the board in the {word_y} {word_x} corner of the picture")
    return missing


def _missing_stances(stances: Sequence[Stance]) -> list[str]:
    tilts = np.array([one.tilt_deg for one in stances]).reshape(-1, 2)
    fills = [one.fills for one in stances]
    wanted = (
        (bool((tilts[:, 0] > TILT_DEG).any()), "the board with its right side tilted back"),
        (bool((tilts[:, 0] < -TILT_DEG).any()), "the board with its left side tilted back"),
        (bool((tilts[:, 1] > TILT_DEG).any()), "the board with its lower side tilted back"),
        (bool((tilts[:, 1] < -TILT_DEG).any()), "the board with its upper side tilted back"),
        (any(fill >= NEAR_SHARE for fill in fills), "the board near, filling a third of the picture"),
        (
            any(fill <= FAR_SHARE for fill in fills),
            "the board further away, filling a seventh of the picture",
        ),
    )
    return [words for there, words in wanted if not there]
