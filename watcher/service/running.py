"""The running bench: one thread that owns the present, and what the page may ask of it.

Everything that waits, sends or keeps pictures is here; what is thought is in `pipeline`. The present bench is
replaced by one assignment, so whoever reads it sees a whole.
"""

from __future__ import annotations

import logging
import queue
import threading
from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from types import MappingProxyType

from models.cast_prior import PastSpeed
from models.slip import Slip
from watcher.page.port import PastCast, Picture
from watcher.pipeline import (
    Input,
    advance,
    glance,
    look,
    new_bench,
    pouring,
    resumed,
    with_past,
    with_setting,
)
from watcher.records.after_tip import PastSetting
from watcher.records.bench import Bench, BenchEvent, Step
from watcher.records.frames import Frame, NoFrame
from watcher.records.layout import BenchLayout
from watcher.records.notices import Kind
from watcher.records.readings import Sighting
from watcher.records.said import Said, Tick
from watcher.records.streams import Glance
from watcher.service.pictures import bench_picture, hole_picture
from watcher.storage.writer import JournalFailed
from watcher.vision.glance import StreamEyes
from watcher.vision.memory import Eyes

log = logging.getLogger(__name__)

KEPT_EVENTS = 2000
_LEARN_AT = ("filled", "demoulded")
SAID_WITHIN_S = 1.0


