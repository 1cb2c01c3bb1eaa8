"""A picture may lie about its size, be cut short or be something else: it costs little and is never read."""

from __future__ import annotations

import io
import resource
import struct
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import cv2
import numpy as np
import pytest
from broken_pictures import broken, good_jpeg, good_png, many_scans, saying_size
from fuzz_budget import tries
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image as Pillow

from watcher.camera.address import FolderAddress
from watcher.camera.folder import PictureFolder
from watcher.camera.picture_header import PictureHeader, picture_header
from watcher.camera.pictures import BadPicture, picture_from_bytes, picture_of_any_size
from watcher.clock import ToldClock
from watcher.commands.picture_files import read_picture
from watcher.commands.refused import Refused
from watcher.records.frames import NoFrame

SOON_S = 1.0
LITTLE_KIB = 100_000
"""Growth of the most memory ever held; 30000 x 30000 in three colours would be 2,600,000."""

GOOD = good_jpeg()


def fixed(data: bytes) -> object:
    return picture_from_bytes(data, width_px=64, height_px=48)


@pytest.mark.parametrize("name", list(broken()))
@pytest.mark.parametrize("read", [fixed, picture_of_any_size])
def test_what_is_no_honest_picture_is_refused_soon_and_at_no_cost(
    name: str, read: Callable[[bytes], object]
) -> None:
    data = broken()[name]
    before_kib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    began = time.perf_counter()
    answer = read(data)
    took_s = time.perf_counter() - began
    assert took_s < SOON_S
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before_kib < LITTLE_KIB
    if name == "65535 x 1" and read is picture_of_any_size:
        return  # small, whole, and of a size that can be
    assert isinstance(answer, BadPicture)
    assert answer.detail and "\n" not in answer.detail


@pytest.mark.parametrize("name", list(broken()))
def test_a_folder_and_a_command_meet_them_too(name: str, tmp_path: Path) -> None:
    file = tmp_path / "dropped.jpg"
    file.write_bytes(broken()[name])
    clock = ToldClock(100.0, datetime(2026, 3, 3, 8, tzinfo=UTC))
    assert isinstance(
        PictureFolder("bench", FolderAddress(tmp_path), clock, size_px=(64, 48)).newest(), NoFrame
    )
    if name == "65535 x 1":
        return
    with pytest.raises(Refused, match=r"dropped\.jpg"):
        read_picture(file)


def test_whole_pictures_are_read() -> None:
    for data in (GOOD, good_jpeg(64, 48, cv2.IMWRITE_JPEG_PROGRESSIVE, 1), good_png()):
        image = fixed(data)
        assert isinstance(image, np.ndarray) and image.shape == (48, 64, 3)
        assert np.array_equal(image, cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR))


def test_a_progressive_picture_of_the_usual_number_of_scans_is_no_bomb() -> None:
    header = picture_header(good_jpeg(640, 480, cv2.IMWRITE_JPEG_PROGRESSIVE, 1))
    assert isinstance(header, PictureHeader) and 1 < header.scans < 20
    assert isinstance(picture_header(many_scans(2000, 1500, 1000)), str)


def turned(width: int, height: int) -> bytes:
    """A picture that says it was taken with the camera on its side (EXIF orientation 6)."""
    exif = b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0"
    return GOOD[:2] + b"\xff\xe1" + struct.pack(">H", len(exif) + 2) + exif + good_jpeg(width, height)[2:]


def test_a_picture_that_lies_on_its_side_counts_by_how_it_stands() -> None:
    assert isinstance(picture_from_bytes(turned(48, 64), width_px=64, height_px=48), np.ndarray)
    assert isinstance(picture_from_bytes(turned(64, 48), width_px=64, height_px=48), BadPicture)


@given(
    width=st.integers(1, 400),
    height=st.integers(1, 400),
    progressive=st.booleans(),
    comment=st.binary(max_size=300),
    grey=st.booleans(),
)
@tries(60)
def test_the_header_says_what_another_library_reads_in_it(
    width: int, height: int, progressive: bool, comment: bytes, grey: bool
) -> None:
    for kind in ("JPEG", "PNG"):
        made = io.BytesIO()
        picture = Pillow.new("L" if grey else "RGB", (width, height), 90)
        more = {"progressive": progressive, "comment": comment} if kind == "JPEG" else {}
        picture.save(made, kind, **more)
        header = picture_header(made.getvalue())
        assert isinstance(header, PictureHeader)
        assert (header.width_px, header.height_px) == Pillow.open(io.BytesIO(made.getvalue())).size


@given(data=st.data())
@tries(100)
def test_a_picture_with_any_of_its_bytes_changed_is_read_or_refused(data: st.DataObject) -> None:
    changed = bytearray(data.draw(st.sampled_from([GOOD, good_png(), saying_size(GOOD, 48, 64)])))
    for _ in range(data.draw(st.integers(1, 6))):
        changed[data.draw(st.integers(0, len(changed) - 1))] = data.draw(st.integers(0, 255))
    image = fixed(bytes(changed))
    assert isinstance(image, BadPicture) or image.shape == (48, 64, 3)
