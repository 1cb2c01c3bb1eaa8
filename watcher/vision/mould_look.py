"""One mould in one frame: is it there, is anything in the way, what is in it, where is the line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.readings import Contents, Expected, HoleSighting, LevelReading, Missed
from watcher.records.readings import Pixels as PixelPoints
from watcher.vision.contents import change
from watcher.vision.covering import Way, look_over
from watcher.vision.doubting import STIRRED_S, below_old_mark, doubted, is_old_mark
from watcher.vision.film import film_for, no_film
from watcher.vision.froth import froth_on
from watcher.vision.gate import light_switched
from watcher.vision.judging import back_again, drained, judge, note_look, notice_pour
from watcher.vision.level import MENISCUS_MM, Line, follow, out_of_sight, pace, place_line, wider
from watcher.vision.marked import Mark
from watcher.vision.memory import HolePlans, MouldMemory
from watcher.vision.sampling import Pixels, sample_hole
from watcher.vision.spread import sunk_mm
from watcher.vision.tracing import below_mark, find_line, trusted
from watcher.vision.wall import Wall

Array = npt.NDArray[np.float64]

HAND_SHARE = 0.22
AWAY_AFTER_S = 45.0
ACCEPT_AFTER_S = 80.0
CARD_COVERED = 0.6
"""Without its card a mould must look as before: more change than this and it is taken to be gone."""
DEEPEST_MARK_MM = 14.0
LONGEST_GUESS_S = 180.0
FRESH_S = 70.0
MOST_LIGHT_MM = 0.9
RIM_TOLD_PX = 4.0
"""A band of wall wider than this between rim and line tells where the rim is."""
LATEST_RIM_SHARE = 0.3
BACK_GAIN = 25.0
"""A level that was out of sight comes back by a pour, or by an edge that leaves no doubt."""


def look_into(
    image: Image,
    name: str,
    memory: MouldMemory,
    expected: Expected | None,
    card_there: bool,
    shift: Array,
    now_s: float,
) -> tuple[HoleSighting, MouldMemory]:
    """Read one mould whose place is known.

    Parameters
    ----------
    card_there : bool
        Whether its card was seen in this frame where it should be (or it has none).
    shift : ndarray (2,)
        Shake of the whole picture, (x, y). [px]
    """
    plans, looks = memory.plans[0], memory.looks[0]
    if memory.contents is Contents.SLIP:
        film = film_for(plans.strip, expected, memory.filled_s, memory.top_mm, now_s)
    else:
        film = no_film(plans.strip)
    seen = sample_hole(image, plans, looks, film, shift)
    way = Way(_in_way(memory, seen, card_there), card_there)
    hidden, memory = look_over(image, memory, seen, way, shift, now_s)
    if hidden is not None:
        return _blocked(name, memory, seen, hidden, card_there, shift, now_s)
    memory = replace(memory, odd_since_s=None)
    if memory.contents is Contents.AWAY or (memory.moved and drained(memory, seen)):
        memory = back_again(memory, seen)
        looks = memory.looks[0]
    memory = replace(memory, moved=False)
    pace_now = pace(expected, memory.filled_s, now_s)
    memory = notice_pour(memory, seen, now_s)
    was_slip = memory.contents is Contents.SLIP
    line = None
    if was_slip or looks.empty is None:
        due = _due(memory, pace_now, now_s)
        plans, line = find_line(memory, seen, plans, due, _stirred(memory, now_s), now_s, pace_now)
    memory = judge(memory, seen, 0.0 if line is None else line.gain, expected, now_s)
    if memory.contents is Contents.SLIP and not was_slip:
        film = film_for(plans.strip, expected, memory.filled_s, memory.top_mm, now_s)
        seen = sample_hole(image, plans, looks, film, shift)
        plans, line = find_line(memory, seen, plans, None, True, now_s, pace_now)
    seen = replace(seen, shown=plans.strip.shown())
    if memory.contents is Contents.SLIP:
        froth, memory = froth_on(image, plans.strip, memory, line, shift, now_s)
        if froth is not None:
            return _sighting(name, memory, froth, shift), note_look(memory, seen, now_s, None)
    told_tipped = expected is not None and expected.phase == "tipped" and was_slip
    if line is None or memory.contents is not Contents.SLIP or told_tipped:
        memory = replace(memory, plans=(plans, *memory.plans[1:]))
        return _sighting(name, memory, Missed.UNCERTAIN, shift), note_look(memory, seen, now_s, None)
    if memory.filling:
        memory = replace(memory, filling=False, plans=(plans, *memory.plans[1:]))
        return _sighting(name, memory, Missed.UNCERTAIN, shift), note_look(memory, seen, now_s, None)
    wall = Wall(image, plans.strip, shift)
    reading, memory = _read(memory, seen, wall, plans, line, expected, pace_now, now_s)
    return _sighting(name, memory, reading, shift), memory


def _in_way(memory: MouldMemory, seen: Pixels, card_there: bool) -> bool:
    if seen.changed > HAND_SHARE:
        return True
    last = memory.looks[0].last
    return not card_there and last is not None and change(seen.look, last, seen.shown) > CARD_COVERED


def _stirred(memory: MouldMemory, now_s: float) -> bool:
    return memory.stirred_s is not None and now_s - memory.stirred_s <= STIRRED_S


def _due(memory: MouldMemory, pace_now: float, now_s: float) -> float | None:
    if memory.level_mm is None or memory.read_s is None:
        return None
    return memory.level_mm + pace_now * min(now_s - memory.read_s, LONGEST_GUESS_S)


def _forecast(expected: Expected | None) -> tuple[float, float] | None:
    if expected is None or expected.level_mm is None or expected.level_sigma_mm is None:
        return None
    return expected.level_mm, expected.level_sigma_mm


def _read(
    memory: MouldMemory,
    seen: Pixels,
    wall: Wall,
    plans: HolePlans,
    line: Line,
    expected: Expected | None,
    pace_now: float,
    now_s: float,
) -> tuple[LevelReading | Missed, MouldMemory]:
    """Meet the belief with this frame's line and read the level off it."""
    passed = now_s - memory.clear_s if memory.clear_s is not None else 0.0
    stirred = _stirred(memory, now_s)
    held = memory.belief if memory.top_mm is not None else None
    due = _forecast(expected)
    belief = follow(held, line, plans.strip, plans.regions.possible, passed, pace_now, stirred, due)
    if line.mark_mm is not None and memory.mark_mm is None and line.mark_mm < DEEPEST_MARK_MM:
        below = below_mark(memory, seen, wall, plans, line, now_s, pace_now)
        if below is not None:
            plans, line, mark_mm = below
            belief = follow(None, line, plans.strip, plans.regions.possible, passed, pace_now, stirred)
            memory = replace(memory, mark_mm=mark_mm)
    mark = None if memory.top_mm is None else Mark(memory.top_mm - MENISCUS_MM, memory.fill_mark_mm)
    found = place_line(
        belief, replace(wall, plan=plans.strip), seen.film, line.noise, memory.looks[0].rim_mm, mark
    )
    if found is not None and memory.filled_s is not None:
        found = wider(found, sunk_mm(found.placed.step, pace_now, now_s - memory.filled_s))
    if mark is not None and found is not None:
        memory = replace(memory, fill_mark_mm=mark.met(found.placed))
    memory = replace(memory, belief=belief, plans=(plans, *memory.plans[1:]))
    possible = plans.regions.possible
    if found is not None and found.placed.rim_mm is not None and found.rim_px > RIM_TOLD_PX:
        memory = _with_rim(memory, found.placed.rim_mm, LATEST_RIM_SHARE)
    if found is not None and is_old_mark(memory, found, now_s):
        return Missed.UNCERTAIN, note_look(below_old_mark(memory, found), seen, now_s, None)
    reading = trusted(found, out_of_sight(belief, possible), line, memory.top_mm is None, due)
    was_lost = held is not None and held.rows.size == possible.size and out_of_sight(held, possible) > 0.5
    if was_lost and not stirred and line.gain < BACK_GAIN:
        reading = Missed.OUT_OF_SIGHT
    if isinstance(reading, LevelReading):
        level_mm = reading.level_mm
        due_mm = _due(memory, pace_now, now_s)
        doubt, memory = doubted(reading, memory, plans.strip.lost_below_mm(), expected, due_mm, now_s)
        if doubt is Missed.UNCERTAIN:
            return doubt, note_look(memory, seen, now_s, level_mm)
        reading = reading if doubt is None else doubt
    if isinstance(reading, LevelReading):
        reading, memory = _in_first_light(reading, memory, seen, expected, now_s)
    if reading is Missed.UNCERTAIN:
        memory = replace(memory, mark_mm=None)
    return reading, note_look(
        memory, seen, now_s, reading.level_mm if isinstance(reading, LevelReading) else None
    )


