"""A drawn bench for tests of setting up: our printed sheet, and one mould with the first card."""

from __future__ import annotations

import os
import threading
import time
from dataclasses import replace
from pathlib import Path

import cv2

from models.mould import MouldProfile
from watcher.setup.bench_sheet import bench_sheet
from watcher.simulator.bench import Seat, SimBench, SimMould
from watcher.simulator.samples import sample_bench
from watcher.simulator.scene import Scene
from watcher.simulator.truth import SimCast

NAME, CARD, TAG_MM, RIM_MM, DEPTH_MM = "vinegar bottle", 10, 30.0, 38.0, 132.0
BORE = ((0.0, 38.0), (22.0, 33.0), (36.0, 30.0), (64.0, 66.0), (110.0, 72.0), (132.0, 56.0))
"""A narrow neck over a wide body: the slip sinks far, so that a short cast can be told."""
FIELD_DEG = 62.7
"""What a box would say of the sample bench's camera: 2 atan(1/(2 0.82))."""


def setup_bench(casts: tuple[SimCast, ...] = (), *, seed: int = 4) -> SimBench:
    """Return the bench: true rim, true card, true camera, and whatever is cast."""
    plain = sample_bench(1, seed=seed)
    card_y = -(0.5 * RIM_MM + 6.0 + 0.7 * TAG_MM)
    mould = SimMould(
        MouldProfile(NAME, BORE),
        casts or (SimCast(1e9, 1e9 + 40.0, 1.0),),
        Seat(-210.0, 150.0, 4.0),
        156.0,
        max(abs(card_y) + 0.72 * TAG_MM, 62.0),
        False,
        CARD,
        TAG_MM,
        (0.0, card_y),
    )
    return replace(plain, sheet=bench_sheet(), moulds=(mould,))


class Dropped:
    """Drops the bench's pictures into a folder as another program would, second 0 being its start.

    Parameters
    ----------
    scene : Scene
    folder : Path
    every_s : float
        Between two pictures. [s]
    """

    def __init__(self, scene: Scene, folder: Path, every_s: float = 0.7) -> None:
        self.scene = scene
        self.folder = folder
        self._every_s = every_s
        self._over = threading.Event()
        self._began_s = time.monotonic()
        self._count = 0
        folder.mkdir(parents=True, exist_ok=True)
        self._lock = threading.Lock()
        self.drop()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def now_s(self) -> float:
        """The simulation's present second."""
        return time.monotonic() - self._began_s

    def begin_again(self, scene: Scene) -> None:
        """Go on with another scene, at its second 0."""
        with self._lock:
            self.scene, self._began_s = scene, time.monotonic()

    def drop(self) -> None:
        """Drop one picture, whole at once."""
        with self._lock:
            picture = self.scene.picture(self.now_s())
        jpeg = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 88])[1].tobytes()
        part = self.folder / "part.tmp"
        part.write_bytes(jpeg)
        os.replace(part, self.folder / f"{self._count:06d}.jpg")
        old = self.folder / f"{self._count - 20:06d}.jpg"
        old.unlink(missing_ok=True)
        self._count += 1

    def close(self) -> None:
        """Stop dropping."""
        self._over.set()
        self._thread.join(10)

    def _run(self) -> None:
        while not self._over.wait(self._every_s):
            self.drop()
