"""From an empty hole to a full one: when a cast begins and when its pour is over."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from watcher.records.bench import Cast, Filling, FillingKind, MouldState, Reading, Stage

NEAR_TOP_MM = 9.0
"""A hole whose slip stands this near the rim, with no hand about, has been filled. [mm]"""

POURED_MM = 16.0
"""A mould is poured to its rim (common practice, no source): what stands deeper than this and does not rise
after the hole was seen empty is an inner edge of the mould, not slip. [mm]"""

STILL_RISING_MM = 0.7
"""Between two looks a pour raises the level by more than this. [mm]"""

UNREAD_POUR_S = 150.0
"""No pour of one mould takes longer: after this a hole that holds slip counts as filled, read or not. [s]"""

SLOW_LOOKS_S = 8.0
"""With looks further apart than this a pour may well have begun and ended between two of them. [s]"""


WATCHED_S = 45.0
"""Slip that appears between two looks no further apart than this came without a hand if neither showed one:
pouring takes half a minute, and the hand with the jug hides the hole (common practice, no source). [s]"""


def begin(state: MouldState, at_s: float, at: datetime, *, bench_id: str) -> MouldState:
    """Open a cast: slip has been seen in a hole that held none.

    The pour began somewhere after the hole was last seen empty. The id carries mould and moment, so that it
    stays the same over a restart and differs from every other cast.
    """
    number = state.casts_today + 1
    opened = state.last_empty_s if state.last_empty_s is not None else at_s
    cast = Cast(
        cast_id=f"{bench_id}/{state.name}/{at:%Y%m%dT%H%M%SZ}",
        mould=state.name,
        number_today=number,
        began_s=at_s,
        began_at=at,
        fillings=(Filling(FillingKind.POUR, opened, at_s),),
    )
    return replace(
        state, stage=Stage.FILLING, cast=cast, casts_today=number, pending=(), doubt=None, doubt_since_s=None
    )


def with_hand(state: MouldState, at_s: float, at: datetime) -> MouldState:
    """Date a pour anew where slip seemed to stand, unread, before any hand had come to pour it."""
    assert state.cast is not None
    if state.hand_seen or state.pending:
        return state
    before_s = max(state.cast.began_s, at_s - SLOW_LOOKS_S)
    pour = Filling(FillingKind.POUR, before_s, at_s)
    return replace(state, cast=replace(state.cast, began_s=at_s, began_at=at, fillings=(pour,)))


def cancel(state: MouldState, stage: Stage) -> MouldState:
    """Take back a pour that turned out to be none."""
    return replace(state, stage=stage, cast=None, casts_today=max(0, state.casts_today - 1), pending=())


def rise(state: MouldState, reading: Reading, *, hand_near: bool) -> MouldState:
    """Follow a pour by one reading; the stage becomes CASTING once the level no longer rises."""
    seen = (*state.pending, reading)
    first_look = len(seen) == 1
    gap_s = reading.at_s - state.last_empty_s if state.last_empty_s is not None else 1e9
    if first_look:
        slow = gap_s >= SLOW_LOOKS_S and not _came_by_itself(state)
        done = reading.level_mm <= NEAR_TOP_MM and not hand_near and slow
        return _full(state, seen, 0) if done else replace(state, pending=seen)
    if seen[-2].level_mm - reading.level_mm > STILL_RISING_MM:
        return replace(state, pending=seen)
    top = min(range(len(seen)), key=lambda i: seen[i].level_mm)
    if seen[top].level_mm > POURED_MM and state.last_empty_s is not None:
        return replace(state, pending=seen)
    return _full(state, seen, top)


def overdue(state: MouldState, now_s: float, *, hidden: bool) -> MouldState:
    """End a pour that has gone on too long: it was full unread, or it was none.

    Slip that should be in plain view, but whose level was never read and that no hand has poured, may be
    nothing but another light in an empty hole: it waits for a reading or a hand, and nobody is called for it.
    So does slip that appeared before our eyes without a hand, of which one level alone was read.

    Parameters
    ----------
    state : MouldState
        Being filled.
    now_s : float
        [s]
    hidden : bool
        There is a reason why the level cannot be read just now.
    """
    assert state.cast is not None
    if now_s - state.cast.began_s < UNREAD_POUR_S:
        return state
    if not state.pending and not state.hand_seen and not hidden:
        return state
    if len(state.pending) == 1 and _came_by_itself(state):
        return state
    if state.pending and min(r.level_mm for r in state.pending) > POURED_MM:
        return cancel(state, Stage.EMPTY)
    return _full(state, state.pending, max(0, len(state.pending) - 1), latest_s=now_s)


def _came_by_itself(state: MouldState) -> bool:
    """Tell whether slip appeared in a hole that was being watched, and no hand was seen to pour it."""
    if state.hand_seen or state.cast is None or state.last_empty_s is None:
        return False
    return state.cast.began_s - state.last_empty_s < WATCHED_S


def _full(
    state: MouldState, seen: tuple[Reading, ...], top: int, *, latest_s: float | None = None
) -> MouldState:
    """Close the pour: it ended between the look before the topmost reading and that reading."""
    assert state.cast is not None
    opened = state.cast.fillings[0].earliest_s
    earliest_s = seen[top - 1].at_s if 0 < top < len(seen) else opened
    if latest_s is None:
        latest_s = seen[top].at_s
    filling = Filling(FillingKind.POUR, earliest_s, latest_s, seen[top:])
    cast = replace(state.cast, fillings=(filling,))
    return replace(state, stage=Stage.CASTING, cast=cast, pending=())
