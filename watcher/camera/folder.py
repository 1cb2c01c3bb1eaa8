"""A folder into which another program drops pictures: the newest whole one counts."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from threading import Lock

from watcher.camera.address import FolderAddress
from watcher.camera.health import Unusable, Watched, judged
from watcher.camera.pictures import MOST_BYTES, BadPicture, picture_from_bytes
from watcher.clock import Clock
from watcher.records.frames import Blind, Frame, NoFrame

STALE_S = 90.0
"""A newest picture older than this is stale: such programs drop one every few seconds to a minute (common
practice, no source). [s]"""

_ENDINGS = (".jpg", ".jpeg")
_MANY = 300  # a folder with so many files grows by new names; looking through them all takes long
_LOOK_BACK = 3  # the newest file may still be being written: then the one before it counts


@dataclass(frozen=True, slots=True)
class _Dropped:
    path: Path
    changed_ns: int


class PictureFolder:
    """A `FrameSource` over a folder. Links are not followed: they could lead out of it.

    Parameters
    ----------
    camera : str
        Its name in the settings.
    address : FolderAddress
    clock : Clock
    size_px : tuple of int
        Width and height that the lens calibration holds for. [px]
    stale_s : float
        A newest picture older than this is stale. [s]
    """

    def __init__(
        self,
        camera: str,
        address: FolderAddress,
        clock: Clock,
        *,
        size_px: tuple[int, int],
        stale_s: float = STALE_S,
    ) -> None:
        self._camera = camera
        self._folder = address.path
        self._clock = clock
        self._size_px = size_px
        self._stale_s = stale_s
        self._lock = Lock()
        self._seen_ns = -1
        self._shown: _Dropped | None = None
        self._watched = Watched()
        self._answer: Frame | Unusable = Unusable(Blind.UNPLUGGED, "no picture has been dropped yet")

    def newest(self) -> Frame | NoFrame:
        """Return the newest whole picture, or why there is none."""
        now_s, now_at = self._clock.now_s(), self._clock.now_at()
        with self._lock:
            unusable = self._look(now_s)
            answer = self._answer if unusable is None else unusable
        if isinstance(answer, Frame) and now_s - answer.taken_s > self._stale_s:
            answer = Unusable(
                Blind.STALLED,
                f"no new picture for {now_s - answer.taken_s:.0f} s: does the program that takes them run?",
            )
        if isinstance(answer, Frame):
            return answer
        return NoFrame(self._camera, now_s, now_at, answer.why, answer.detail)

    def close(self) -> None:
        """Nothing is held open."""

    def _look(self, now_s: float) -> Unusable | None:
        """Read the folder if it has changed; return what is wrong with it as a whole."""
        try:
            changed_ns = self._folder.stat().st_mtime_ns
            if changed_ns == self._seen_ns:
                return None
            dropped, files = self._newest_files()
        except OSError as fault:
            self._seen_ns = -1
            return Unusable(Blind.UNPLUGGED, f"the folder {self._folder} cannot be read: {fault.strerror}")
        if dropped:
            self._answer = self._first_whole(dropped, now_s)
        # a file that is written over, or not yet whole, leaves the folder's own date as it is
        whole = isinstance(self._answer, Frame) and dropped[:1] == [self._shown]
        self._seen_ns = changed_ns if whole and files > _MANY else -1
        return None

    def _newest_files(self) -> tuple[list[_Dropped], int]:
        with os.scandir(self._folder) as entries:
            files = [
                _Dropped(Path(entry.path), entry.stat(follow_symlinks=False).st_mtime_ns)
                for entry in entries
                if entry.name.lower().endswith(_ENDINGS) and entry.is_file(follow_symlinks=False)
            ]
        files.sort(key=lambda file: (file.changed_ns, file.path.name))
        return files[: -_LOOK_BACK - 1 : -1], len(files)

    def _first_whole(self, dropped: list[_Dropped], now_s: float) -> Frame | Unusable:
        fault: Unusable | None = None
        for file in dropped:
            if file == self._shown and isinstance(self._answer, Frame):
                return self._answer
            answer = self._read(file, now_s)
            if isinstance(answer, Frame):
                self._shown = file
                return answer
            fault = fault if fault is not None else answer
        assert fault is not None
        return fault

    def _read(self, file: _Dropped, now_s: float) -> Frame | Unusable:
        try:
            with file.path.open("rb") as opened:
                data = opened.read(MOST_BYTES + 1)
        except OSError as lost:
            return Unusable(Blind.UNREADABLE, f"{file.path.name} cannot be read: {lost.strerror}")
        if len(data) > MOST_BYTES:
            return Unusable(Blind.UNREADABLE, f"{file.path.name} is too large for a picture")
        image = picture_from_bytes(data, width_px=self._size_px[0], height_px=self._size_px[1])
        if isinstance(image, BadPicture):
            return Unusable(image.why, f"{file.path.name}: {image.detail}")
        now_at = self._clock.now_at()
        age_s = now_at.timestamp() - file.changed_ns / 1e9
        # a file from the future, or from a computer whose clock is off: it has just come, so it is new
        age_s = age_s if 0.0 <= age_s < 86_400.0 or self._shown is None else 0.0
        taken_s = now_s - max(age_s, 0.0)
        self._watched, unusable = judged(image, taken_s, self._watched)
        if unusable is not None:
            return unusable
        taken_at = now_at.fromtimestamp(now_at.timestamp() - max(age_s, 0.0), now_at.tzinfo)
        return Frame(self._camera, image, taken_s, taken_at, file.path.name)
