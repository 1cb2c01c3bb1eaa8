"""A cast's kept pictures as one film (H.264), made once it has been tipped, where the extra is installed.

Without it nothing is missing: the page plays the pictures themselves.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable
from datetime import timedelta
from importlib.util import find_spec
from pathlib import Path

import cv2
import numpy as np

from watcher.clock import Clock
from watcher.desk.memory import AFTER_THE_TIP, BenchMemory
from watcher.records.kept import KeptCast
from watcher.storage.crops import Crops
from watcher.storage.writer import JournalFailed

_LOG = logging.getLogger(__name__)

PICTURES_PER_S = 12
"""Half an hour of pictures, one every ten seconds, is over in fifteen seconds."""

LEAST_PICTURES = 12
"""Fewer make no film."""

BACK = timedelta(days=2)
"""Casts that were tipped while the service did not run are made up for so far back."""

ROOM_BYTES = 2_000_000
"""Room that is asked for: 360 noisy pictures 320 pixels wide came to 0.7 MB (own measurement)."""

_QUALITY = {"crf": "26", "preset": "veryfast"}


class Films:
    """Makes the films that are due; done now and then, in a thread of its own. Safe to be killed in.

    Parameters
    ----------
    memory : BenchMemory
        Knows the casts and their pictures.
    crops : Crops
        Where pictures and films lie, under one budget of bytes and days.
    clock : Clock
    """

    def __init__(self, memory: BenchMemory, crops: Crops, clock: Clock) -> None:
        self._memory = memory
        self._crops = crops
        self._clock = clock
        self._given_up: set[str] = set()

    def do(self) -> None:
        """Make a film of every cast that was tipped and has none yet."""
        if not can_film():
            return
        now = self._clock.now_at()
        try:
            casts = self._memory.casts_since(now - BACK)
        except JournalFailed:
            return  # the journal's own trouble is told elsewhere
        for cast in casts:
            if cast.tipped_at is not None and now > cast.tipped_at + AFTER_THE_TIP:
                self._film(cast)

    def _film(self, cast: KeptCast) -> None:
        if cast.cast_id in self._given_up or self._memory.film(cast) is not None:
            return
        assert cast.tipped_at is not None
        kept = self._memory.pictures(cast, cast.tipped_at)
        path = self._crops.room_for_film(cast.mould, cast.began_at, cast.tipped_at, ROOM_BYTES)
        if len(kept) < LEAST_PICTURES or path is None:
            return
        half = path.with_suffix(".part")
        try:
            count = write_film((one.path.read_bytes() for one in kept), half)
            half.replace(path)
        except (OSError, ValueError) as fault:  # what the encoder raises is a kind of these
            half.unlink(missing_ok=True)
            self._given_up.add(cast.cast_id)
            _LOG.warning("event=film_failed cast=%s why=%r", cast.cast_id, str(fault))
            return
        _LOG.info("event=filmed cast=%s pictures=%d bytes=%d", cast.cast_id, count, path.stat().st_size)


def can_film() -> bool:
    """Whether the extra that films need is installed."""
    return find_spec("av") is not None


def write_film(jpegs: Iterable[bytes], to: Path) -> int:
    """Write pictures as one H.264 film that browsers play; return how many are in it.

    Parameters
    ----------
    jpegs : iterable of bytes
        JPEG files; those that cannot be read are left out. All are brought to the size of the first.
    to : Path

    Raises
    ------
    OSError, ValueError
        The film cannot be written, or this build of the extra has no H.264.
    """
    import av

    count = 0
    with av.open(str(to), "w", format="mp4", options={"movflags": "+faststart"}) as film:
        stream = film.add_stream("libx264", rate=PICTURES_PER_S, options=_QUALITY)
        stream.pix_fmt = "yuv420p"
        stream.codec_context.thread_count = 1  # the bench comes first
        size = None
        for jpeg in jpegs:
            picture = cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_COLOR) if jpeg else None
            if picture is None:
                continue
            if size is None:
                size = stream.width, stream.height = (picture.shape[1] // 2 * 2, picture.shape[0] // 2 * 2)
            if (picture.shape[1], picture.shape[0]) != size:
                picture = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
            film.mux(stream.encode(av.VideoFrame.from_ndarray(picture, format="bgr24")))
            count += 1
        if count == 0:
            raise ValueError("none of its pictures can be read")
        film.mux(stream.encode(None))
    return count
