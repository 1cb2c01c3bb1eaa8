"""Keep small pictures of the pour holes of casts under way: evidence, and the time-lapse."""

from __future__ import annotations

import cv2
import numpy as np

from watcher.records.bench import Bench
from watcher.records.frames import Frame
from watcher.records.readings import HoleSighting
from watcher.storage.crops import Crops

EVERY_S = 10.0
"""A cast of half an hour is then 180 pictures, about 0.7 MB (own measurement: 3.8 kB for a hole 100 pixels
wide). [s]"""

WIDTH_PX = 320
_QUALITY = 80
_REACH = 0.8  # half the crop's side, in widths of the hole: the rim and a little of the mould


class HoleCrops:
    """Keeps crops of the holes in newest frames, one for each mould every ten seconds.

    Parameters
    ----------
    crops : Crops
        Where they go.
    """

    def __init__(self, crops: Crops) -> None:
        self._crops = crops
        self._kept_s: dict[str, float] = {}

    def keep(self, frame: Frame, bench: Bench) -> int:
        """Keep what is due of one frame, after the bench has looked at it; return how many were kept."""
        kept = 0
        for name, state in bench.moulds.items():
            looked = state.last_look
            due = frame.taken_s - self._kept_s.get(name, float("-inf")) >= EVERY_S
            if state.cast is None or looked is None or not due or state.last_look_s != frame.taken_s:
                continue
            jpeg = crop_of(frame, looked)
            if jpeg is not None:
                self._kept_s[name] = frame.taken_s
                kept += self._crops.keep(name, frame.taken_at, jpeg) is not None
        return kept


def crop_of(frame: Frame, hole: HoleSighting) -> bytes | None:
    """Cut one pour hole out of a frame as JPEG, at most 320 pixels wide; None where its rim is not known."""
    if len(hole.rim_rc) < 3:
        return None
    rows, cols = frame.image.shape[:2]
    rim = np.asarray(hole.rim_rc, dtype=np.float64)
    middle, reach = rim.mean(axis=0), _REACH * float(np.ptp(rim, axis=0).max())
    top, left = np.maximum(np.floor(middle - reach), 0).astype(int)
    bottom, right = np.minimum(np.ceil(middle + reach), (rows, cols)).astype(int)
    if bottom - top < 8 or right - left < 8:
        return None
    crop = frame.image[top:bottom, left:right]
    scale = WIDTH_PX / crop.shape[1]
    if scale < 1.0:
        crop = np.asarray(
            cv2.resize(crop, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), dtype=np.uint8
        )
    good, data = cv2.imencode(".jpg", crop, [cv2.IMWRITE_JPEG_QUALITY, _QUALITY])
    return data.tobytes() if good else None
