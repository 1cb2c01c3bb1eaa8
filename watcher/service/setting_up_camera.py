"""The camera while a bench is being set up: chosen on the page, or the one that is watched by already."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from threading import Event, Lock

from models.doors import BadValue
from watcher.camera.address import AddressError, camera_address
from watcher.camera.opening import open_source
from watcher.clock import Clock
from watcher.page.port import Picture
from watcher.page.setup.port import Unfit
from watcher.page.setup.shown import CameraShown, Told
from watcher.records.frames import Frame, NoFrame
from watcher.records.readings import Sighting
from watcher.service.setting_up_pictures import shown_picture
from watcher.service.stand_ins import Source
from watcher.setup.folder import USUAL_SIZE, ChosenCamera, SetupFolder

PLUGGED = Path("/dev/v4l/by-id")
FIRST_PICTURE_S = 6.0
"""How long a camera that was just chosen is waited for, before the page says that nothing comes yet. [s]"""


class SetupCamera:
    """The camera of the set-up pages.

    Parameters
    ----------
    folder : SetupFolder
    clock : Clock
    roots : sequence of Path
        Folders below which pictures may be dropped; nothing else on this computer is ever opened.
    watched : tuple of (Source, address, size), optional
        The camera by which a bench is watched; then it is not chosen here.
    """

    def __init__(
        self,
        folder: SetupFolder,
        clock: Clock,
        roots: Sequence[Path],
        watched: tuple[Source, str, tuple[int, int]] | None = None,
    ) -> None:
        self._folder = folder
        self._clock = clock
        self._roots = tuple(roots)
        self._watched = watched
        self._lock = Lock()
        self._source: Source | None = watched[0] if watched else None
        self._shown: Picture | None = None

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height of the picture."""
        if self._watched is not None:
            return self._watched[2]
        chosen = self._chosen()
        return USUAL_SIZE if chosen is None else (chosen.width_px, chosen.height_px)

    def shown(self) -> CameraShown:
        """Return the camera as it is chosen, and what else is plugged in."""
        newest = self._newest()
        why = "" if isinstance(newest, Frame) else (newest.detail or newest.why.value if newest else "")
        width_px, height_px = self.size_px
        return CameraShown(
            self._masked(),
            width_px,
            height_px,
            () if self._watched else _plugged(),
            why,
            _id_of(newest) if isinstance(newest, Frame) else "",
            self._watched is not None,
        )

    def choose(self, address: str, width_px: int, height_px: int) -> Told:
        """Choose another camera, and wait a little for its first picture."""
        if self._watched is not None:
            raise Unfit("the bench is watched by its camera; change address under [camera] in the settings")
        try:
            found = camera_address(address, self._roots)
        except AddressError as fault:
            raise Unfit(str(fault), "address") from None
        with self._lock:
            self._let_go()
            self._folder.keep_camera(ChosenCamera(address.strip(), width_px, height_px))
            self._source = open_source("setup", found, self._clock, size_px=(width_px, height_px))
        wait, until_s = Event(), self._clock.now_s() + FIRST_PICTURE_S
        while self._clock.now_s() < until_s:
            if isinstance(self._newest(), Frame):
                return Told(("the camera sends pictures",))
            wait.wait(0.2)
        newest = self._newest()
        why = newest.detail or newest.why.value if isinstance(newest, NoFrame) else "nothing has come yet"
        return Told((f"the camera is chosen, but sends no picture that can be used: {why}",))

    def picture(self) -> Picture | None:
        """Return the newest picture, or None."""
        newest = self._newest()
        if not isinstance(newest, Frame):
            return None
        shown = self._shown
        if shown is None or shown.frame_id != _id_of(newest):
            shown = shown_picture(newest.image, _id_of(newest), newest.taken_at)
            self._shown = shown
        return shown

    def frame(self) -> Frame:
        """Return the newest frame, or raise `Unfit` with the reason why there is none."""
        newest = self._newest()
        if isinstance(newest, Frame):
            return newest
        if newest is None:
            raise Unfit("no camera has been chosen yet; choose it first")
        raise Unfit(newest.detail or f"the camera sends no picture ({newest.why.value})")

    def close(self) -> None:
        """Let go of a camera that was opened here. Twice is fine."""
        with self._lock:
            self._let_go()

    def _let_go(self) -> None:
        if self._source is not None and self._watched is None:
            self._source.close()
            self._source = None

    def _newest(self) -> Frame | NoFrame | None:
        with self._lock:
            if self._source is None:
                self._open_again()
            newest = None if self._source is None else self._source.newest()
        return None if isinstance(newest, Sighting) else newest  # levels that were given: no picture

    def _open_again(self) -> None:
        """Take up the camera of an earlier day."""
        chosen = self._chosen()
        if chosen is None:
            return
        try:
            address = camera_address(chosen.address, self._roots)
        except AddressError:
            return
        size = (chosen.width_px, chosen.height_px)
        self._source = open_source("setup", address, self._clock, size_px=size)

    def _chosen(self) -> ChosenCamera | None:
        try:
            return self._folder.camera()
        except BadValue:
            return None

    def _masked(self) -> str:
        chosen = self._chosen()
        text = self._watched[1] if self._watched else (chosen.address if chosen else "")
        if not text:
            return ""
        try:
            return str(camera_address(text, self._roots))
        except AddressError:
            return "an address that cannot be used any more"


def _id_of(frame: Frame) -> str:
    return f"{frame.camera}-{frame.taken_s:.2f}"


def _plugged() -> tuple[str, ...]:
    return tuple(str(path) for path in sorted(PLUGGED.glob("*-video-index0")))
