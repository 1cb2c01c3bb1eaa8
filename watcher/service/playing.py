"""Play a recording into a running bench at its own pace, and hold the last state at the end."""

from __future__ import annotations

import logging
from collections.abc import Iterable
from math import floor

from watcher.records.frames import Frame, NoFrame
from watcher.records.readings import Sighting
from watcher.service.hole_crops import HoleCrops
from watcher.service.pace import Pace
from watcher.service.running import RunningBench

log = logging.getLogger(__name__)

BEAT_S = 0.05


def moment_s(given: Frame | NoFrame | Sighting) -> float:
    """Return the second at which something was seen [s]."""
    return given.at_s if isinstance(given, NoFrame) else given.taken_s


def play(
    running: RunningBench,
    moments: Iterable[Frame | NoFrame | Sighting],
    pace: Pace,
    crops: HoleCrops | None = None,
) -> None:
    """Feed every moment when its time has come, and a tick for every second between.

    A look that takes longer than there is time for makes the playing late; nothing is left out. After the
    last moment the bench is held: the clock stands, what the caster says is still taken in. `crops` keeps
    pictures of the pour holes.
    """
    ticked = floor(pace.now_s())
    for given in moments:
        due_s = moment_s(given)
        while ticked + 1 <= due_s:
            if ticked + 1 > pace.now_s():
                running.tick(float(ticked), pace.at(ticked))
                if running.wait(BEAT_S):
                    return
                continue
            ticked += 1
            running.tick(float(ticked), pace.at(ticked))
        while pace.now_s() < due_s:
            if running.wait(BEAT_S):
                return
        running.take(given)
        if crops is not None and isinstance(given, Frame):
            crops.keep(given, running.bench())
    log.info("recording=played held_at_s=%d", ticked)
    while not running.wait(BEAT_S):
        running.tick(float(ticked), pace.at(ticked))