def _with_rim(memory: MouldMemory, rim_mm: float | None, share: float) -> MouldMemory:
    """Remember where the first hole's top is seen to end."""
    looks = memory.looks[0]
    if rim_mm is None:
        return memory
    mean = rim_mm if looks.rim_mm is None else (1.0 - share) * looks.rim_mm + share * rim_mm
    return replace(memory, looks=(replace(looks, rim_mm=mean), *memory.looks[1:]))


def _in_first_light(
    reading: LevelReading,
    memory: MouldMemory,
    seen: Pixels,
    expected: Expected | None,
    now_s: float,
) -> tuple[LevelReading, MouldMemory]:
    """Refer a level to the light in which the filling was first read.

    Which edge of the slip's climb at the wall is seen depends on the light. A lamp that is switched moves
    what is seen at once, the slip it does not move: the step between two looks is the light's and is taken
    off from then on.
    """
    light_mm = 0.0 if memory.top_mm is None else memory.light_mm
    due = _due(memory, pace(expected, memory.filled_s, now_s), now_s)
    fresh_s = now_s - memory.read_s if memory.read_s is not None else LONGEST_GUESS_S
    known = expected is not None and expected.speed_mm_per_s is not None
    if (
        memory.light is not None
        and due is not None
        and known
        and fresh_s < FRESH_S
        and light_switched(seen.light, memory.light)
    ):
        step = reading.level_mm - due
        light_mm = step if abs(step) < MOST_LIGHT_MM else light_mm
    memory = replace(memory, light=seen.light, light_mm=light_mm)
    return replace(reading, level_mm=reading.level_mm - light_mm), memory


