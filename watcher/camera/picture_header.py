"""What a picture file says of itself before any of it is decoded, so that a lie costs nothing."""

from __future__ import annotations

from dataclasses import dataclass

MOST_PIXELS = 64_000_000
"""More than the cameras of phones and benches save (common practice, no source); decoded 0.2 GB. [px]"""

MOST_WORK = 1_000_000_000
"""Pixels times scans: a progressive JPEG may pass over all its pixels as often as its writer likes. [px]"""

_PNG = b"\x89PNG\r\n\x1a\n"
_JPEG = b"\xff\xd8"
_SCAN = b"\xff\xda"
_SIZED = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
"""Markers of a frame header (ISO/IEC 10918-1, table B.1)."""

_BARE = frozenset({0x01, *range(0xD0, 0xD9)})
"""Markers without a length (the same table)."""


@dataclass(frozen=True, slots=True)
class PictureHeader:
    """What a header promises.

    Attributes
    ----------
    width_px, height_px : int
        As stored, before any turning. [px]
    scans : int
        How often a decoder passes over the picture, at most.
    """

    width_px: int
    height_px: int
    scans: int = 1

    @property
    def pixels(self) -> int:
        """How many pixels must be held. [px]."""
        return self.width_px * self.height_px


def picture_header(data: bytes) -> PictureHeader | str:
    """Read the header of a JPEG or PNG.

    Returns
    -------
    PictureHeader or str
        What it promises, or why these bytes are not to be decoded: neither kind, no size, or more than any
        camera makes.
    """
    if data.startswith(_JPEG):
        size = _jpeg_size(data)
        scans = max(1, data.count(_SCAN))
    elif data.startswith(_PNG) and data[12:16] == b"IHDR" and len(data) >= 24:
        size = int.from_bytes(data[16:20], "big"), int.from_bytes(data[20:24], "big")
        scans = 1
    else:
        return f"its {len(data)} bytes are not a picture; give a JPEG or PNG"
    if size is None or 0 in size:
        return "its header names no size; give a whole picture"
    header = PictureHeader(*size, scans)
    if header.pixels > MOST_PIXELS:
        return f"its header says {size[0]}x{size[1]}; give at most {MOST_PIXELS // 1_000_000} megapixels"
    if header.pixels * scans > MOST_WORK:
        return f"it has {scans} scans over {size[0]}x{size[1]}; save it again as an ordinary JPEG"
    return header


def _jpeg_size(data: bytes) -> tuple[int, int] | None:
    """Walk the markers as a decoder does: what stands between them is passed over, and so are fill bytes."""
    at = len(_JPEG)
    while True:
        at = data.find(b"\xff", at)
        if at < 0:
            return None
        while data[at : at + 1] == b"\xff":
            at += 1
        marker = data[at] if at < len(data) else -1
        at += 1
        if marker in _SIZED:
            height, width = data[at + 3 : at + 5], data[at + 5 : at + 7]
            whole = len(width) == 2
            return (int.from_bytes(width, "big"), int.from_bytes(height, "big")) if whole else None
        if marker in (0xD9, 0xDA, -1):
            return None
        if marker in _BARE or marker == 0:
            continue
        at += int.from_bytes(data[at : at + 2], "big")
