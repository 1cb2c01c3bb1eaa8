"""A simulated camera: a frame source like any other, and the single picture that it takes."""

from __future__ import annotations

from datetime import datetime, timedelta

from watcher.clock import Clock
from watcher.records.frames import Frame, NoFrame
from watcher.simulator.scene import Scene


class SimulatedCamera:
    """A frame source over a scene; second 0 of the simulation is the moment it was made.

    Parameters
    ----------
    scene : Scene
    clock : Clock
        Asked for the moment with every picture.
    period_s : float
        Time between two pictures, above 0. [s]
    """

    def __init__(self, scene: Scene, clock: Clock, period_s: float = 5.0) -> None:
        if period_s <= 0:
            raise ValueError(f"a simulated camera needs a period above 0 s, not {period_s}")
        self._scene, self._clock, self._period_s = scene, clock, period_s
        self._started_s, self._started_at = clock.now_s(), clock.now_at()
        self._newest: Frame | NoFrame | None = None
        self._count = -1

    def newest(self) -> Frame | NoFrame:
        """Return the newest picture, or why there is none; the same one until the next is due."""
        count = int((self._clock.now_s() - self._started_s) // self._period_s)
        if self._newest is None or count != self._count:
            self._count, self._newest = count, self._taken(max(count, 0) * self._period_s)
        return self._newest

    def close(self) -> None:
        """Let go of the last picture."""
        self._newest = None

    def _taken(self, time_s: float) -> Frame | NoFrame:
        taken_s, taken_at = self._started_s + time_s, self._started_at + timedelta(seconds=time_s)
        return taken_of(self._scene, time_s, taken_s, taken_at)


def taken_of(scene: Scene, time_s: float, taken_s: float, taken_at: datetime) -> Frame | NoFrame:
    """Take one picture of a scene.

    Parameters
    ----------
    scene : Scene
    time_s : float
        Second of the simulation. [s]
    taken_s : float
        The same moment on the steady clock of who asks. [s]
    taken_at : datetime
        The same moment, aware, UTC.

    Returns
    -------
    Frame or NoFrame
        The picture, or why the camera gives none just then.
    """
    camera, why = scene.bench.camera, scene.faults.outage(time_s)
    if why is not None:
        return NoFrame(camera, taken_s, taken_at, why, "simulated")
    picture = scene.picture(time_s)
    picture.setflags(write=False)
    return Frame(camera, picture, taken_s, taken_at, f"simulated {time_s:.1f} s")
