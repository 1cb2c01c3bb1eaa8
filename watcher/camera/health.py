"""Can this picture be used? Black, of the wrong size, or the same again and again: a plain sentence."""

from __future__ import annotations

from dataclasses import dataclass
from zlib import crc32

import numpy as np

from watcher.records.frames import Blind, Image

FROZEN_AFTER_S = 45.0
"""A sensor's noise makes every picture differ; the very same one for so long is a camera that hangs and goes
on sending. Longer than picture servers repeat themselves on purpose (common practice, no source). [s]"""

BLACK_LEVEL = 14
"""Grey level, of 255, that the brightest hundredth of a picture must reach. Own measurement: rendered benches
reach 210 and more, blackness with sensor noise of 8 grey levels (JPEG, quality 80) reaches 11."""

_SAMPLE = 8  # every eighth row and column tells as much, and costs a fiftieth


@dataclass(frozen=True, slots=True)
class Watched:
    """What must be remembered of earlier pictures: a mark of the last one, and since when it is the same."""

    mark: int = 0
    same_since_s: float | None = None


@dataclass(frozen=True, slots=True)
class Unusable:
    """Why a picture cannot be used."""

    why: Blind
    detail: str


def judged(
    image: Image, at_s: float, before: Watched, *, size_px: tuple[int, int] | None = None
) -> tuple[Watched, Unusable | None]:
    """Judge one picture.

    Parameters
    ----------
    image : ndarray of uint8, shape (rows, cols, 3)
    at_s : float
        When it was grabbed. [s]
    before : Watched
        What the last call returned.
    size_px : tuple of int, optional
        Width and height that the lens calibration holds for. [px]

    Returns
    -------
    Watched
        For the next call.
    Unusable or None
        None: it can be used.
    """
    sample = np.ascontiguousarray(image[::_SAMPLE, ::_SAMPLE])
    mark = crc32(sample.tobytes())
    since_s = before.same_since_s if before.mark == mark and before.same_since_s is not None else at_s
    after = Watched(mark, since_s)
    rows, cols = image.shape[:2]
    if size_px is not None and (cols, rows) != size_px:
        wanted = f"{size_px[0]}x{size_px[1]}"
        return after, Unusable(
            Blind.WRONG_SIZE,
            f"the camera sends {cols}x{rows} where its calibration holds for {wanted}: set it to {wanted}",
        )
    if np.percentile(sample, 99) < BLACK_LEVEL:
        return after, Unusable(Blind.BLACK, "the picture is black: is the lens covered, or the light off?")
    if at_s - since_s >= FROZEN_AFTER_S:
        return after, Unusable(
            Blind.FROZEN,
            f"the camera has sent the very same picture for {at_s - since_s:.0f} s: switch it off and on",
        )
    return after, None
