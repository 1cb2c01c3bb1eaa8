"""The lines that `tipbell measure` writes: one for each moment and mould, one for each event."""

from __future__ import annotations

from collections.abc import Iterator

from models.tip import TipEstimate
from watcher.commands.replaying import Instant
from watcher.records.bench import PHASE, BenchEvent, MouldState, NotYet, Stage
from watcher.records.frames import NoFrame
from watcher.records.readings import HoleSighting, LevelReading, Missed

READINGS_HEAD = (
    "time_s", "mould", "phase", "seen", "level_mm", "level_sigma_mm",
    "wall_mm", "wall_low_mm", "wall_high_mm", "ready_s", "ready_low_s", "ready_high_s", "why",
)  # fmt: skip
EVENTS_HEAD = ("time_s", "mould", "event")

WITH_SLIP = ("filling", "casting")

WORDS = {
    Missed.HAND: "a hand or tool is in the way",
    Missed.DARK: "too dark",
    Missed.BLOWN_OUT: "too bright to tell slip from plaster",
    Missed.BLURRED: "the picture is blurred",
    Missed.OUT_OF_SIGHT: "the level lies below what can be seen past the rim",
    Missed.SKINNED: "a skin lies on the slip",
    Missed.FROTHED: "froth lies on the slip",
    Missed.COVERED: "the hole is covered",
    Missed.CARD_LOST: "the mould's card or place cannot be found",
    Missed.MOVED: "moved, and not yet found again",
    Missed.STALE: "the picture is old",
    Missed.UNCERTAIN: "no line that earns trust",
    Missed.NOT_GIVEN: "no level was given at this moment",
}


def reading_lines(instant: Instant) -> Iterator[tuple[str, ...]]:
    """Make the lines of ``readings.csv`` for one moment, one for each mould of the bench."""
    for name, state in instant.bench.moulds.items():
        phase = PHASE[state.stage]
        level, why_no_level = _level(instant, state, phase)
        wall, why_no_wall = _wall(state, phase)
        why = "; ".join(dict.fromkeys(reason for reason in (why_no_level, why_no_wall) if reason))
        yield (_number(instant.at_s, 3), name, phase, *level, *wall, why)


def event_line(event: BenchEvent) -> tuple[str, ...]:
    """Make a line of ``events.csv``."""
    return (_number(event.at_s, 3), event.mould, event.event)


def _level(instant: Instant, state: MouldState, phase: str) -> tuple[tuple[str, str, str], str]:
    blank = ("0", "", "")
    if isinstance(instant.given, NoFrame):
        return blank, f"no picture: {instant.given.detail or instant.given.why}"
    if phase not in WITH_SLIP:
        return blank, f"the mould is {phase}"
    hole = _hole(instant, state.name)
    if hole is None:
        return blank, instant.given.camera_why or "not looked at"
    if not isinstance(hole.reading, LevelReading):
        return blank, instant.given.camera_why or WORDS[hole.reading]
    # while a mould is filled, the readings that wait are those of the rising level: each is one
    waits = any(reading.at_s == instant.given.taken_s for reading in state.pending)
    if waits and state.stage is Stage.CASTING:
        return blank, "the level does not follow from the ones before; waiting for a second look"
    return ("1", _number(hole.reading.level_mm, 3), _number(hole.reading.sigma_mm, 3)), ""


def _hole(instant: Instant, mould: str) -> HoleSighting | None:
    assert not isinstance(instant.given, NoFrame)
    return next((hole for hole in instant.given.holes if hole.mould == mould), None)


def _wall(state: MouldState, phase: str) -> tuple[tuple[str, ...], str]:
    blank = ("",) * 6
    if state.cast is None or phase not in WITH_SLIP:
        return blank, "" if phase not in WITH_SLIP else "no cast is under way"
    tip = state.cast.estimate
    if isinstance(tip, NotYet):
        return blank, tip.why
    return _estimate(tip)


def _estimate(tip: TipEstimate) -> tuple[tuple[str, ...], str]:
    wall = tuple(_number(value, 4) for value in (tip.wall_mm, tip.wall_low_mm, tip.wall_high_mm))
    ready = tuple(_number(value, 1) for value in (tip.ready_s, tip.ready_low_s, tip.ready_high_s))
    return (*wall, *ready), "" if all(wall + ready) else tip.why


def _number(value: float | None, decimals: int) -> str:
    return "" if value is None else f"{value:.{decimals}f}"
