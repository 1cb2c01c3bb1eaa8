"""What is in a pour hole, followed over time: bare, slip come in or poured on, a mould come back."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from watcher.records.readings import Contents, Expected
from watcher.vision.contents import (
    CHANGED,
    CHROMA_STEP,
    LUMA_STEP,
    came_in,
    change,
    first_judgement,
    low_look,
    rim_mark,
)
from watcher.vision.likelihood import Edges, edge_gain
from watcher.vision.memory import HoleLooks, MouldMemory, PastLook
from watcher.vision.sampling import Pixels

Floats = npt.NDArray[np.float32]

SINCE_FULL_SHARE = 0.25
WETTED_LUMA = 8.0
LONGEST_SINCE_FULL_S = 20.0
"""How long ago a mould that is found full was filled: about a third of the time since the last look."""
SAME_LOOK = 0.8
POURED_CHANGE = 0.5
PASSED_CHANGE = 0.35
STIRRING_CHANGE = 0.3
"""Changes of the hole's look, in units of what light alone cannot do."""
LIGHT_WALKS_S = 20.0
"""Light on an empty hole is followed within this time; most pours take longer (guess). [s]"""
KEEP_S = 90.0
KEEP_MM = 0.4
KEPT_LOOKS = 15
LATEST_SHARE = 0.10


def judge(
    memory: MouldMemory, seen: Pixels, gain: float, expected: Expected | None, now_s: float
) -> MouldMemory:
    """Follow what is in the hole: bare, or slip that was seen to come in."""
    looks = memory.looks[0]
    if memory.contents is Contents.SLIP:
        return memory
    if looks.empty is None:
        return _first_sight(memory, seen, gain, expected, now_s)
    empty = looks.empty
    changed = change(seen.look, empty, seen.shown)
    if changed > STIRRING_CHANGE:
        memory = replace(memory, stirred_s=now_s)
    if came_in(changed, lambda: _new_edge(memory, seen, empty)):
        since = memory.clear_s if memory.clear_s is not None else now_s
        filled = _filled(since, now_s)
        return replace(
            memory,
            contents=Contents.SLIP,
            filling=_only_wetted(seen, empty),
            filled_s=filled,
            proven=True,
            poured_s=now_s,
            belief=None,
            top_mm=None,
            mark_mm=None,
            fill_mark_mm=None,
            level_mm=None,
            read_s=None,
            still_mm=None,
            still_since_s=None,
            stirred_s=now_s,
            calm_looks=0,
        )
    return memory


def _filled(since_s: float, now_s: float) -> float:
    return now_s - min(SINCE_FULL_SHARE * (now_s - since_s), LONGEST_SINCE_FULL_S)


def _only_wetted(seen: Pixels, empty: Floats) -> bool:
    """Tell clay on the wall from slip in the hole: the depth of the hole is then hardly lighter or darker."""
    now, before = low_look(seen.look, seen.shown), low_look(empty, seen.shown)
    return now is not None and before is not None and abs(float(now[0] - before[0])) < WETTED_LUMA


def _new_edge(memory: MouldMemory, seen: Pixels, empty: Floats) -> float:
    """Gain of the strongest edge that the empty hole did not have."""
    return _best(edge_gain(seen.look[..., 0] - empty[..., 0], memory.plans[0].regions, 1.0))


def _best(edges: Edges) -> float:
    return max(float(edges.gain.max()), float(edges.darker.max()), 0.0)


def _first_sight(
    memory: MouldMemory, seen: Pixels, gain: float, expected: Expected | None, now_s: float
) -> MouldMemory:
    """Judge a hole without a reference: by what the bench knows, by whether it was away, by eye."""
    if expected is not None and expected.phase == "casting" and not memory.returned:
        since = expected.since_filled_s if expected.since_filled_s is not None else 0.0
        return replace(memory, contents=Contents.SLIP, filled_s=now_s - since)
    if memory.returned:
        return replace(memory, contents=Contents.EMPTY)
    judged = first_judgement(seen.look, seen.shown, gain)
    slip = judged is Contents.SLIP
    return replace(memory, contents=judged, filled_s=now_s if slip else None, proven=not slip)


def back_again(memory: MouldMemory, seen: Pixels) -> MouldMemory:
    """Judge a mould that was away: it comes back bare, unless it looks just as it did when full."""
    last = memory.looks[0].last
    if memory.level_mm is not None and last is not None and change(seen.look, last, seen.shown) < SAME_LOOK:
        return replace(memory, contents=Contents.SLIP)
    return replace(
        memory,
        looks=tuple(HoleLooks() for _ in memory.looks),
        contents=Contents.UNKNOWN,
        belief=None,
        filled_s=None,
        level_mm=None,
        read_s=None,
        top_mm=None,
        mark_mm=None,
        fill_mark_mm=None,
        clear_s=None,
        returned=True,
    )


