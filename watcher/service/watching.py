"""Watch a bench for as long as it takes: looks and ticks on one thread, at their own beats."""

from __future__ import annotations

from watcher.records.frames import Frame
from watcher.service.assembly import Assembled
from watcher.service.beat import Beats

TICK_S = 1.0
UPKEEP_S = 3600.0
SUMMARY_S = 60.0
FILMS_S = 120.0
CLOCK_S = 1.0
GLANCE_S = 1.0
"""While moulds are being poured, streams are looked for this often: a stream wanders within seconds. [s]"""


def watch(parts: Assembled) -> None:
    """Look and tick until told to stop.

    Looks and ticks share a thread, so there is never a second opinion about the bench; what keeps the disk in
    order, and the day's summary, have their own, for they may take long. This thread waits by the steady
    clock and sets the beats right when the other one was set.
    """
    doing = _Doing(parts)
    beats = Beats(parts.clock_watch, ("bench", "upkeep"))
    beats.add("tick", doing.tick, every_s=TICK_S, lane="bench", at_once=True)
    beats.add("look", doing.look, every_s=parts.look_every_s, lane="bench", at_once=True)
    beats.add("glance", doing.glance, every_s=GLANCE_S, lane="bench")
    beats.add("upkeep", parts.upkeep.do, every_s=UPKEEP_S, lane="upkeep", at_once=True)
    beats.add("films", parts.films.do, every_s=FILMS_S, lane="upkeep")
    beats.add("summary", parts.summary.do, every_s=SUMMARY_S, lane="upkeep", at_once=True)
    parts.troubles.add(beats.trouble)
    beats.start()
    try:
        while not parts.running.wait(CLOCK_S):
            beats.look_at_the_clock(parts.clock.now_at())
    finally:
        beats.stop()


class _Doing:
    """What is done at each beat. The newest frame is looked at once."""

    def __init__(self, parts: Assembled) -> None:
        self._parts = parts
        self._looked_s: float | None = None
        self._glanced_s: float | None = None

    def tick(self) -> None:
        clock = self._parts.clock
        self._parts.running.tick(clock.now_s(), clock.now_at())

    def look(self) -> None:
        given = self._parts.source.newest()
        if isinstance(given, Frame):
            if given.taken_s == self._looked_s:
                return
            self._looked_s = given.taken_s
        self._parts.running.take(given)
        if isinstance(given, Frame):
            self._parts.crops.keep(given, self._parts.running.bench())
        self._parts.outside.tell()

    def glance(self) -> None:
        """Between two looks, see where slip falls; nothing while nobody pours."""
        if not self._parts.running.pouring():
            return
        given = self._parts.source.newest()
        if isinstance(given, Frame) and given.taken_s not in (self._looked_s, self._glanced_s):
            self._glanced_s = given.taken_s
            self._parts.running.glance(given)
