"""From the bytes of a picture file to a picture, or the plain reason why not."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from watcher.camera.picture_header import picture_header
from watcher.records.frames import Blind, Image

MOST_BYTES = 40_000_000
"""A picture of 50 megapixels is smaller. [bytes]"""

_JPEG = b"\xff\xd8"
_SCAN = b"\xff\xda"
_END = b"\xff\xd9"


@dataclass(frozen=True, slots=True)
class BadPicture:
    """Why these bytes give no picture that can be used."""

    why: Blind
    detail: str


def picture_from_bytes(data: bytes, *, width_px: int, height_px: int) -> Image | BadPicture:
    """Decode a picture in colour and check that it is whole and of the expected size.

    Parameters
    ----------
    data : bytes
        A JPEG or PNG.
    width_px, height_px : int
        The size that the lens calibration holds for. [px]

    Returns
    -------
    ndarray of uint8, shape (rows, cols, 3), or BadPicture
        Blue, green, red; read-only.
    """
    header = picture_header(data)
    if not isinstance(header, str) and {header.width_px, header.height_px} != {width_px, height_px}:
        return _wrong_size(header.width_px, header.height_px, width_px, height_px)
    image = picture_of_any_size(data)
    if isinstance(image, BadPicture):
        return image
    rows, cols = image.shape[:2]
    if (cols, rows) != (width_px, height_px):  # it says of itself that it lies on its side
        return _wrong_size(cols, rows, width_px, height_px)
    return image


def picture_of_any_size(data: bytes) -> Image | BadPicture:
    """Decode a picture in colour and check that it is whole.

    Parameters
    ----------
    data : bytes
        A JPEG or PNG, from anybody: what its header promises is looked at before anything is decoded.

    Returns
    -------
    ndarray of uint8, shape (rows, cols, 3), or BadPicture
        Blue, green, red; read-only.
    """
    if len(data) > MOST_BYTES:
        return BadPicture(Blind.UNREADABLE, f"it is larger than {MOST_BYTES / 1e6:g} MB; give a smaller one")
    header = picture_header(data)
    if isinstance(header, str):
        return BadPicture(Blind.UNREADABLE, header)
    if cut_short(data):
        return BadPicture(Blind.UNREADABLE, "the JPEG is cut short; give the whole file")
    image = _decoded(data)
    if image is None:
        return BadPicture(Blind.UNREADABLE, f"its {len(data)} bytes are not a picture; give a JPEG or PNG")
    image.flags.writeable = False
    return image


def _wrong_size(cols: int, rows: int, width_px: int, height_px: int) -> BadPicture:
    return BadPicture(
        Blind.WRONG_SIZE,
        f"the picture is {cols}x{rows}; give {width_px}x{height_px} as the camera's calibration says",
    )


def cut_short(data: bytes) -> bool:
    """Say whether these bytes are a JPEG without its end.

    A decoder fills the missing part with grey and says nothing, and grey can look like slip. The end mark
    must come after the last scan's start: a thumbnail inside the header has an end mark of its own.
    """
    if data.endswith(_END) or not data.startswith(_JPEG):
        return False
    return data.find(_END, max(0, data.rfind(_SCAN))) < 0


def _decoded(data: bytes) -> Image | None:
    try:
        image = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
    except cv2.error:
        return None
    return None if image is None else np.asarray(image, dtype=np.uint8)
