"""Cameras in the network: real servers, stalled, killed and refused, are found again by themselves."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest
from camera_servers import (
    SIZE_PX,
    faulty_camera,
    ffmpeg_camera,
    free_port,
    is_picture,
    noise,
    rtsp_camera,
    waited_for,
)

from watcher.camera.address import StreamAddress
from watcher.camera.grabbing import Grabber, Patience
from watcher.camera.stream import stream
from watcher.clock import ComputerClock
from watcher.records.frames import Blind, Frame, NoFrame

QUICK = Patience(every_s=0.05, stalled_s=1.5, hung_s=20.0, open_s=8.0, read_s=1.0, pauses_s=(0.2, 0.4, 0.8))


def watched(url: str) -> Grabber:
    return stream("left", StreamAddress(url), ComputerClock(), size_px=SIZE_PX, patience=QUICK)


def says(why: Blind):
    return lambda answer: isinstance(answer, NoFrame) and answer.why is why


def test_ffmpeg_mjpeg_stalled_and_killed_is_told_and_found_again(ffmpeg_path: str) -> None:
    port = free_port()
    camera = ffmpeg_camera(ffmpeg_path, port)
    source = watched(camera.url)
    try:
        waited_for(source, is_picture, 15)
        frame = source.newest()
        assert isinstance(frame, Frame)
        assert frame.image.shape == (240, 320, 3)
        assert not frame.image.flags.writeable
        camera.hold()
        stalled_s = waited_for(source, lambda answer: not is_picture(answer), 8)
        camera.kill()
        waited_for(source, says(Blind.UNPLUGGED), 8)
        gone = source.newest()
        assert isinstance(gone, NoFrame)
        assert "offers no camera" in gone.detail
        camera = ffmpeg_camera(ffmpeg_path, port)
        back_s = waited_for(source, is_picture, 15)
        print(f"mjpeg: stall told after {stalled_s:.1f} s, back after {back_s:.1f} s")
    finally:
        source.close()
        camera.kill()


def test_rtsp_stalled_goes_on_and_killed_is_found_again(rtsp_python: str) -> None:
    port = free_port()
    camera = rtsp_camera(rtsp_python, port)
    source = watched(camera.url)
    try:
        waited_for(source, is_picture, 20)
        camera.hold()
        stalled_s = waited_for(source, says(Blind.STALLED), 8)
        camera.go_on()
        again_s = waited_for(source, is_picture, 20)
        camera.kill()
        waited_for(source, says(Blind.UNPLUGGED), 10)
        camera = rtsp_camera(rtsp_python, port)
        back_s = waited_for(source, is_picture, 20)
        print(
            f"rtsp: stall told {stalled_s:.1f} s, going on {again_s:.1f} s, back after a kill {back_s:.1f} s"
        )
    finally:
        source.close()
        camera.kill()


def test_rtsp_with_a_wrong_password_is_refused_and_the_password_is_never_shown(
    rtsp_python: str, capfd: pytest.CaptureFixture[str], caplog: pytest.LogCaptureFixture
) -> None:
    port = free_port()
    camera = rtsp_camera(rtsp_python, port, "caster", "right-one")
    wrong = watched(camera.url.replace("rtsp://", "rtsp://caster:hunter22@"))
    right = watched(camera.url.replace("rtsp://", "rtsp://caster:right-one@"))
    try:
        waited_for(wrong, says(Blind.REFUSED), 15)
        refused = wrong.newest()
        assert isinstance(refused, NoFrame)
        assert "refuses user and password" in refused.detail
        waited_for(right, is_picture, 20)
    finally:
        wrong.close()
        right.close()
        camera.kill()
    shown = refused.detail + caplog.text + "".join(capfd.readouterr())
    assert "hunter22" not in shown
    assert "right-one" not in shown


def test_a_camera_that_asks_for_a_password_says_so_and_opens_with_it(
    capfd: pytest.CaptureFixture[str],
) -> None:
    with faulty_camera() as camera:
        camera.login = "caster:right-one"
        without = watched(camera.url)
        wrong = watched(camera.url.replace("http://", "http://caster:hunter22@"))
        right = watched(camera.url.replace("http://", "http://caster:right-one@"))
        try:
            waited_for(without, says(Blind.REFUSED), 8)
            waited_for(wrong, says(Blind.REFUSED), 8)
            answers = without.newest(), wrong.newest()
            waited_for(right, is_picture, 10)
        finally:
            for source in (without, wrong, right):
                source.close()
    first, second = answers
    assert isinstance(first, NoFrame)
    assert isinstance(second, NoFrame)
    assert "asks for user and password" in first.detail
    assert "refuses user and password" in second.detail
    assert "hunter22" not in second.detail + "".join(capfd.readouterr())


def test_a_stream_that_falls_silent_without_closing_is_opened_again() -> None:
    with faulty_camera() as camera:
        source = watched(camera.url)
        try:
            waited_for(source, is_picture, 8)
            camera.silent.set()
            waited_for(source, says(Blind.STALLED), 5)
            camera.silent.clear()
            waited_for(source, is_picture, 8)
        finally:
            source.close()


def test_pictures_are_the_newest_however_seldom_they_are_asked_for() -> None:
    born: dict[int, float] = {}

    def picture(number: int) -> np.ndarray:
        born[number] = time.monotonic()
        image = noise(number)
        image[:40, :40] = number % 16 * 16  # the number can be read off the picture
        return image

    with faulty_camera() as camera:
        camera.picture, camera.every_s = picture, 0.1
        source = watched(camera.url)
        try:
            waited_for(source, is_picture, 8)
            time.sleep(2.5)
            frame, asked = source.newest(), time.monotonic()
        finally:
            source.close()
    assert isinstance(frame, Frame)
    shown = round(float(frame.image[:30, :30].mean()) / 16)
    number = max(number for number, at in born.items() if at <= asked and number % 16 == shown)
    assert asked - born[number] < 0.6, "a reader that does not drain its buffer falls seconds behind"


def test_black_wrong_size_and_no_one_there_are_plain_sentences() -> None:
    with faulty_camera() as camera:
        source = watched(camera.url)
        try:
            camera.picture = lambda number: np.zeros((240, 320, 3), np.uint8)
            waited_for(source, says(Blind.BLACK), 8)
            camera.picture = noise
            waited_for(source, is_picture, 8)
        finally:
            source.close()
        camera.picture = lambda number: noise(number, (160, 120))
        source = watched(camera.url)
        waited_for(source, says(Blind.WRONG_SIZE), 8)
        wrong = source.newest()
        source.close()
    assert isinstance(wrong, NoFrame)
    assert "160x120" in wrong.detail
    assert "320x240" in wrong.detail
    nobody = watched(f"http://127.0.0.1:{free_port()}/")
    waited_for(nobody, says(Blind.UNPLUGGED), 5)
    nobody.close()
    nobody.close()


def test_two_cameras_in_one_process_do_not_feel_each_other() -> None:
    with faulty_camera() as one, faulty_camera() as other:
        other.picture = lambda number: noise(number) // 2
        left = watched(one.url)
        right = stream("right", StreamAddress(other.url), ComputerClock(), size_px=SIZE_PX, patience=QUICK)
        try:
            waited_for(left, is_picture, 8)
            waited_for(right, is_picture, 8)
            one.silent.set()
            waited_for(left, says(Blind.STALLED), 8)
            frame = right.newest()
        finally:
            left.close()
            right.close()
    assert isinstance(frame, Frame)
    assert frame.camera == "right"
    assert abs(float(frame.image.mean()) - 60.0) < 3.0


def test_an_answer_never_waits_and_closing_leaves_no_thread_or_file() -> None:
    def open_files() -> int:
        return len(list(Path("/proc/self/fd").iterdir()))

    with faulty_camera() as camera:
        first = watched(camera.url)
        waited_for(first, is_picture, 8)
        first.close()
        time.sleep(0.3)
        before = open_files()
        for _ in range(3):
            source = watched(camera.url)
            waited_for(source, is_picture, 8)
            began = time.monotonic()
            source.newest()
            assert time.monotonic() - began < 0.1
            source.close()
        time.sleep(0.3)
        assert open_files() <= before
