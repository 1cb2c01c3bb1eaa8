"""Cameras in the network: RTSP, and MJPEG over HTTP."""

from __future__ import annotations

from dataclasses import dataclass

import cv2

from watcher.camera.address import StreamAddress
from watcher.camera.grabbing import Capture, Grabber, Patience
from watcher.camera.health import Unusable
from watcher.camera.probe import why_closed
from watcher.clock import Clock
from watcher.records.frames import Image


def stream(
    camera: str,
    address: StreamAddress,
    clock: Clock,
    *,
    size_px: tuple[int, int] | None = None,
    patience: Patience | None = None,
) -> Grabber:
    """Watch a camera in the network.

    Parameters
    ----------
    camera : str
        Its name in the settings.
    address : StreamAddress
    clock : Clock
    size_px : tuple of int, optional
        Width and height that the lens calibration holds for. [px]
    patience : Patience, optional
    """
    waits = patience if patience is not None else Patience()
    return Grabber(camera, lambda: open_stream(address, waits), clock, size_px=size_px, patience=waits)


def open_stream(address: StreamAddress, patience: Patience) -> Capture | Unusable:
    """Open a stream within its time-out, or say why it cannot be."""
    # time-outs are obeyed only when the backend is named
    capture = cv2.VideoCapture(
        address.url,
        cv2.CAP_FFMPEG,
        [
            cv2.CAP_PROP_OPEN_TIMEOUT_MSEC,
            round(patience.open_s * 1000),
            cv2.CAP_PROP_READ_TIMEOUT_MSEC,
            round(patience.read_s * 1000),
        ],
    )
    if capture.isOpened():
        return VideoCapture(capture)
    capture.release()
    return why_closed(address)


@dataclass(frozen=True, slots=True)
class VideoCapture:
    """OpenCV's capture with answers instead of pairs."""

    capture: cv2.VideoCapture

    def grab(self) -> bool:
        """Wait for the next picture."""
        return bool(self.capture.grab())

    def retrieve(self) -> Image | None:
        """Decode the picture grabbed last; None when it cannot be."""
        good, image = self.capture.retrieve()
        return image if good and image is not None and image.ndim == 3 else None

    def release(self) -> None:
        """Let go of the camera."""
        self.capture.release()
