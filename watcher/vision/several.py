"""A mould with several pour holes: each is looked into by itself, and they agree on one level."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.readings import Contents, Expected, HoleSighting, LevelReading, Missed
from watcher.vision.agreeing import agreed
from watcher.vision.level import pace
from watcher.vision.memory import MouldMemory
from watcher.vision.mould_look import look_into

Array = npt.NDArray[np.float64]

STAYS_OFF_LOOKS = 20
WRONG_BY_MM = 1.0
CLEAR_MM = 0.5
LONGEST_DUE_S = 180.0
SOONEST_OVER = (
    Missed.HAND,
    Missed.UNCERTAIN,
    Missed.FROTHED,
    Missed.BLOWN_OUT,
    Missed.SKINNED,
    Missed.COVERED,
    Missed.OUT_OF_SIGHT,
)
"""Where no hole is read, the reason that will be over first is said: then there will be a level again."""

HIDDEN = (Missed.HAND, Missed.COVERED)

Seen = tuple[HoleSighting, MouldMemory]


def look_into_all(
    image: Image,
    name: str,
    memory: MouldMemory,
    expected: Expected | None,
    card_there: bool,
    shift: Array,
    now_s: float,
) -> Seen:
    """Read one mould whose place is known, through all of its pour holes; arguments as of `look_into`."""
    if len(memory.plans) == 1:
        return look_into(image, name, memory, expected, card_there, shift, now_s)
    seen = [
        look_into(image, name, alone(memory, k), expected, card_there, shift, now_s)
        for k in range(len(memory.plans))
    ]
    return joined(name, memory, seen, expected, now_s)


def alone(memory: MouldMemory, k: int) -> MouldMemory:
    """Return what is known of one pour hole, as if the mould had no other."""
    own = memory if k == 0 else memory.beside[k - 1] if memory.beside else MouldMemory()
    if own.placement != memory.placement:
        own = replace(own, off_mm=0.0, off_looks=0, light=None)
    both = [s for s in (own.stirred_s, memory.stirred_s) if s is not None]
    return replace(
        own,
        placement=memory.placement,
        places=(memory.places[k],),
        plans=(memory.plans[k],),
        looks=(memory.looks[k],),
        contents=Contents.AWAY if memory.contents is Contents.AWAY else own.contents,
        stirred_s=max(both) if both and memory.moved else own.stirred_s,
        moved=own.moved or memory.moved,
        tilt_deg=memory.tilt_deg,
        rim_seen_mm=memory.rim_seen_mm,
        offset_mm=memory.offset_mm,
        beside=(),
    )


def joined(
    name: str, memory: MouldMemory, seen: Sequence[Seen], expected: Expected | None, now_s: float
) -> Seen:
    """Put the sightings and memories of all holes together; `memory` is the mould's before this look."""
    sightings, memories = [s for s, _ in seen], [m for _, m in seen]
    read = {k: s.reading for k, s in enumerate(sightings) if isinstance(s.reading, LevelReading)}
    due = _due(memory, memories, expected, now_s)
    reading, memories = _one_level(sightings, memories, read, due, now_s)
    contents = _contents(sightings, isinstance(reading, LevelReading))
    if contents is not Contents.AWAY:
        memories = [m if m.contents is not Contents.AWAY else replace(m, contents=contents) for m in memories]
    lost = [s.lost_below_mm for s in sightings]
    deepest = None if None in lost else max(depth for depth in lost if depth is not None)
    shown = sightings[min(read)].line_rc if read and isinstance(reading, LevelReading) else ()
    sighting = replace(
        sightings[0],
        mould=name,
        reading=reading,
        contents=contents,
        hand_near=any(s.hand_near for s in sightings),
        lost_below_mm=deepest,
        line_rc=shown,
    )
    together = replace(
        memories[0],
        places=memory.places,
        plans=tuple(m.plans[0] for m in memories),
        looks=tuple(m.looks[0] for m in memories),
        beside=tuple(replace(m, places=(), plans=(), looks=()) for m in memories[1:]),
    )
    return sighting, together


def _due(
    before: MouldMemory, memories: list[MouldMemory], expected: Expected | None, now_s: float
) -> float | None:
    """Where the level should be by the last one read; None if that is old or slip may have come in since."""
    if before.level_mm is None or before.read_s is None or now_s - before.read_s > LONGEST_DUE_S:
        return None
    if any(m.stirred_s is not None and m.stirred_s > before.read_s for m in memories):
        return None
    sunk_mm = pace(expected, before.filled_s, now_s) * (now_s - before.read_s)
    return before.level_mm - before.off_mm + sunk_mm


def _one_level(
    sightings: list[HoleSighting],
    memories: list[MouldMemory],
    read: dict[int, LevelReading],
    due_mm: float | None,
    now_s: float,
) -> tuple[LevelReading | Missed, list[MouldMemory]]:
    """Agree on a level; tell every hole what it is, and the one that was outvoted to look again."""
    if not read:
        said = {s.reading for s in sightings if isinstance(s.reading, Missed)}
        return next((why for why in SOONEST_OVER if why in said), sightings[0].reading), memories
    levels = {k: replace(r, level_mm=r.level_mm - memories[k].off_mm) for k, r in read.items()}
    found = agreed(tuple(levels.values()), due_mm)
    if found is None:
        return Missed.UNCERTAIN, memories
    at_mm = found.reading.level_mm
    believed = [k for k, w in zip(levels, found.weights, strict=True) if w > 0.0]
    all_of_them = len(believed) == len(memories)
    filled_s = memories[believed[0]].filled_s
    after = []
    for k, (m, s) in enumerate(zip(memories, sightings, strict=True)):
        if s.reading in HIDDEN and m.contents in (Contents.EMPTY, Contents.UNKNOWN):
            m = replace(m, contents=Contents.SLIP, filled_s=filled_s, belief=None, top_mm=None)
        if k in levels and k not in believed:
            m = _outvoted(m, levels[k].level_mm, at_mm)
        elif all_of_them:
            m = _with_off(m, levels[k].level_mm - at_mm)
        after.append(replace(m, level_mm=at_mm + m.off_mm, read_s=now_s))
    return found.reading, after


def _outvoted(memory: MouldMemory, level_mm: float, at_mm: float) -> MouldMemory:
    """Let a hole look again from scratch; below the edge that it took for slip's, if that stands higher."""
    mark = memory.mark_mm
    if level_mm < at_mm - WRONG_BY_MM:
        mark = max(level_mm + memory.off_mm + CLEAR_MM, mark or 0.0)
    return replace(memory, belief=None, mark_mm=mark, still_mm=None, still_since_s=None)


def _with_off(memory: MouldMemory, further_mm: float) -> MouldMemory:
    """Remember by how much a hole is read deeper than all together, so that one alone makes no step."""
    count = min(memory.off_looks + 1, STAYS_OFF_LOOKS)
    return replace(memory, off_mm=memory.off_mm + further_mm / count, off_looks=count)


def _contents(sightings: list[HoleSighting], is_read: bool) -> Contents:
    """Say what is in the mould: slip if it is read, else what most holes in view say, in doubt slip."""
    said: list[Contents] = [s.contents for s in sightings if s.contents is not Contents.AWAY]
    if not said:
        return Contents.AWAY
    if is_read:
        return Contents.SLIP
    clear: list[Contents] = [
        s.contents for s in sightings if s.contents is not Contents.AWAY and s.reading not in HIDDEN
    ]
    told = clear or said
    order = (Contents.SLIP, Contents.EMPTY, Contents.UNKNOWN)
    return max(order, key=lambda contents: (told.count(contents), -order.index(contents)))