def drained(memory: MouldMemory, seen: Pixels) -> bool:
    """Tell whether a full mould that stands somewhere new has lost its slip on the way."""
    now = low_look(seen.look, seen.shown)
    if memory.contents is not Contents.SLIP or memory.low is None or now is None:
        return False
    luma, red, blue = (float(a - b) for a, b in zip(now, memory.low, strict=True))
    return math.hypot(luma / LUMA_STEP, math.hypot(red, blue) / CHROMA_STEP) > CHANGED


def notice_pour(memory: MouldMemory, seen: Pixels, now_s: float) -> MouldMemory:
    """Slip poured in changes the hole's look at once; a hand that only passed by leaves it as it was."""
    last = memory.looks[0].last
    if memory.contents is not Contents.SLIP or last is None:
        return memory
    changed = change(seen.look, last, seen.shown)
    settled = memory.restless and memory.top_mm is None
    if changed > POURED_CHANGE and memory.top_mm is None and memory.clear_s is not None and not settled:
        memory = replace(memory, filled_s=_filled(memory.clear_s, now_s))
    if changed > POURED_CHANGE:
        looks = tuple(replace(look, past=()) for look in memory.looks)
        return replace(memory, stirred_s=now_s, poured_s=now_s, looks=looks, fill_mark_mm=None, calm_looks=0)
    hidden_since = (
        memory.stirred_s is not None and memory.clear_s is not None and memory.stirred_s > memory.clear_s
    )
    passed_by = hidden_since and memory.top_mm is not None and changed < PASSED_CHANGE
    return replace(memory, stirred_s=None) if passed_by else memory


def note_look(memory: MouldMemory, seen: Pixels, now_s: float, level_mm: float | None) -> MouldMemory:
    """Remember this clear look."""
    looks = memory.looks[0]
    ring = (
        seen.ring
        if looks.ring is None
        else np.asarray((1.0 - LATEST_SHARE) * looks.ring + LATEST_SHARE * seen.ring, dtype=np.float32)
    )
    looks = replace(looks, ring=ring, last=seen.look)
    if memory.contents is not Contents.SLIP and (
        looks.empty is None or change(seen.look, looks.empty, seen.shown) < STIRRING_CHANGE
    ):
        strip = memory.plans[0].strip
        empty = _settled(
            looks.empty, seen.look, now_s - (now_s if memory.clear_s is None else memory.clear_s)
        )
        looks = replace(looks, empty=empty, rim=rim_mark(empty, strip.px_per_mm * float(strip.depths_mm[1])))
    low = memory.low
    if memory.contents is Contents.SLIP and level_mm is not None and _new_to_keep(looks, level_mm, now_s):
        luma = np.ascontiguousarray(seen.look[..., 0])
        looks = replace(looks, past=(*looks.past[-KEPT_LOOKS:], PastLook(now_s, level_mm, luma)))
        deep = low_look(seen.look, seen.shown)
        low = None if deep is None else (float(deep[0]), float(deep[1]), float(deep[2]))
    top = memory.top_mm
    read_s = memory.read_s
    if level_mm is not None:
        top = level_mm if top is None else min(top, level_mm)
        read_s = now_s
    return replace(
        memory,
        looks=(looks, *memory.looks[1:]),
        clear_s=now_s,
        level_mm=memory.level_mm if level_mm is None else level_mm,
        top_mm=top,
        read_s=read_s,
        low=low,
    )


def _settled(before: Floats | None, look: Floats, passed_s: float) -> Floats:
    """Give the look of an empty hole, following the light no faster than it walks.

    Looks that follow closely on each other show slip that rises slowly as many small changes; taken over one
    by one, they would make the full hole the empty one.
    """
    if before is None or before.shape != look.shape or passed_s >= LIGHT_WALKS_S:
        return look
    share = passed_s / LIGHT_WALKS_S
    return np.asarray((1.0 - share) * before + share * look, dtype=np.float32)


def _new_to_keep(looks: HoleLooks, level_mm: float, now_s: float) -> bool:
    """Keep looks that differ in level, or in time enough for the light to have changed."""
    if not looks.past:
        return True
    last = looks.past[-1]
    return abs(level_mm - last.level_mm) >= KEEP_MM or now_s - last.taken_s >= KEEP_S