def _blocked(
    name: str, memory: MouldMemory, seen: Pixels, why: Missed, card_there: bool, shift: Array, now_s: float
) -> tuple[HoleSighting, MouldMemory]:
    """Something covers the rim, or the mould is gone; what stays becomes the look, if a rim shows in it."""
    since = memory.odd_since_s if memory.odd_since_s is not None else now_s
    memory = replace(memory, stirred_s=now_s, odd_since_s=since, moved=memory.moved or not card_there)
    if card_there and why is Missed.HAND and memory.over is None and now_s - since >= ACCEPT_AFTER_S:
        looks = tuple(replace(k, ring=seen.ring) for k in memory.looks)
        memory = replace(memory, looks=looks, odd_since_s=None)
    elif not card_there and now_s - since >= AWAY_AFTER_S:
        memory = replace(memory, contents=Contents.AWAY)
    return _sighting(name, memory, why, shift, hand=why is Missed.HAND), memory


def _sighting(
    name: str, memory: MouldMemory, reading: LevelReading | Missed, shift: Array, hand: bool = False
) -> HoleSighting:
    strip = memory.plans[0].strip
    line: PixelPoints = ()
    if isinstance(reading, LevelReading):
        line = strip.line_rc(reading.level_mm - MENISCUS_MM, shift)
    lost = strip.lost_below_mm()
    rim = () if memory.contents is Contents.AWAY else strip.rim_rc(shift)
    return HoleSighting(name, reading, memory.contents, hand, memory.placement, lost, rim, line)
