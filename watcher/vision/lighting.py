"""Light behind the grey levels: the sRGB curve undone, and whether a picture can be used at all."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.readings import Missed

DARK_LEVEL, BRIGHT_SHARE = 14.0, 0.1
"""Grey that the brightest tenth must reach, or nothing can be told apart from the sensor's noise."""
SOFT_RATIO = 3.0
LEAST_CHANGE = 6.0
BLOWN_SHARE = 0.5
"""Share of burnt-out pixels above which a picture is useless."""


def _linear_table() -> npt.NDArray[np.float32]:
    """IEC 61966-2-1, the sRGB transfer curve undone for the 256 grey levels."""
    v = np.arange(256) / 255.0
    linear = np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)
    return linear.astype(np.float32)


LINEAR = _linear_table()
LINEAR_BYTE = np.round(255.0 * LINEAR).astype(np.uint8)


def linear_grey(patch: Image) -> npt.NDArray[np.float32]:
    """Return the light (0 to 1) of a colour patch (rows, cols, 3)."""
    return np.asarray(LINEAR[cv2.cvtColor(patch, cv2.COLOR_BGR2GRAY)])


def unusable(image: Image) -> Missed | None:
    """Return DARK or BLOWN_OUT where the picture as a whole shows nothing, else None."""
    coarse = np.ascontiguousarray(image[::16, ::16, 1]).ravel()
    if np.count_nonzero(coarse >= DARK_LEVEL) < BRIGHT_SHARE * coarse.size:
        return Missed.DARK
    if np.count_nonzero(coarse >= 253) > BLOWN_SHARE * coarse.size:
        return Missed.BLOWN_OUT
    return None


def blurred(image: Image) -> bool:
    """Tell a picture without a sharp edge: over four small steps it changes nearly four times as over one."""
    rows, cols = image.shape[0] // 4, image.shape[1] // 4
    small = cv2.resize(image[..., 1], (cols, rows), interpolation=cv2.INTER_AREA).astype(np.float32)
    near = np.percentile(np.abs(small[:, 1:] - small[:, :-1]), 99.0)
    far = np.percentile(np.abs(small[:, 4:] - small[:, :-4]), 99.0)
    return bool(far > LEAST_CHANGE and far > SOFT_RATIO * near)