class RunningBench:
    """A bench that is being watched; implements the page's port.

    Parameters
    ----------
    bench : Bench
        The bench as it stands at the start.
    now : callable
        Gives the bench's present moment as (seconds, aware UTC datetime).
    zone : str
        Name of the bench's time zone.
    carry_out : callable
        Takes every `Step`, with the caster's word where that was the input; called in the bench's own thread.
    history : callable
        Gives the earlier casts of a mould.
    troubles : callable
        Gives a plain sentence for each thing that does not work just now.
    faults : callable
        Gives what of that is worth a call, with the reason.
    setting : callable
        Gives what the earlier casts of a mould tell of its demoulding; asked at the start and at every pour.
    speeds : callable
        Gives how fast the earlier casts of a mould drank; asked likewise.
    silences : callable
        Gives the calls about other benches that are not heard of, with what is known; None: not asked yet.
    """

    def __init__(
        self,
        bench: Bench,
        *,
        now: Callable[[], tuple[float, datetime]],
        zone: str = "UTC",
        carry_out: Callable[[Step, Said | None], None] = lambda step, said: None,
        history: Callable[[str], tuple[PastCast, ...]] = lambda mould: (),
        troubles: Callable[[], tuple[str, ...]] = tuple,
        faults: Callable[[], Mapping[Kind, str]] = dict,
        setting: Callable[[str], PastSetting] = lambda mould: PastSetting(),
        speeds: Callable[[str], tuple[PastSpeed, ...]] = lambda mould: (),
        silences: Callable[[], Mapping[str, str] | None] = dict,
    ) -> None:
        self._bench = bench
        self._now = now
        self._zone = zone
        self._carry_out = carry_out
        self._history = history
        self._troubles = troubles
        self._faults = faults
        self._setting = setting
        self._speeds = speeds
        for name in bench.moulds:
            self._learn(name)
        self._silences = silences
        self._eyes: Eyes | None = None
        self._streams = StreamEyes()
        self._inbox: queue.Queue[tuple[Said, threading.Event]] = queue.Queue()
        self._renewed: queue.Queue[tuple[BenchLayout, Slip]] = queue.Queue()
        self._poured_from: queue.SimpleQueue[Slip] = queue.SimpleQueue()
        self._listeners: list[Callable[[Step, Said], None]] = []
        self._events: deque[BenchEvent] = deque(maxlen=KEPT_EVENTS)
        self._frame: Frame | None = None
        self._picture: Picture | None = None
        self._stop = threading.Event()

    # what the bench's own thread does

    def take(self, given: Frame | NoFrame | Sighting | Glance) -> None:
        """Look at one frame (or take a sighting that was given) and bring the bench up to its moment."""
        if isinstance(given, Frame):
            sighting, self._eyes = look(given, self._bench, self._eyes)
            self._frame = given
            self.glance(given)
            self._do(sighting)
        else:
            self._do(given)

    def pouring(self) -> bool:
        """Tell whether a pour may be under way."""
        return pouring(self._bench)

    def glance(self, frame: Frame) -> None:
        """Look for streams of slip alone."""
        seen, self._streams = glance(frame, self._bench, self._eyes, self._streams)
        if seen.streams:
            self._do(seen)

    def tick(self, now_s: float, now_at: datetime) -> None:
        """Take in what was said since, then let the clock move on."""
        while not self._renewed.empty():
            self._go_by(*self._renewed.get_nowait())
        while not self._poured_from.empty():
            kept = (self._bench.now_s, self._poured_from.get_nowait())
            self._bench = replace(self._bench, slips=(*self._bench.slips, kept))
        while True:
            try:
                said, taken = self._inbox.get_nowait()
            except queue.Empty:
                break
            self._do(said)
            taken.set()
        troubles, faults, silences = self._troubles(), self._faults(), self._silences()
        known = self._bench
        if (troubles, faults, silences) != (known.troubles, known.faults, known.silences):
            self._bench = replace(
                known, troubles=troubles, faults=MappingProxyType(dict(faults)), silences=silences
            )
        self._do(Tick(now_s, now_at))

    def hear(self, said: Said) -> None:
        """Take in at once what the caster says: for whoever drives the bench on told time."""
        self._do(said)

    def _do(self, given: Input) -> None:
        step = advance(self._bench, given)
        self._bench = step.bench
        self._events.extend(step.events)
        for event in step.events:
            log.info("mould=%s event=%s at_s=%.1f %s", event.mould, event.event, event.at_s, event.detail)
            if event.event in _LEARN_AT:
                self._learn(event.mould)
        self._carry_out(step, given if isinstance(given, Said) else None)
        if isinstance(given, Said):
            for heard in self._listeners:
                heard(step, given)

    def _learn(self, mould: str) -> None:
        """Let a mould's forecasts go by its earlier casts: how fast they drank, how they came out."""
        try:
            setting, speeds = self._setting(mould), self._speeds(mould)
        except JournalFailed as fault:
            log.warning("mould=%s event=not_learned why=%r", mould, str(fault))
            return
        self._bench = with_past(with_setting(self._bench, mould, setting), mould, speeds)

    def _go_by(self, layout: BenchLayout, slip: Slip) -> None:
        """Go by another description from here on: casts under way go on and are fitted anew."""
        before = self._bench
        fresh = new_bench(layout, slip, bench_id=before.bench_id, call_rules=before.rules)
        fresh = replace(fresh, setting=before.setting, past=before.past)
        moulds = resumed(fresh, before.moulds, before.alerts, 0.0).moulds
        if _places(layout) != _places(before.layout):
            self._eyes = None  # what they remember of the picture is of other places
            before = replace(before, last_sighting=None)
        self._bench = replace(before, layout=layout, slip=slip, moulds=moulds)
        log.info("event=renewed moulds=%d", len(layout.moulds))

    # what the page asks

    @property
    def zone(self) -> str:
        """Name of the bench's time zone."""
        return self._zone

    def now(self) -> datetime:
        """Return the bench's present moment."""
        return self._now()[1]

    def bench(self) -> Bench:
        """Return the whole present."""
        return self._bench

    def say(self, said: Said) -> None:
        """Put what the caster said into the inbox; return once it is taken in, or after a second."""
        taken = threading.Event()
        self._inbox.put((said, taken))
        taken.wait(SAID_WITHIN_S)

    def renew(self, layout: BenchLayout, slip: Slip) -> None:
        """Go by a changed description of the bench from the next tick on."""
        self._renewed.put((layout, slip))

    def use_slip(self, slip: Slip) -> None:
        """Let casts that begin from the next tick on go by this slip."""
        self._poured_from.put(slip)

    def listen(self, heard: Callable[[Step, Said], None]) -> None:
        """Tell somebody, in the bench's own thread, whenever the caster has said something."""
        self._listeners.append(heard)

    def picture(self) -> Picture | None:
        """Return the newest picture of the bench; made once for each frame that somebody asks for."""
        frame, picture = self._frame, self._picture
        if frame is None:
            return None
        if picture is None or picture.taken_at != frame.taken_at:
            picture = bench_picture(frame)
            self._picture = picture
        return picture

    def hole_picture(self, mould: str) -> Picture | None:
        """Return the newest crop of one pour hole with the found line drawn in."""
        frame, state = self._frame, self._bench.moulds.get(mould)
        if frame is None or state is None or state.last_look is None:
            return None
        return hole_picture(frame, state.last_look)

    def events(self, mould: str) -> tuple[BenchEvent, ...]:
        """Return this session's events of one mould, or of all for an empty name."""
        return tuple(event for event in tuple(self._events) if not mould or event.mould == mould)

    def history(self, mould: str) -> tuple[PastCast, ...]:
        """Return earlier casts that are remembered."""
        return self._history(mould)

    def stop(self) -> None:
        """Tell everybody who waits to end."""
        self._stop.set()

    def stopping(self) -> bool:
        """Say whether the service has been told to stop."""
        return self._stop.is_set()

    def wait(self, seconds: float) -> bool:
        """Wait, or return True at once when told to stop."""
        return self._stop.wait(seconds)


def _places(layout: BenchLayout) -> tuple[object, ...]:
    """Return what the eyes go by: targets and areas change nothing in sight."""
    holes = tuple(
        (one.name, one.card, one.place_mm, one.profile.bore, one.profile.holes) for one in layout.moulds
    )
    return layout.lens, layout.sheet, layout.dictionary, layout.up, holes
