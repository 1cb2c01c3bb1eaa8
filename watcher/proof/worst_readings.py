"""The worst readings, cut out of their pictures with the found line and the true one drawn in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from watcher.proof.level_score import LevelError
from watcher.records.frames import Image
from watcher.records.readings import Pixels

FOUND_BGR, TRUE_BGR = (60, 40, 230), (70, 170, 40)
CROP_PX = 360
FAR_QUARTERS = 0.3
"""Of the true circle only the far part is drawn, from its far point so much of the way round either side."""


@dataclass(frozen=True, slots=True)
class ToDraw:
    """Lines of one reading: found (row, col) and true (x, y). [px]."""

    found_rc: Pixels
    true_xy: npt.NDArray[np.float64]
    rim_xy: npt.NDArray[np.float64]


def worst_of(errors: Sequence[LevelError], count: int) -> tuple[LevelError, ...]:
    """Pick the worst readings, at most one of a mould within each five minutes, the worst first."""
    picked: list[LevelError] = []
    for error in sorted(errors, key=lambda one: -abs(one.error_mm)):
        near = [p for p in picked if p.mould == error.mould and abs(p.time_s - error.time_s) < 300.0]
        if not near:
            picked.append(error)
        if len(picked) == count:
            break
    return tuple(picked)


def cut_out(image: Image, lines: ToDraw) -> bytes:
    """Cut one pour hole out of a picture, twice beside each other: as it is, and with the lines. JPEG."""
    rim = lines.rim_xy
    middle, reach = rim.mean(axis=0), 0.75 * float(np.ptp(rim, axis=0).max())
    left, top = np.maximum(np.floor(middle - reach), 0).astype(int)
    right, bottom = np.minimum(np.ceil(middle + reach), (image.shape[1], image.shape[0])).astype(int)
    crop = image[top:bottom, left:right]
    scale = CROP_PX / max(1, crop.shape[1])
    plain = cv2.resize(crop, None, fx=scale, fy=scale, interpolation=cv2.INTER_CUBIC)
    drawn = plain.copy()
    far = round(FAR_QUARTERS * len(lines.true_xy))
    true = np.concatenate((lines.true_xy[-far:], lines.true_xy[: far + 1]))
    found = np.array([(col, row) for row, col in lines.found_rc]).reshape(-1, 2)
    for points, colour in ((true, TRUE_BGR), (found, FOUND_BGR)):
        placed = np.round(((points - (left, top) + 0.5) * scale - 0.5) * 8.0).astype(np.int32)
        cv2.polylines(drawn, [placed], False, colour, 1, cv2.LINE_AA, 3)
    both = np.concatenate((plain, drawn), axis=1)
    return cv2.imencode(".jpg", both, [cv2.IMWRITE_JPEG_QUALITY, 82])[1].tobytes()
