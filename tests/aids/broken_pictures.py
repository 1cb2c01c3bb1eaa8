"""Pictures that are not what they say: each a few bytes that would cost much, or mislead, if believed."""

from __future__ import annotations

import struct
import zlib
from functools import cache

import cv2
import numpy as np


def good_jpeg(width: int = 64, height: int = 48, *more: int) -> bytes:
    """A whole JPEG of a bench-like texture; `more` goes to OpenCV's encoder."""
    rng = np.random.default_rng(7)
    image = cv2.GaussianBlur(rng.integers(0, 255, (height, width, 3), dtype=np.uint8), (5, 5), 0)
    done, data = cv2.imencode(".jpg", image, list(more))
    assert done
    return bytes(data.tobytes())


def good_png(width: int = 64, height: int = 48) -> bytes:
    """A whole PNG."""
    done, data = cv2.imencode(".png", np.full((height, width, 3), 90, np.uint8))
    assert done
    return bytes(data.tobytes())


def saying_size(jpeg: bytes, width: int, height: int) -> bytes:
    """The same JPEG with another size in its frame header."""
    at = min(found for mark in (b"\xff\xc0", b"\xff\xc2") if (found := jpeg.find(mark)) > 0)
    return jpeg[: at + 5] + struct.pack(">HH", height, width) + jpeg[at + 9 :]


def png_saying_size(width: int, height: int) -> bytes:
    """A PNG whose header (with a right checksum) says this size, over almost no data."""

    def chunk(kind: bytes, held: bytes) -> bytes:
        return struct.pack(">I", len(held)) + kind + held + struct.pack(">I", zlib.crc32(kind + held))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(bytes(1000)))
        + chunk(b"IEND", b"")
    )


def many_scans(width: int, height: int, repeats: int) -> bytes:
    """A progressive JPEG whose last scan is said again and again: little to send, long to decode."""
    jpeg = good_jpeg(width, height, cv2.IMWRITE_JPEG_PROGRESSIVE, 1)
    last = jpeg.rfind(b"\xff\xda")
    return jpeg[:-2] + jpeg[last:-2] * repeats + jpeg[-2:]


@cache
def broken() -> dict[str, bytes]:
    """All of them by what is wrong with them."""
    jpeg = good_jpeg()
    scan = jpeg.rfind(b"\xff\xda")
    return {
        "nothing": b"",
        "one byte": b"\xff",
        "only the beginning mark": b"\xff\xd8",
        "beginning and end mark": b"\xff\xd8\xff\xd9",
        "cut in the header": jpeg[:30],
        "cut before the scan": jpeg[:scan],
        "cut in the scan": jpeg[: scan + 40],
        "cut by its last byte": jpeg[:-1],
        "65500 x 65500": saying_size(jpeg, 65500, 65500),
        "30000 x 30000": saying_size(jpeg, 30000, 30000),
        "65535 x 1": saying_size(jpeg, 65535, 1),
        "no width": saying_size(jpeg, 0, 48),
        "no height": saying_size(jpeg, 64, 0),
        "a thousand scans": many_scans(2000, 1500, 1000),
        "a segment longer than the file": b"\xff\xd8\xff\xe1\xff\xff" + jpeg[2:],
        "fill bytes without end": b"\xff\xd8" + b"\xff" * 100_000,
        "PNG of 60000 x 60000": png_saying_size(60000, 60000),
        "PNG of two thousand million columns": png_saying_size(2_000_000_000, 1),
        "PNG with almost no data": png_saying_size(64, 48),
        "PNG cut short": good_png()[:-20],
        "PNG name alone": b"\x89PNG\r\n\x1a\n",
        "HTML": b"<html><body>503 the camera is busy</body></html>",
        "GIF": b"GIF89a" + struct.pack("<HH", 65535, 65535) + bytes(20),
        "TIFF": b"II*\x00\x08\x00\x00\x00" + bytes(40),
        "BMP of 2^31 rows": b"BM"
        + struct.pack("<IIIIiiHHIIiiII", 54, 0, 54, 40, 64, 2**31 - 1, 1, 24, *[0] * 6),
        "OpenEXR": b"v/1\x01" + bytes(60),
        "HDR": b"#?RADIANCE\nFORMAT=32-bit_rle_rgbe\n\n-Y 90000 +X 90000\n",
        "PFM": b"PF\n90000 90000\n-1.0\n",
        "PGM": b"P5 90000 90000 255\n",
        "zip": b"PK\x03\x04" + bytes(60),
        "zeros": bytes(4096),
    }
