"""The thread behind a camera that must be read all the time: keeps the newest picture, reopens what fails.

It only grabs. Whether the newest picture has become too old is judged by whoever asks for it, so a thread
that hangs inside a driver cannot make an old picture look fresh; it is left behind and another one starts.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass
from threading import Event, Lock, Thread
from typing import Protocol

from watcher.camera.health import Unusable, Watched, judged
from watcher.clock import Clock
from watcher.records.frames import Blind, Frame, Image, NoFrame
from watcher.records.pauses import CAMERA_PAUSES_S, pause_s

_LOG = logging.getLogger(__name__)


class Capture(Protocol):
    """An open camera."""

    def grab(self) -> bool:
        """Wait for the next picture; False when there is none any more."""
        ...

    def retrieve(self) -> Image | None:
        """Decode the picture grabbed last; None when it cannot be."""
        ...

    def release(self) -> None:
        """Let go of it."""
        ...


Opener = Callable[[], Capture | Unusable]


@dataclass(frozen=True, slots=True)
class Patience:
    """How long is waited for what.

    Attributes
    ----------
    every_s : float
        Pictures are decoded no faster than this; the rest is only drained. [s]
    stalled_s : float
        A newest picture older than this is stale. [s]
    hung_s : float
        A thread without a sign of life for this long hangs inside a driver. Longer than any of the time-outs
        given to it. [s]
    open_s, read_s : float
        Time-outs for opening a stream (a good RTSP camera takes 3 s, own measurement) and for its next
        picture. [s]
    pauses_s : tuple of float
        After each failed attempt to open the camera. [s]
    """

    every_s: float = 0.5
    stalled_s: float = 6.0
    hung_s: float = 30.0
    open_s: float = 8.0
    read_s: float = 4.0
    pauses_s: tuple[float, ...] = CAMERA_PAUSES_S


MOST_LEFT_BEHIND = 5
"""Threads that hang for ever cost memory; after this many only a restart helps."""

_TIMED_OUT = 0.9  # share of the time-out for reading after which it has struck
BUFFERED_S = 0.003
"""A picture that is there in less than this was waiting in a buffer, up to 3 s while a stream opens (own
measurement): newer ones follow at once. [s]"""


class Grabber:
    """A `FrameSource` over anything that can be opened and grabbed from.

    Parameters
    ----------
    camera : str
        Its name in the settings.
    open_camera : callable
        Opens it, or says why not. Called in a thread; may take as long as its own time-outs.
    clock : Clock
    size_px : tuple of int, optional
        Width and height that the lens calibration holds for. [px]
    patience : Patience
    """

    def __init__(
        self,
        camera: str,
        open_camera: Opener,
        clock: Clock,
        *,
        size_px: tuple[int, int] | None = None,
        patience: Patience | None = None,
    ) -> None:
        self._camera = camera
        self._open = open_camera
        self._clock = clock
        self._size_px = size_px
        self._patience = patience if patience is not None else Patience()
        self._lock = Lock()
        self._stop = Event()
        self._newest: Frame | None = None
        self._unusable: Unusable | None = Unusable(Blind.UNPLUGGED, "the camera is being opened")
        self._beat_s = clock.now_s()
        self._left_behind = 0
        self._turn = 0
        self._thread = self._start()

    def newest(self) -> Frame | NoFrame:
        """Return the newest picture, or why there is none."""
        self._replace_if_hung()
        now_s = self._clock.now_s()
        with self._lock:
            frame, unusable = self._newest, self._unusable
        if unusable is not None:
            return self._none(now_s, unusable)
        if frame is None or now_s - frame.taken_s > self._patience.stalled_s:
            since = f"for {now_s - frame.taken_s:.0f} s" if frame is not None else "yet"
            return self._none(
                now_s, Unusable(Blind.STALLED, f"no picture has come {since}; it is opened again")
            )
        return frame

    def close(self) -> None:
        """Let go of the camera, waiting for a time-out that is running. Twice is fine.

        A program that ends while OpenCV still waits inside a thread is aborted instead of ending.
        """
        self._stop.set()
        self._thread.join(max(self._patience.open_s, self._patience.read_s) + 1.0)

    def _none(self, now_s: float, unusable: Unusable) -> NoFrame:
        return NoFrame(self._camera, now_s, self._clock.now_at(), unusable.why, unusable.detail)

    def _start(self) -> Thread:
        self._turn += 1
        thread = Thread(target=self._run, args=(self._turn,), name=f"camera-{self._camera}", daemon=True)
        thread.start()
        return thread

    def _replace_if_hung(self) -> None:
        silent_s = self._clock.now_s() - self._beat_s
        if silent_s < self._patience.hung_s or self._stop.is_set():
            return
        with self._lock:
            if self._left_behind >= MOST_LEFT_BEHIND:
                self._unusable = Unusable(
                    Blind.STALLED, "the camera's driver hangs again and again: restart the computer"
                )
                return
            self._left_behind += 1
            self._beat_s = self._clock.now_s()
        _LOG.error("event=camera_hangs camera=%s silent_s=%.0f", self._camera, silent_s)
        self._thread = self._start()

    def _mine(self, turn: int) -> bool:
        return turn == self._turn and not self._stop.is_set()

    def _run(self, turn: int) -> None:
        tries = 0
        while self._mine(turn):
            self._beat_s = self._clock.now_s()
            opened = self._open()
            if isinstance(opened, Unusable):
                self._tell(turn, opened)
                seen = False
            else:
                seen = self._read(opened, turn)
                opened.release()
            tries = 1 if seen else tries + 1
            if self._mine(turn):
                self._beat_s = self._clock.now_s()
                self._stop.wait(pause_s(self._patience.pauses_s, tries))

    def _read(self, capture: Capture, turn: int) -> bool:
        """Grab until it fails; return whether any picture came."""
        watched, seen, due_s = Watched(), False, self._clock.now_s()
        while self._mine(turn):
            asked_s = self._beat_s = self._clock.now_s()
            if not capture.grab():
                break
            taken_s, taken_at = self._clock.now_s(), self._clock.now_at()
            if taken_s - asked_s > self._patience.read_s * _TIMED_OUT:
                break  # FFmpeg hands out a picture it held back when its time-out strikes: an old one
            old = taken_s - asked_s < BUFFERED_S and taken_s < due_s + self._patience.every_s
            if old or taken_s < due_s:
                continue
            image = capture.retrieve()
            if image is None:
                break
            due_s, seen = taken_s + self._patience.every_s, True
            watched, unusable = judged(image, taken_s, watched, size_px=self._size_px)
            image.flags.writeable = False
            self._keep(turn, Frame(self._camera, image, taken_s, taken_at), unusable)
        if self._mine(turn) and not seen:
            self._tell(
                turn, Unusable(Blind.STALLED, "the camera answers but sends no picture; it is opened again")
            )
        return seen

    def _keep(self, turn: int, frame: Frame, unusable: Unusable | None) -> None:
        with self._lock:
            if self._mine(turn):
                self._note(unusable)
                self._newest, self._unusable = frame, unusable

    def _tell(self, turn: int, unusable: Unusable) -> None:
        with self._lock:
            if self._mine(turn):
                self._note(unusable)
                self._unusable = unusable

    def _note(self, unusable: Unusable | None) -> None:
        before, now = self._unusable, unusable
        if (before.why if before else None) != (now.why if now else None):
            state = f"{now.why.value} why={now.detail!r}" if now is not None else "seeing"
            _LOG.warning("event=camera camera=%s state=%s", self._camera, state)
