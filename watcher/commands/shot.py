"""`tipbell shot`: take one picture with the bench's camera, for the steps of setting up."""

from __future__ import annotations

from pathlib import Path
from threading import Event

from watcher.camera.address import AddressError, camera_address
from watcher.camera.opening import open_source
from watcher.clock import ComputerClock
from watcher.commands.picture_files import write_picture
from watcher.commands.refused import Refused
from watcher.records.frames import Frame

PATIENCE_S = 15.0
SETTLING_S = 2.0
"""A camera's exposure and focus need this long after it is opened (common practice, no source)."""
ASK_AGAIN_S = 0.2


def shot(camera: str, size_px: tuple[int, int], out: Path) -> None:
    """Take a picture once the camera has settled.

    Parameters
    ----------
    camera : str
        Its address: a device, an rtsp:// or http:// address, or a folder.
    size_px : tuple of int
        Width and height of the picture. [px]
    out : Path
        The file to write, .png or .jpg.

    Raises
    ------
    Refused
        The camera cannot be used or sends no picture; one sentence.
    """
    try:
        address = camera_address(camera, (Path.cwd(), Path.home()))
    except AddressError as fault:
        raise Refused(str(fault)) from fault
    clock, wait = ComputerClock(), Event()
    source = open_source("shot", address, clock, size_px=size_px)
    began_s, first_s = clock.now_s(), None
    try:
        while True:
            newest = source.newest()
            if isinstance(newest, Frame):
                first_s = clock.now_s() if first_s is None else first_s
                if clock.now_s() - first_s >= SETTLING_S:
                    write_picture(out, newest.image)
                    break
            elif clock.now_s() - began_s > PATIENCE_S:
                raise Refused(newest.detail or f"the camera sends no picture ({newest.why})")
            wait.wait(ASK_AGAIN_S)
    finally:
        source.close()
    print(f"wrote {out}")
