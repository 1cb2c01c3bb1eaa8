"""A cast under way: levels join its series, pours and tips are told from noise."""

from __future__ import annotations

from dataclasses import replace

from watcher.records.bench import BenchEvent, Cast, Forecast, MouldState, Reading, Stage
from watcher.records.readings import Contents, Missed
from watcher.tracking import filling
from watcher.tracking.look import Followed, Look, doubted
from watcher.tracking.series import (
    AGREE_MM,
    FALL_MM,
    LADLED_MM,
    Sense,
    before_draining,
    last_reading,
    sense_of,
    with_pour,
    with_reading,
)

BACK_AFTER_S = 90.0
"""A level read again after a silence this long is told as an event of its own. [s]"""

SILENT_TIP_S = 600.0
"""Nothing read for this long after the tip was due, then full again: tipped and poured unseen. To drain, set,
open and pour takes no less [S17]; a shorter silence hid a top-up. [s]"""

SILENT_REFILL_S = 900.0
"""The same for a cast that was not yet due: a top-up may well go unseen, but not for so long. [s]"""

MOST_FALLS = 12
"""So many readings of slip that is running out are kept waiting."""

UNSEEN_POUR_S = 90.0
"""A pour that nobody saw, after a tip that nobody saw, is looked for this long before its first level:
draining and demoulding take up the silence before that. [s]"""


def follow_casting(state: MouldState, look: Look) -> Followed:
    """Follow a mould whose cast is under way by one look."""
    assert state.cast is not None
    reading, contents = look.reading, look.hole.contents
    if reading is not None:
        return _read(replace(state, doubt=None, doubt_since_s=None), state.cast, look, reading)
    if contents is Contents.AWAY or (contents is Contents.EMPTY and not look.deep):
        state, sure = doubted(state, look)
        if not sure:
            return state, ()
        return tipped(state, look, since_s=state.doubt_since_s)
    if look.hole.reading is Missed.OUT_OF_SIGHT and len(_falls(state, look)) > 1:
        return tipped(state, look, since_s=_falls(state, look)[0].at_s)
    if contents is Contents.SLIP:
        state = replace(state, doubt=None, doubt_since_s=None)
    return state, ()


def tipped(state: MouldState, look: Look, *, since_s: float | None) -> Followed:
    """End the casting: the slip has left the mould."""
    assert state.cast is not None
    cast = replace(state.cast, tipped_s=since_s if since_s is not None else look.at_s, tipped_at=look.at)
    after = replace(state, stage=Stage.TIPPED, cast=cast, pending=(), doubt=None, doubt_since_s=None)
    return after, (look.event("tipped"),)


def _read(state: MouldState, cast: Cast, look: Look, reading: Reading) -> Followed:
    """Place a new level in the cast's series."""
    before = last_reading(cast)
    sense = sense_of(
        reading.level_mm,
        reading.drift_sigma_mm,
        last_mm=before.level_mm if before else None,
        forecast_mm=look.forecast_mm,
        forecast_sigma_mm=look.forecast_sigma_mm or 0.0,
        silence_s=look.at_s - before.at_s if before else 0.0,
    )
    events = _seen_again(before, look)
    if sense is Sense.FELL:
        return _fell(state, cast, look, reading, events)
    if sense is Sense.FITS:
        left = before_draining(cast, reading)
        if left is not None:
            return tipped(replace(state, cast=left), look, since_s=left.fillings[-1].readings[-1].at_s)
        return replace(state, cast=with_reading(cast, reading), pending=()), events
    agreeing = tuple(r for r in state.pending if abs(r.level_mm - reading.level_mm) <= AGREE_MM)
    if not agreeing:
        return replace(state, pending=(reading,)), events
    since_s = before.at_s if before else cast.fillings[-1].latest_s
    readings = (*agreeing, reading)
    if _unseen_tip(cast, silence_s=readings[0].at_s - since_s):
        return _next_cast(state, look, readings, since_s=since_s)
    cast = with_pour(cast, readings, earliest_s=since_s, latest_s=readings[0].at_s)
    name = "topped_up" if len(cast.fillings) > 1 else "filled"
    return replace(state, cast=cast, pending=()), (*events, look.event(name))


def _fell(
    state: MouldState, cast: Cast, look: Look, reading: Reading, events: tuple[BenchEvent, ...]
) -> Followed:
    """Place a level far below forecast: stray, slip taken out once and for all, or a little of it lost."""
    falls = tuple(r for r in _falls(state, look) if r.level_mm <= reading.level_mm + AGREE_MM)
    if falls and reading.level_mm > _base_mm(cast, look) + LADLED_MM:
        return tipped(state, look, since_s=falls[0].at_s)
    agreeing = tuple(r for r in falls if abs(r.level_mm - reading.level_mm) <= AGREE_MM)
    if agreeing:
        return replace(state, cast=with_reading(cast, *agreeing, reading), pending=()), events
    return replace(state, pending=(*falls, reading)[-MOST_FALLS:]), events


def _base_mm(cast: Cast, look: Look) -> float:
    """Return where the slip would stand by growth alone. [mm]."""
    last = last_reading(cast)
    known = (last.level_mm if last is not None else None, look.forecast_mm)
    return max((mm for mm in known if mm is not None), default=0.0)


def _falls(state: MouldState, look: Look) -> tuple[Reading, ...]:
    """Return what waits of readings far below forecast."""
    assert state.cast is not None
    base_mm = _base_mm(state.cast, look)
    return tuple(r for r in state.pending if r.level_mm > base_mm + FALL_MM)


def _unseen_tip(cast: Cast, *, silence_s: float) -> bool:
    """Tell whether a rise after a silence is the next cast rather than a top-up."""
    done = cast.forecast in (Forecast.READY, Forecast.LATE)
    return silence_s > (SILENT_TIP_S if done else SILENT_REFILL_S)


def _next_cast(state: MouldState, look: Look, readings: tuple[Reading, ...], *, since_s: float) -> Followed:
    """Close a cast whose tip nobody saw, and open the one that has been poured since."""
    closed, told = tipped(state, look, since_s=since_s)
    empty_s = max(since_s, readings[0].at_s - UNSEEN_POUR_S)
    opened = filling.begin(
        replace(closed, last_empty_s=empty_s), readings[0].at_s, look.at, bench_id=look.bench_id
    )
    assert opened.cast is not None
    pour = replace(opened.cast.fillings[0], latest_s=readings[0].at_s, readings=readings)
    cast = replace(opened.cast, fillings=(pour,))
    events = (*told, look.event("filling"), look.event("filled"))
    return replace(opened, stage=Stage.CASTING, cast=cast), events


def _seen_again(before: Reading | None, look: Look) -> tuple[BenchEvent, ...]:
    """Say that a level is read again after a long silence."""
    if before is not None and look.at_s - before.at_s > BACK_AFTER_S:
        return (look.event("seen_again"),)
    return ()
