"""Follow one mould by one look: the stage of its cast and the levels that count.

| stage    | what is seen                                   | becomes                                    |
|----------|------------------------------------------------|--------------------------------------------|
| absent   | empty hole                                     | empty                                      |
| empty    | slip                                           | filling (a cast begins)                    |
| empty    | mould away, still so at a second look          | absent                                     |
| filling  | the level no longer rises                      | casting                                    |
| filling  | empty, still so at a second look               | empty (the cast is taken back)             |
| casting  | level rises, a second reading agrees           | casting (topped up)                        |
| casting  | empty or away, still so at a second look       | tipped                                     |
| casting  | falls far beyond forecast, a second one agrees | tipped (ladled or let out)                 |
| tipped   | slip near where the old cast's would be        | casting (it was no tip)                    |
| tipped   | slip near the top, twice                       | filling (the next cast)                    |

What a drained mould goes through stands in `afterwards`; whatever stage it is in, slip begins the next cast.
"""

from __future__ import annotations

from dataclasses import replace

from watcher.records.bench import BenchEvent, MouldState, Stage
from watcher.records.readings import Contents, Missed
from watcher.tracking import filling
from watcher.tracking.casting import follow_casting
from watcher.tracking.look import Followed, Look, doubted
from watcher.tracking.tipped import follow_tipped


def follow(state: MouldState, look: Look) -> Followed:
    """Return the mould after one look, and what happened to it."""
    state, moved = _note_look(state, look)
    if not state.in_service:
        return state, ()
    match state.stage:
        case Stage.ABSENT | Stage.EMPTY | Stage.DEMOULDED:
            after, events = _without_slip(state, look)
        case Stage.FILLING:
            after, events = _filling(state, look)
        case Stage.CASTING:
            after, events = follow_casting(state, look)
        case _:
            after, events = follow_tipped(state, look)
    return after, (*moved, *events)


def _note_look(state: MouldState, look: Look) -> Followed:
    """Keep what was seen; say when the mould was found standing somewhere new, or is seen again."""
    events: list[BenchEvent] = []
    before = state.last_look
    if before is not None and look.hole.placement > before.placement and state.last_read_s is not None:
        events.append(look.event("moved"))
    hand = look.hole.hand_near or look.hole.reading is Missed.HAND
    emptied = look.hole.contents is Contents.EMPTY and not hand
    # what looks like slip before any hand has come is not proven by a hand that passes later
    seems_full = state.stage is Stage.FILLING or state.doubt is Contents.SLIP
    hand_counts = state.hand_seen or (hand and not seems_full)
    hand_seen = hand_counts and not emptied
    state = replace(state, last_look=look.hole, last_look_s=look.at_s, hand_seen=hand_seen)
    if look.reading is not None:
        state = replace(state, last_read_s=look.at_s, last_read_at=look.at)
    return state, tuple(events)


def _without_slip(state: MouldState, look: Look) -> Followed:
    """Wait for slip: no cast is under way."""
    contents, reading = look.hole.contents, look.reading
    if reading is not None or contents is Contents.SLIP:
        state = filling.begin(state, look.at_s, look.at, bench_id=look.bench_id)
        events = (look.event("filling"),)
        if reading is None:
            return state, events
        state = filling.rise(state, reading, hand_near=look.hole.hand_near)
        return state, events + ((look.event("filled"),) if state.stage is Stage.CASTING else ())
    if contents is Contents.EMPTY:
        return replace(
            state, stage=Stage.EMPTY, last_empty_s=look.at_s, doubt=None, doubt_since_s=None, cast=None
        ), ()
    if contents is Contents.AWAY:
        state, sure = doubted(state, look)
        gone = replace(state, stage=Stage.ABSENT, doubt=None, doubt_since_s=None, cast=None)
        return (gone if sure else state), ()
    return state, ()


def _filling(state: MouldState, look: Look) -> Followed:
    """Follow a pour by one look."""
    contents, reading = look.hole.contents, look.reading
    if look.hole.hand_near or look.hole.reading is Missed.HAND:
        state = filling.with_hand(state, look.at_s, look.at)
    if reading is not None:
        state = filling.rise(
            replace(state, doubt=None, doubt_since_s=None), reading, hand_near=look.hole.hand_near
        )
    elif contents in (Contents.EMPTY, Contents.AWAY):
        state, sure = doubted(state, look)
        if sure:
            stage = Stage.EMPTY if contents is Contents.EMPTY else Stage.ABSENT
            return replace(filling.cancel(state, stage), last_empty_s=look.at_s), ()
        return state, ()
    if state.stage is Stage.FILLING:
        hidden = look.hole.reading in (Missed.OUT_OF_SIGHT, Missed.SKINNED, Missed.FROTHED, Missed.COVERED)
        state = filling.overdue(state, look.at_s, hidden=hidden)
    return state, ((look.event("filled"),) if state.stage is Stage.CASTING else ())
