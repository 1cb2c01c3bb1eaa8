"""From a camera's address to the camera."""

from __future__ import annotations

from watcher.camera.address import Address, DeviceAddress, FolderAddress, StreamAddress
from watcher.camera.controls import Controls
from watcher.camera.folder import PictureFolder
from watcher.camera.source import FrameSource
from watcher.camera.stream import stream
from watcher.camera.webcam import webcam
from watcher.clock import Clock


def open_source(
    camera: str,
    address: Address,
    clock: Clock,
    *,
    size_px: tuple[int, int],
    controls: Controls | None = None,
) -> FrameSource:
    """Open a camera. A camera that cannot be had now is no error: it is tried again until it can.

    Parameters
    ----------
    camera : str
        Its name in the settings.
    address : Address
        From `camera_address`.
    clock : Clock
    size_px : tuple of int
        Width and height that the lens calibration holds for. [px]
    controls : Controls, optional
        What a USB camera's exposure, white balance and focus are locked to.
    """
    match address:
        case StreamAddress():
            return stream(camera, address, clock, size_px=size_px)
        case DeviceAddress():
            return webcam(camera, address, clock, size_px=size_px, controls=controls)
        case FolderAddress():
            return PictureFolder(camera, address, clock, size_px=size_px)
