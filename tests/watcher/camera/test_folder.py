"""A folder into which another program drops pictures, whole or half-written, in time or not."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import cv2
from camera_servers import SIZE_PX, noise

from watcher.camera.address import FolderAddress
from watcher.camera.folder import STALE_S, PictureFolder
from watcher.clock import ToldClock
from watcher.records.frames import Blind, Frame, NoFrame

NOON = datetime(2026, 3, 3, 12, 0, tzinfo=UTC)


def drop(folder: Path, name: str, number: int, at: datetime, *, share: float = 1.0) -> None:
    data = cv2.imencode(".jpg", noise(number))[1].tobytes()
    (folder / name).write_bytes(data[: int(len(data) * share)])
    os.utime(folder / name, (at.timestamp(), at.timestamp()))


def watched(folder: Path) -> tuple[PictureFolder, ToldClock]:
    clock = ToldClock(1000.0, NOON)
    return PictureFolder("left", FolderAddress(folder), clock, size_px=SIZE_PX), clock


def later(clock: ToldClock, seconds: float) -> None:
    clock.tell(clock.now_s() + seconds, clock.now_at() + timedelta(seconds=seconds))


def test_the_newest_picture_counts_and_bears_the_moment_it_was_dropped(tmp_path: Path) -> None:
    drop(tmp_path, "b.jpg", 1, NOON - timedelta(seconds=30))
    drop(tmp_path, "a.jpeg", 2, NOON - timedelta(seconds=5))
    source, _ = watched(tmp_path)
    frame = source.newest()
    assert isinstance(frame, Frame)
    assert frame.name == "a.jpeg"
    assert frame.taken_s == 995.0
    assert frame.taken_at == NOON - timedelta(seconds=5)
    assert not frame.image.flags.writeable


def test_a_half_written_picture_waits_and_the_one_before_it_counts(tmp_path: Path) -> None:
    source, clock = watched(tmp_path)
    drop(tmp_path, "1.jpg", 1, NOON)
    drop(tmp_path, "2.jpg", 2, NOON + timedelta(seconds=5), share=0.6)
    later(clock, 5)
    first = source.newest()
    drop(tmp_path, "2.jpg", 2, NOON + timedelta(seconds=5))
    second = source.newest()
    assert isinstance(first, Frame)
    assert isinstance(second, Frame)
    assert (first.name, second.name) == ("1.jpg", "2.jpg")


def test_a_program_that_writes_over_one_and_the_same_file_is_followed(tmp_path: Path) -> None:
    source, clock = watched(tmp_path)
    drop(tmp_path, "now.jpg", 1, NOON)
    first = source.newest()
    later(clock, 10)
    drop(tmp_path, "now.jpg", 2, clock.now_at())
    second = source.newest()
    assert isinstance(first, Frame)
    assert isinstance(second, Frame)
    assert second.taken_s == first.taken_s + 10


def test_when_pictures_stop_coming_it_is_stalled_and_recovers_with_the_next(tmp_path: Path) -> None:
    source, clock = watched(tmp_path)
    drop(tmp_path, "1.jpg", 1, NOON)
    assert isinstance(source.newest(), Frame)
    later(clock, STALE_S + 10)
    stalled = source.newest()
    assert isinstance(stalled, NoFrame)
    assert stalled.why is Blind.STALLED
    assert "100 s" in stalled.detail
    drop(tmp_path, "2.jpg", 2, clock.now_at())
    assert isinstance(source.newest(), Frame)


def test_an_old_picture_left_from_yesterday_is_not_taken_for_a_new_one(tmp_path: Path) -> None:
    drop(tmp_path, "1.jpg", 1, NOON - timedelta(days=2))
    source, _ = watched(tmp_path)
    assert isinstance(source.newest(), NoFrame)


def test_a_folder_on_a_computer_whose_clock_is_off_still_brings_new_pictures(tmp_path: Path) -> None:
    source, clock = watched(tmp_path)
    drop(tmp_path, "1.jpg", 1, NOON - timedelta(hours=30))
    assert isinstance(source.newest(), NoFrame)
    later(clock, 5)
    drop(tmp_path, "2.jpg", 2, NOON - timedelta(hours=30) + timedelta(seconds=5))
    frame = source.newest()
    assert isinstance(frame, Frame)
    assert frame.taken_s == clock.now_s()


def test_a_folder_that_vanishes_is_unplugged_and_comes_back(tmp_path: Path) -> None:
    folder = tmp_path / "left"
    source, clock = watched(folder)
    gone = source.newest()
    assert isinstance(gone, NoFrame)
    assert gone.why is Blind.UNPLUGGED
    folder.mkdir()
    drop(folder, "1.jpg", 1, NOON)
    later(clock, 1)
    assert isinstance(source.newest(), Frame)
    source.close()
    source.close()


def test_a_link_that_leads_out_of_the_folder_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "private").mkdir()
    drop(tmp_path / "private", "secret.jpg", 1, NOON)
    folder = tmp_path / "drop"
    folder.mkdir()
    (folder / "link.jpg").symlink_to(tmp_path / "private" / "secret.jpg")
    source, _ = watched(folder)
    assert isinstance(source.newest(), NoFrame)


def test_a_picture_of_another_size_says_which_is_wanted(tmp_path: Path) -> None:
    cv2.imwrite(str(tmp_path / "1.jpg"), noise(1, (160, 120)))
    os.utime(tmp_path / "1.jpg", (NOON.timestamp(), NOON.timestamp()))
    source, _ = watched(tmp_path)
    answer = source.newest()
    assert isinstance(answer, NoFrame)
    assert answer.why is Blind.WRONG_SIZE
    assert "320x240" in answer.detail
