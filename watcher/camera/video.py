"""A video file, frame after frame at its own moments. Only for files named on the command line."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import cv2

from watcher.records.frames import Frame


class VideoError(ValueError):
    """A video file cannot be read. The message is one sentence."""


def video_frames(path: Path, camera: str, started_at: datetime, *, every_s: float = 1.0) -> Iterator[Frame]:
    """Read a video file.

    Parameters
    ----------
    path : Path
    camera : str
        Name that the frames bear.
    started_at : datetime
        The moment of the video's start, aware, UTC.
    every_s : float
        Frames nearer together than this are left out. [s]

    Yields
    ------
    Frame
        `taken_s` counts from the video's start, by the time stamps in the file: frames need not be evenly
        spaced.

    Raises
    ------
    VideoError
        It is not there, or no video.
    """
    if not path.is_file():
        raise VideoError(f"there is no file {path}")
    capture = cv2.VideoCapture(str(path), cv2.CAP_FFMPEG)
    try:
        if not capture.isOpened():
            raise VideoError(f"{path} is not a video that can be read")
        due_s = 0.0
        while capture.grab():
            taken_s = capture.get(cv2.CAP_PROP_POS_MSEC) / 1000.0
            if taken_s < due_s - 1e-6:
                continue
            good, image = capture.retrieve()
            if not good or image is None:
                return
            due_s = taken_s + every_s
            image.flags.writeable = False
            yield Frame(camera, image, taken_s, started_at + timedelta(seconds=taken_s), path.name)
    finally:
        capture.release()
