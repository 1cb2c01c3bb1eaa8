"""A bench of two pots and looks at it, written out by hand for tests of what follows the eyes."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from models.mould import checked_mould
from models.slip import Slip
from watcher.pipeline import advance, new_bench
from watcher.records.bench import Bench, BenchEvent
from watcher.records.frames import Blind, NoFrame
from watcher.records.layout import BenchLayout, PlacedMould
from watcher.records.notices import Notice
from watcher.records.readings import Contents, HoleSighting, LevelReading, Missed, Sighting
from watcher.records.said import Said, Tick, What

START = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)

BEAKER = checked_mould("beaker", [[0, 70], [20, 64], [26, 58], [90, 56], [104, 50]], target_wall_mm=2.4)
JUG = checked_mould("cream jug", [[0, 50], [20, 44], [30, 38], [60, 76], [100, 66]], target_wall_mm=3.0)


def bench() -> Bench:
    """Return a bench with a beaker and a cream jug, nothing poured yet."""
    layout = BenchLayout("bench", None, (), (PlacedMould("beaker", BEAKER), PlacedMould("cream jug", JUG)))
    return new_bench(layout, Slip(1.76, 0.63))


def at(seconds: float) -> datetime:
    """Return the moment of a second of the day's session."""
    return START + timedelta(seconds=seconds)


def look(
    seconds: float,
    *,
    level_mm: float | None = None,
    contents: Contents | None = None,
    missed: Missed = Missed.UNCERTAIN,
    mould: str = "beaker",
    hand: bool = False,
    placement: int = 0,
    lost_below_mm: float | None = None,
) -> Sighting:
    """Return one look at one mould: a level, or what is in it and why no level."""
    reading = missed if level_mm is None else LevelReading(level_mm, 0.3, 0.1)
    if contents is None:
        contents = Contents.UNKNOWN if level_mm is None else Contents.SLIP
    hole = HoleSighting(
        mould, reading, contents, hand_near=hand, placement=placement, lost_below_mm=lost_below_mm
    )
    return Sighting("bench", seconds, at(seconds), (hole,))


def tick(seconds: float) -> Tick:
    """Return a tick of the clock."""
    return Tick(seconds, at(seconds))


def say(seconds: float, what: What, *, mould: str = "beaker", value: float | None = None) -> Said:
    """Return something the caster says."""
    return Said(what, seconds, at(seconds), mould, value=value)


def run(present: Bench, inputs: Iterable[Sighting | Tick | Said | NoFrame]) -> tuple[Bench, list[BenchEvent]]:
    """Feed inputs one after the other; return the bench and everything that happened."""
    events: list[BenchEvent] = []
    for given in inputs:
        step = advance(present, given)
        present = step.bench
        events.extend(step.events)
    return present, events


def run_notices(
    present: Bench, inputs: Iterable[Sighting | Tick | Said | NoFrame]
) -> tuple[Bench, list[tuple[float, Notice]]]:
    """Feed inputs one after the other; return the bench and all that was to be told, with its second."""
    told: list[tuple[float, Notice]] = []
    for given in inputs:
        step = advance(present, given)
        present = step.bench
        told.extend((present.now_s, notice) for notice in step.to_send)
    return present, told


def no_frame(
    seconds: float, why: Blind = Blind.UNPLUGGED, detail: str = "the camera is unplugged"
) -> NoFrame:
    """Return a moment without a picture."""
    return NoFrame("bench", seconds, at(seconds), why, detail)


def names(events: Iterable[BenchEvent], mould: str = "beaker") -> list[str]:
    """Return the events of one mould by name."""
    return [event.event for event in events if event.mould == mould]
