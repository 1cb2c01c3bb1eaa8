"""What a camera hands over: a picture with its moments, or the reason why there is none."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

import numpy as np
import numpy.typing as npt

Image = npt.NDArray[np.uint8]


class Blind(StrEnum):
    """Why a camera gives no picture that can be used."""

    UNPLUGGED = "unplugged"
    REFUSED = "refused"
    STALLED = "stalled"
    FROZEN = "frozen"
    BLACK = "black"
    WRONG_SIZE = "wrong_size"
    UNREADABLE = "unreadable"


@dataclass(frozen=True, slots=True)
class Frame:
    """One picture of one camera.

    Attributes
    ----------
    camera : str
        The camera's name in the settings.
    image : ndarray of uint8, shape (rows, cols, 3)
        Blue, green, red; marked read-only. The centre of the first pixel is (0, 0); rows grow downwards.
    taken_s : float
        Moment on a clock that never steps: seconds of the monotonic clock, or of the recording. [s]
    taken_at : datetime
        The same moment for people, aware, UTC.
    name : str
        Where it came from (a file's name), for messages.
    """

    camera: str
    image: Image
    taken_s: float
    taken_at: datetime
    name: str = ""


@dataclass(frozen=True, slots=True)
class NoFrame:
    """No picture at this moment, and why."""

    camera: str
    at_s: float
    at: datetime
    why: Blind
    detail: str = ""
