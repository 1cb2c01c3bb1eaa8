"""A USB camera: what is asked of it in which order, and what is said when it does not do so.

No USB camera is at hand where the tests run: a stand-in for the driver notes what it is asked. What V4L2's
numbers mean is from the kernel's own list (V4L2_CID_EXPOSURE_AUTO: 1 manual, 3 aperture priority).
"""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest

from watcher.camera import webcam
from watcher.camera.address import DeviceAddress
from watcher.camera.controls import Controls, lock
from watcher.camera.grabbing import Grabber, Patience
from watcher.camera.health import Unusable
from watcher.camera.webcam import open_webcam
from watcher.clock import ComputerClock
from watcher.records.frames import Blind, Frame, NoFrame


@pytest.fixture(autouse=True)
def plugged_in(monkeypatch: pytest.MonkeyPatch) -> None:
    """A camera is plugged in as /dev/video0 (as far as the file system is asked)."""
    there = Path.exists
    monkeypatch.setattr(Path, "exists", lambda path: str(path) == "/dev/video0" or there(path))
    monkeypatch.setattr(webcam.os, "access", lambda path, mode: True)


class Driver:
    """A driver that takes every setting, save those named, which keep their own value."""

    def __init__(
        self, stubborn: dict[int, float] | None = None, opens: bool = True, obeys: bool = True
    ) -> None:
        self.obeys = obeys
        self.asked: list[tuple[int, float]] = []
        self.stubborn = stubborn or {}
        self.opens = opens
        self.released = False

    def isOpened(self) -> bool:
        return self.opens

    def set(self, prop: int, value: float) -> bool:
        self.asked.append((prop, value))
        return True

    def get(self, prop: int) -> float:
        told = dict(self.asked).get(prop, -1.0)
        return self.stubborn.get(prop, told)

    def release(self) -> None:
        self.released = True

    def grab(self) -> bool:
        return True

    def retrieve(self) -> tuple[bool, np.ndarray]:
        """A picture as bright as the exposure makes it, or always the same where the driver only says so."""
        grey = min(255.0, 0.5 * dict(self.asked).get(cv2.CAP_PROP_EXPOSURE, 200.0)) if self.obeys else 100.0
        return True, np.full((48, 64, 3), int(grey), np.uint8)


def test_the_format_is_asked_for_before_the_size_and_automatic_is_off_before_the_value() -> None:
    driver = Driver()
    opened = open_webcam(
        DeviceAddress(Path("/dev/video0")), (1280, 720), Controls(200.0, 4500.0, 30.0), pretended(driver)
    )
    assert not isinstance(opened, Unusable)
    order = [prop for prop, _ in driver.asked]
    assert order.index(cv2.CAP_PROP_FOURCC) < order.index(cv2.CAP_PROP_FRAME_WIDTH)
    assert order.index(cv2.CAP_PROP_AUTO_EXPOSURE) < order.index(cv2.CAP_PROP_EXPOSURE)
    asked = dict(driver.asked)
    assert asked[cv2.CAP_PROP_AUTO_EXPOSURE] == 1
    assert asked[cv2.CAP_PROP_FRAME_HEIGHT] == 720
    assert asked[cv2.CAP_PROP_AUTO_WB] == 0


def test_a_setting_that_the_camera_does_not_take_is_said() -> None:
    remarks = lock(Driver({cv2.CAP_PROP_FOCUS: 0.0}), Controls(200.0, 4500.0, 30.0))
    assert remarks == ("the camera did not take its focus: asked for 30, it says 0",)


def test_a_driver_that_says_yes_and_does_nothing_is_found_out_by_its_picture(
    caplog: pytest.LogCaptureFixture,
) -> None:
    for obeys, told in ((True, False), (False, True)):
        caplog.clear()
        driver = Driver(obeys=obeys)
        open_webcam(DeviceAddress(Path("/dev/video0")), (640, 480), Controls(200.0), pretended(driver))
        assert ("stays as bright" in caplog.text) is told
        assert dict(driver.asked)[cv2.CAP_PROP_EXPOSURE] == 200.0, "it is left at what was asked for"


def test_what_is_not_to_be_locked_is_left_alone() -> None:
    driver = Driver()
    assert lock(driver, Controls()) == ()
    assert driver.asked == []


def test_a_camera_that_is_not_plugged_in_says_so() -> None:
    unusable = open_webcam(
        DeviceAddress(Path("/dev/v4l/by-id/usb-none")), (640, 480), Controls(), pretended(Driver())
    )
    assert isinstance(unusable, Unusable)
    assert unusable.why is Blind.UNPLUGGED


def test_a_device_that_is_no_camera_is_not_opened(tmp_path: Path) -> None:
    link = tmp_path / "usb-cam"
    link.symlink_to("/dev/null")
    unusable = open_webcam(DeviceAddress(link), (640, 480), Controls(), pretended(Driver()))
    assert isinstance(unusable, Unusable)
    assert "is not a camera" in unusable.detail


def test_a_camera_in_another_programs_hands_says_so_and_is_let_go() -> None:
    driver = Driver(opens=False)
    unusable = open_webcam(DeviceAddress(Path("/dev/video0")), (640, 480), Controls(), pretended(driver))
    assert isinstance(unusable, Unusable)
    assert "another program" in unusable.detail
    assert driver.released


def pretended(driver: Driver):
    return lambda device, backend: driver


class Hanging:
    """A driver that hangs in its read for ever, as some do after a plug was pulled."""

    def __init__(self, hang: bool) -> None:
        self.hang = hang
        self.number = 0

    def grab(self) -> bool:
        from threading import Event

        Event().wait(60 if self.hang else 0.02)
        return True

    def retrieve(self) -> np.ndarray:
        self.number += 1
        return np.full((48, 64, 3), 100 + self.number % 100, np.uint8)

    def release(self) -> None:
        pass


def test_a_driver_that_hangs_is_left_behind_and_the_camera_opened_again() -> None:
    from camera_servers import waited_for

    opened = [Hanging(True), Hanging(False), Hanging(False)]
    patience = Patience(every_s=0.01, stalled_s=0.5, hung_s=1.0, pauses_s=(0.1,))
    source = Grabber("left", lambda: opened.pop(0), ComputerClock(), patience=patience)
    assert isinstance(source.newest(), NoFrame)
    took_s = waited_for(source, lambda answer: isinstance(answer, Frame), 5.0)
    source.close()
    assert took_s < 3.0
