"""A USB camera, opened by the name that stays the same whichever plug it is put into."""

from __future__ import annotations

import logging
import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2

from watcher.camera.address import DeviceAddress
from watcher.camera.controls import Controls, exposure_obeys, lock
from watcher.camera.grabbing import Capture, Grabber, Patience
from watcher.camera.health import Unusable
from watcher.camera.stream import VideoCapture
from watcher.clock import Clock
from watcher.records.frames import Blind

_LOG = logging.getLogger(__name__)
_SETTLES = 6  # V4L2 keeps four pictures in its buffers, and a camera takes one or two to follow
_VIDEO = re.compile(r"/dev/video\d{1,3}")
_Open = Callable[[str, int], Any]


def webcam(
    camera: str,
    address: DeviceAddress,
    clock: Clock,
    *,
    size_px: tuple[int, int],
    controls: Controls | None = None,
    patience: Patience | None = None,
) -> Grabber:
    """Watch a USB camera.

    Parameters
    ----------
    camera : str
        Its name in the settings.
    address : DeviceAddress
    clock : Clock
    size_px : tuple of int
        Width and height to ask for; what comes is checked against it. [px]
    controls : Controls, optional
        What to lock.
    patience : Patience, optional
    """
    wanted = controls if controls is not None else Controls()
    return Grabber(
        camera,
        lambda: open_webcam(address, size_px, wanted),
        clock,
        size_px=size_px,
        patience=patience,
    )


def open_webcam(
    address: DeviceAddress, size_px: tuple[int, int], controls: Controls, open_: _Open = cv2.VideoCapture
) -> Capture | Unusable:
    """Open a USB camera with MJPG at a size and with locked settings, or say why it cannot be."""
    device = os.path.realpath(address.path)
    if not Path(device).exists():
        return Unusable(Blind.UNPLUGGED, f"the camera {address.path.name} is unplugged")
    if not _VIDEO.fullmatch(device):
        return Unusable(Blind.REFUSED, f"{address.path} is not a camera")
    if not os.access(device, os.R_OK | os.W_OK):
        return Unusable(
            Blind.REFUSED, f"{device} may not be opened: add the service's user to the group video"
        )
    capture = open_(device, cv2.CAP_V4L2)
    if not capture.isOpened():
        capture.release()
        return Unusable(Blind.REFUSED, f"{device} does not open: does another program use the camera?")
    # before the size: uncompressed pictures of this size come only a few times a second over USB 2
    capture.set(cv2.CAP_PROP_FOURCC, cv2.VideoWriter.fourcc(*"MJPG"))
    capture.set(cv2.CAP_PROP_FRAME_WIDTH, size_px[0])
    capture.set(cv2.CAP_PROP_FRAME_HEIGHT, size_px[1])
    remarks = list(lock(capture, controls))
    if controls.exposure is not None:
        remarks.append(exposure_obeys(capture, lambda: _mean_grey(capture), controls.exposure))
    for remark in filter(None, remarks):
        _LOG.warning("event=camera_setting device=%s why=%r", device, remark)
    return VideoCapture(capture)


def _mean_grey(capture: Any) -> float:
    """Return the mean grey of a picture that was taken after what was set last has come through."""
    for _ in range(_SETTLES):
        capture.grab()
    good, image = capture.retrieve()
    return float(image.mean()) if good and image is not None else 0.0
