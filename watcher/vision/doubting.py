"""Doubts about a level that was found: moves it as slip does, is it a mark, can it be seen so deep."""

from __future__ import annotations

from dataclasses import replace

from watcher.records.readings import Expected, LevelReading, Missed
from watcher.vision.level import Found
from watcher.vision.memory import MouldMemory
from watcher.vision.tracing import WORST_PLACED_MM

STIRRED_S = 75.0
STILL_MM = 0.4
STILL_LEAST_S = 90.0
STILL_SHARE = 4.0
YOUNG_S, STUCK_S, STUCK_MM = 300.0, 140.0, 0.2
"""A line that has not sunk so far in so long, early in a cast, is not the slip's: even slow
plaster under a wide hole sinks it by more (0.4 mm at 0.5 mm2/min, twice the hole's area, f of 0.35)."""
DEEP_SHARE = 0.7
MARK_LEFT_S, MARK_STEP = 75.0, -12.0
"""So long after a pour an edge at which the wall turns darker by so many grey levels is an old one. [s]"""
MARK_CLEAR_MM = 0.5
RISEN_MM = 2.0
LAG_MM = 1.5
JUMP_MM, SAME_JUMP_MM = 2.0, 0.7
"""A level so far from where it should be must be seen a second time, about where it was. [mm]"""
SURELY_FULL_MM = 6.0
SUNK_MM = 0.9
"""A line deeper than the first of these must have sunk by the second before it is taken for slip's, in a
mould that was never seen empty."""


def doubted(
    reading: LevelReading,
    memory: MouldMemory,
    lost_below_mm: float | None,
    expected: Expected | None,
    due_mm: float | None,
    now_s: float,
) -> tuple[Missed | None, MouldMemory]:
    """Say why a level is not to be believed, or None.

    Parameters
    ----------
    lost_below_mm : float or None
        Depth below which no level can be seen from here. [mm]
    due_mm : float or None
        Where the level should be now, going by the last one read. [mm]
    """
    memory = _with_anchor(memory, reading, now_s)
    deep = lost_below_mm is not None and reading.level_mm > DEEP_SHARE * lost_below_mm
    if deep and due_mm is not None and abs(reading.level_mm - due_mm) > LAG_MM:
        return Missed.OUT_OF_SIGHT, memory
    if _jumps(memory, reading, due_mm) and not _poured_lately(memory, now_s):
        before, memory = memory.jump_mm, replace(memory, jump_mm=reading.level_mm)
        if before is None or abs(reading.level_mm - before) > SAME_JUMP_MM:
            return Missed.UNCERTAIN, memory
    else:
        memory = replace(memory, jump_mm=None)
    if _stands_still(memory, reading, expected, now_s):
        if not deep and _is_young(memory, now_s):
            memory = _below(memory, reading.level_mm + MARK_CLEAR_MM)
        return (Missed.OUT_OF_SIGHT if deep else Missed.SKINNED), memory
    if _rises_unpoured(memory, reading, now_s):
        looks = replace(memory.looks[0], past=())
        memory = replace(memory, proven=False, looks=(looks, *memory.looks[1:]), still_mm=None)
    if not memory.proven:
        memory = replace(memory, proven=_proves_itself(memory, reading))
    return (None if memory.proven else Missed.UNCERTAIN), memory


def _jumps(memory: MouldMemory, reading: LevelReading, due_mm: float | None) -> bool:
    """Tell a level far from anywhere between the last one and where it is due."""
    if due_mm is None:
        return False
    last_mm = due_mm if memory.level_mm is None else memory.level_mm
    return not min(last_mm, due_mm) - JUMP_MM <= reading.level_mm <= max(last_mm, due_mm) + JUMP_MM


def _stands_still(
    memory: MouldMemory, reading: LevelReading, expected: Expected | None, now_s: float
) -> bool:
    """Tell whether a line stays where it is though the bench knows that the slip must be sinking.

    A skin can hold the edge that is read, and an old mark stays when the slip is out of sight below it. In
    the first minutes every plaster drinks: a line that does not move then is the mark of the fill.
    """
    if (
        _is_young(memory, now_s)
        and memory.still_since_s is not None
        and now_s - memory.still_since_s >= STUCK_S
    ):
        return True
    if expected is None or expected.speed_mm_per_s is None:
        return False
    still_s = 0.0
    for kept in reversed(memory.looks[0].past):
        if kept.level_mm < reading.level_mm - STILL_MM:
            break  # it stood higher since: what matches further back is from before a top-up
        if abs(kept.level_mm - reading.level_mm) < STILL_MM:
            still_s = now_s - kept.taken_s
    return still_s >= STILL_LEAST_S and expected.speed_mm_per_s * still_s > STILL_SHARE * STILL_MM


def is_old_mark(memory: MouldMemory, found: Found, now_s: float) -> bool:
    """Tell the top of dark clay on bare plaster, which the slip has left, from the slip's own edge.

    Until the slip has sunk they are one. Later the wall above the slip is clay as well, and what turns much
    darker downwards is where that clay begins.
    """
    if memory.filled_s is None or now_s - memory.filled_s < MARK_LEFT_S:
        return False
    return found.placed.step < MARK_STEP and found.placed.sigma_mm < WORST_PLACED_MM


def _with_anchor(memory: MouldMemory, reading: LevelReading, now_s: float) -> MouldMemory:
    """Remember since when the level has not sunk."""
    if memory.still_mm is not None and reading.level_mm < memory.still_mm + STUCK_MM:
        return memory
    return replace(memory, still_mm=reading.level_mm, still_since_s=now_s)


def _is_young(memory: MouldMemory, now_s: float) -> bool:
    """Tell whether slip came in so lately that it must be sinking."""
    return memory.filled_s is not None and now_s - memory.filled_s < YOUNG_S


def below_old_mark(memory: MouldMemory, found: Found) -> MouldMemory:
    """Look below that edge from now on."""
    return _below(memory, max(found.level_mm + MARK_CLEAR_MM, memory.mark_mm or 0.0))


def _below(memory: MouldMemory, mark_mm: float) -> MouldMemory:
    return replace(memory, mark_mm=mark_mm, belief=None, still_mm=None, still_since_s=None)


def _rises_unpoured(memory: MouldMemory, reading: LevelReading, now_s: float) -> bool:
    """Tell a line that stands higher though no slip was seen to come in: likely the mark that it left."""
    if memory.level_mm is None or reading.level_mm > memory.level_mm - RISEN_MM:
        return False
    return not _poured_lately(memory, now_s)


def _poured_lately(memory: MouldMemory, now_s: float) -> bool:
    return memory.poured_s is not None and now_s - memory.poured_s <= STIRRED_S


def _proves_itself(memory: MouldMemory, reading: LevelReading) -> bool:
    """Tell slip from an inner edge of a mould that was never seen bare: full to the rim, or sinking."""
    past = memory.looks[0].past
    first = memory.top_mm is None and reading.level_mm < SURELY_FULL_MM
    return first or any(reading.level_mm - kept.level_mm > SUNK_MM for kept in past)
