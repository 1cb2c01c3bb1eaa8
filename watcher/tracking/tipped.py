"""After the tip: a drained mould looks empty; only slip that stands in it again begins the next cast."""

from __future__ import annotations

from dataclasses import replace

from watcher.records.after_tip import AfterTip
from watcher.records.bench import MouldState, Stage
from watcher.records.readings import Contents
from watcher.tracking import filling
from watcher.tracking.afterwards import follow_drained
from watcher.tracking.look import SECOND_LOOK_S, Followed, Look, doubted
from watcher.tracking.series import AGREE_MM, last_reading, with_reading

NO_TIP_MM = 3.0
"""Slip found this near the old cast's forecast soon after a supposed tip: it was never tipped. [mm]"""

NO_TIP_WITHIN_S = 240.0
"""A mould tipped and filled again needs longer than this to stand at the old level by chance. [s]"""

MOST_WAITING = 4
"""So many readings wait for a pour that would explain them. A drained mould's inner edges can look like a
line for hours."""


def follow_tipped(state: MouldState, look: Look) -> Followed:
    """Follow a mould that was tipped by one look."""
    assert state.cast is not None
    reading = look.reading
    if reading is None:
        if look.hole.contents is Contents.SLIP and _stood_empty(state):
            return _poured_unread(state, look)
        return follow_drained(state, look)
    if not state.pending or reading.at_s - state.pending[0].at_s < SECOND_LOOK_S:
        return replace(state, pending=(*state.pending, reading)), ()
    seen = (*state.pending, reading)
    if state.cast.after.tip_said and not _stood_empty(state) and not _risen(state, look, reading.level_mm):
        return replace(state, pending=()), ()  # said a moment before it was done
    if _never_tipped(state, look, reading.level_mm):
        cast = replace(state.cast, tipped_s=None, tipped_at=None, after=AfterTip())
        cast = with_reading(cast, *seen)
        return replace(state, stage=Stage.CASTING, cast=cast, pending=()), (look.event("seen_again"),)
    if min(one.level_mm for one in seen) > filling.POURED_MM:
        return replace(state, pending=seen[-MOST_WAITING:]), ()
    first = seen[0]
    state = filling.begin(state, first.at_s, look.at, bench_id=look.bench_id)
    for one in seen:
        if state.stage is Stage.FILLING:
            state = filling.rise(state, one, hand_near=look.hole.hand_near)
        elif state.cast is not None:
            state = replace(state, cast=with_reading(state.cast, one))
    events = [look.event("filling")] + ([look.event("filled")] if state.stage is Stage.CASTING else [])
    return state, tuple(events)


def _stood_empty(state: MouldState) -> bool:
    """Tell whether the mould stood upright without slip since its tip, seen or said.

    A mould that was merely out of view proves nothing: in a narrow neck clay that was left behind looks
    like slip.
    """
    return state.stage is Stage.UPRIGHT


def _poured_unread(state: MouldState, look: Look) -> Followed:
    """Slip stands in a mould that stood empty, though its level is not read: the next cast has begun."""
    if state.doubt is not Contents.SLIP:
        state = replace(state, doubt=None, doubt_since_s=None)
    state, sure = doubted(state, look)
    if not sure:
        return state, ()
    begun_s = state.doubt_since_s if state.doubt_since_s is not None else look.at_s
    return filling.begin(state, begun_s, look.at, bench_id=look.bench_id), (look.event("filling"),)


def _never_tipped(state: MouldState, look: Look, level_mm: float) -> bool:
    """Tell whether the slip stands where the old cast would have it."""
    cast = state.cast
    if cast is None or cast.tipped_s is None or look.at_s - cast.tipped_s > NO_TIP_WITHIN_S:
        return False
    expected_mm = _expected_mm(state, look)
    return expected_mm is not None and abs(level_mm - expected_mm) <= max(NO_TIP_MM, AGREE_MM)


def _risen(state: MouldState, look: Look, level_mm: float) -> bool:
    """Tell whether the slip stands higher than the old cast's would: it has been poured since."""
    expected_mm = _expected_mm(state, look)
    return expected_mm is None or level_mm < expected_mm - NO_TIP_MM


def _expected_mm(state: MouldState, look: Look) -> float | None:
    """Return where the old cast's slip would stand, were it still there. [mm]."""
    last = last_reading(state.cast) if state.cast is not None else None
    return look.forecast_mm if look.forecast_mm is not None else (last.level_mm if last else None)
