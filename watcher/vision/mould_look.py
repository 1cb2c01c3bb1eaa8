"""One mould in one frame: is it there, is anything in the way, what is in it, where is the line."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.readings import Contents, Expected, HoleSighting, LevelReading, Missed
from watcher.vision.contents import came_in, change, first_judgement, inside_look, rim_mark
from watcher.vision.gate import ring_change, sample_ring
from watcher.vision.level import (
    LEAST_CONFIDENCE,
    LEAST_GAIN,
    MENISCUS_MM,
    Film,
    Found,
    Line,
    film_for,
    follow,
    look_for_line,
    no_film,
    pace,
    place_line,
)
from watcher.vision.likelihood import GAP_PX, Edges, edge_gain
from watcher.vision.memory import HoleLooks, HolePlans, MouldMemory, PastLook
from watcher.vision.middle import middle_of_columns
from watcher.vision.placing import Placed, place
from watcher.vision.plans import fresh, start_px
from watcher.vision.strip import pixels_at, straighten, to_sectors

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]

HAND_SHARE = 0.22
AWAY_AFTER_S = 45.0
ACCEPT_AFTER_S = 80.0
STIRRED_S = 75.0
CARD_COVERED = 0.6
"""Without its card a mould must look as before: more change than this and it is taken to be gone."""
LONGEST_FILL_S = 40.0
SAME_LOOK = 0.8
POURED_CHANGE = 0.5
PASSED_CHANGE = 0.35
FIRST_GAIN = 18.0
STILL_MM = 0.4
STILL_SHARE = 4.0
DEEP_SHARE = 0.7
FIRST_PLACED_MM = 0.35
SECOND_GAIN = 18.0
WORST_PLACED_MM = 0.6
WORST_DISAGREE_MM = 1.1
DEEPEST_MARK_MM = 14.0
LONGEST_GUESS_S = 180.0
KEEP_S = 90.0
KEEP_MM = 0.4
KEPT_LOOKS = 15
LATEST_SHARE = 0.10


@dataclass(frozen=True, slots=True)
class Pixels:
    """One hole's samples of this frame."""

    profiles: Floats
    look: Floats
    shown: npt.NDArray[np.bool_]
    ring: Floats
    changed: float
    film: Film


def sample_hole(image: Image, plans: HolePlans, looks: HoleLooks, film: Film, shift: Array) -> Pixels:
    """Sample one hole and its ring."""
    ring = sample_ring(image, plans.ring, shift)
    inside = ring[plans.ring.inside]
    bgr = middle_of_columns(inside) if inside.size else np.full(3, 128.0)
    strip = straighten(image, pixels_at(plans.strip, film.mm, shift))
    profiles, shown = to_sectors(strip, plans.strip.seen)
    look = inside_look(profiles, bgr)
    if looks.rim is not None:
        luma = 0.114 * bgr[0] + 0.587 * bgr[1] + 0.299 * bgr[2]
        profiles = profiles - looks.rim * np.float32(0.01 * luma)
    changed = 0.0 if looks.ring is None else ring_change(ring, looks.ring, plans.ring)
    return Pixels(profiles, look, shown, ring, changed, film)


def look_into(
    image: Image,
    name: str,
    memory: MouldMemory,
    expected: Expected | None,
    card_there: bool,
    shift: Array,
    now_s: float,
) -> tuple[HoleSighting, MouldMemory]:
    """Read one mould whose place is known."""
    plans, looks = memory.plans[0], memory.looks[0]
    if memory.contents is Contents.SLIP:
        film = film_for(plans.strip, expected, memory.filled_s, memory.top_mm, now_s)
    else:
        film = no_film(plans.strip)
    seen = sample_hole(image, plans, looks, film, shift)
    in_way = seen.changed > HAND_SHARE
    before = memory.odd_since_s
    memory = replace(
        memory,
        odd_since_s=(memory.odd_since_s if memory.odd_since_s is not None else now_s) if in_way else None,
    )
    if in_way:
        return _blocked(name, memory, seen, card_there, shift, now_s)
    if not card_there and looks.last is not None and change(seen.look, looks.last, seen.shown) > CARD_COVERED:
        memory = replace(memory, odd_since_s=before if before is not None else now_s)
        return _blocked(name, memory, seen, card_there, shift, now_s)
    if memory.contents is Contents.AWAY:
        memory = _back_again(memory, seen)
        plans, looks = memory.plans[0], memory.looks[0]
    pace_now = pace(expected, memory.filled_s, now_s)
    memory = _notice_pour(memory, seen, now_s)
    stirred = memory.stirred_s is not None and now_s - memory.stirred_s <= STIRRED_S
    due = None
    if memory.level_mm is not None and memory.read_s is not None:
        due = memory.level_mm + pace_now * min(now_s - memory.read_s, LONGEST_GUESS_S)
    plans, line = _find(memory, seen, plans, due, stirred, now_s, pace_now)
    before_contents = memory.contents
    memory = _judge(memory, seen, line, expected, now_s)
    if memory.contents is Contents.SLIP and before_contents is not Contents.SLIP:
        film = film_for(plans.strip, expected, memory.filled_s, memory.top_mm, now_s)
        seen = sample_hole(image, plans, looks, film, shift)
        plans, line = _find(memory, seen, plans, None, True, now_s, pace_now)
        seen = replace(seen, shown=plans.strip.shown())
    if memory.contents is not Contents.SLIP:
        memory = replace(memory, plans=(plans, *memory.plans[1:]))
        return _sighting(name, memory, Missed.UNCERTAIN, shift), _note(memory, seen, line, now_s, None)
    passed = now_s - memory.clear_s if memory.clear_s is not None else 0.0
    held = memory.belief if memory.top_mm is not None else None
    belief = follow(held, line, plans.strip, plans.regions.possible, passed, pace_now, stirred, True)
    found = place_line(belief, seen.profiles[..., 0], plans.strip.shown(), plans.strip, film)
    if line.mark_mm is not None and memory.mark_mm is None and line.mark_mm < DEEPEST_MARK_MM:
        below = _below_mark(memory, seen, plans, line, now_s, pace_now)
        if below is not None:
            plans, line, mark_mm = below
            belief = follow(None, line, plans.strip, plans.regions.possible, passed, pace_now, stirred, True)
            found = place_line(belief, seen.profiles[..., 0], plans.strip.shown(), plans.strip, film)
            memory = replace(memory, mark_mm=mark_mm)
    memory = replace(memory, belief=belief, plans=(plans, *memory.plans[1:]))
    reading = _reading(found, belief.below, line, memory.top_mm is None)
    if isinstance(reading, LevelReading) and _stands_still(memory, reading, expected, now_s):
        lost = plans.strip.lost_below_mm()
        deep = lost is not None and reading.level_mm > DEEP_SHARE * lost
        reading = Missed.OUT_OF_SIGHT if deep else Missed.SKINNED
    level = reading.level_mm if isinstance(reading, LevelReading) else None
    if reading is Missed.UNCERTAIN:
        memory = replace(memory, mark_mm=None)
    memory = _note(memory, seen, line, now_s, level)
    return _sighting(name, memory, reading, shift), memory


def _below_mark(
    memory: MouldMemory, seen: Pixels, plans: HolePlans, first: Line, now_s: float, pace_now: float
) -> tuple[HolePlans, Line, float] | None:
    """Look below an edge at which the wall turns darker: bare plaster above clay, perhaps, not slip below it.

    Slip lies level and takes more light than the wall over it; where clay is dark, the top of what it touched
    is a far stronger edge than its surface. A second edge within reach below the first is then the slip's.
    """
    px = plans.strip.px_per_mm
    mark_mm = first.mark_mm
    higher = first.log_rows[plans.strip.depths_mm < (mark_mm or 0.0)]
    if mark_mm is None or (higher.size and float(higher.max()) > SECOND_GAIN):
        return None
    trial = fresh(plans, seen.film, mark_mm * px + GAP_PX)
    line = look_for_line(
        seen.profiles, trial.strip.shown(), seen.look, trial, memory.looks[0], now_s, pace_now, None
    )
    age_min = (now_s - memory.filled_s) / 60.0 if memory.filled_s is not None else 1.0
    depths = trial.strip.depths_mm
    reach = (depths >= mark_mm + (GAP_PX + 1.0) / px) & (
        depths <= mark_mm + 2.0 + 6.0 * max(age_min, 0.2) ** 0.5
    )
    rows = np.where(reach, line.log_rows, -np.inf)
    if not np.isfinite(rows).any() or float(rows.max()) < SECOND_GAIN:
        return None
    at = float(depths[int(np.argmax(rows))])
    placed = place(np.ascontiguousarray(seen.profiles[..., 0]), trial.strip.shown(), depths, px, at)
    if placed is None or not _well_placed(placed) or placed.step < 0.0:
        return None
    return trial, replace(line, log_rows=rows), mark_mm


def _stands_still(
    memory: MouldMemory, reading: LevelReading, expected: Expected | None, now_s: float
) -> bool:
    """Tell whether a line stays where it is though the bench knows that the slip must be sinking.

    A skin can hold the edge that is read, and an old mark stays when the slip is out of sight below it.
    """
    if expected is None or expected.speed_mm_per_s is None:
        return False
    for kept in memory.looks[0].past:
        if abs(kept.level_mm - reading.level_mm) < STILL_MM:
            return expected.speed_mm_per_s * (now_s - kept.taken_s) > STILL_SHARE * STILL_MM
    return False


def _well_placed(placed: Placed) -> bool:
    return placed.sigma_mm < WORST_PLACED_MM and placed.disagree_mm < WORST_DISAGREE_MM


def _reading(found: Found | None, below: float, line: Line, first: bool) -> LevelReading | Missed:
    if below > 0.5:
        return Missed.OUT_OF_SIGHT
    if (
        found is None
        or line.gain < LEAST_GAIN
        or found.confidence < LEAST_CONFIDENCE
        or not _well_placed(found.placed)
    ):
        return Missed.UNCERTAIN
    if first and (line.gain < FIRST_GAIN or found.placed.sigma_mm > FIRST_PLACED_MM):
        return Missed.UNCERTAIN
    return LevelReading(found.level_mm, found.sigma_mm, found.drift_sigma_mm, found.confidence)


def _blocked(
    name: str, memory: MouldMemory, seen: Pixels, card_there: bool, shift: Array, now_s: float
) -> tuple[HoleSighting, MouldMemory]:
    """Something covers the rim, or the mould is gone; a new look that stays becomes the look."""
    since = memory.odd_since_s if memory.odd_since_s is not None else now_s
    memory = replace(memory, stirred_s=now_s)
    if card_there and now_s - since >= ACCEPT_AFTER_S:
        looks = tuple(replace(k, ring=seen.ring) for k in memory.looks)
        memory = replace(memory, looks=looks, odd_since_s=None)
    elif not card_there and now_s - since >= AWAY_AFTER_S:
        memory = replace(memory, contents=Contents.AWAY)
    return _sighting(name, memory, Missed.HAND, shift, hand=True), memory


def _back_again(memory: MouldMemory, seen: Pixels) -> MouldMemory:
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
        clear_s=None,
        returned=True,
    )


def _find(
    memory: MouldMemory,
    seen: Pixels,
    plans: HolePlans,
    due: float | None,
    stirred: bool,
    now_s: float,
    pace_now: float,
) -> tuple[HolePlans, Line]:
    plans = fresh(plans, seen.film, start_px(memory, plans, due, stirred))
    shown = plans.strip.shown()
    return plans, look_for_line(seen.profiles, shown, seen.look, plans, memory.looks[0], now_s, pace_now, due)


def _notice_pour(memory: MouldMemory, seen: Pixels, now_s: float) -> MouldMemory:
    """Slip poured in changes the hole's look at once; a hand that only passed by leaves it as it was."""
    last = memory.looks[0].last
    if memory.contents is not Contents.SLIP or last is None:
        return memory
    changed = change(seen.look, last, seen.shown)
    if changed > POURED_CHANGE:
        return replace(memory, stirred_s=now_s)
    hidden_since = (
        memory.stirred_s is not None and memory.clear_s is not None and memory.stirred_s > memory.clear_s
    )
    passed_by = hidden_since and memory.top_mm is not None and changed < PASSED_CHANGE
    return replace(memory, stirred_s=None) if passed_by else memory


def _judge(
    memory: MouldMemory, seen: Pixels, line: Line, expected: Expected | None, now_s: float
) -> MouldMemory:
    """Follow what is in the hole: bare, or slip that was seen to come in."""
    looks = memory.looks[0]
    if memory.contents is Contents.SLIP:
        return memory
    if looks.empty is None:
        return _first_sight(memory, seen, line, expected, now_s)
    changed = change(seen.look, looks.empty, seen.shown)
    if changed > 0.3:
        memory = replace(memory, stirred_s=now_s)
    regions = memory.plans[0].regions
    if came_in(changed, _best(edge_gain(seen.look[..., 0] - looks.empty[..., 0], regions, 1.0))):
        since = memory.clear_s if memory.clear_s is not None else now_s
        filled = max(0.5 * (since + now_s), now_s - LONGEST_FILL_S)
        return replace(
            memory,
            contents=Contents.SLIP,
            filled_s=filled,
            belief=None,
            top_mm=None,
            mark_mm=None,
            level_mm=None,
            read_s=None,
            stirred_s=now_s,
        )
    return memory


def _best(edges: Edges) -> float:
    return max(float(edges.gain.max()), float(edges.darker.max()), 0.0)


def _first_sight(
    memory: MouldMemory, seen: Pixels, line: Line, expected: Expected | None, now_s: float
) -> MouldMemory:
    """Judge a hole without a reference: by what the bench knows, by whether it was away, by eye."""
    if expected is not None and expected.phase == "casting" and not memory.returned:
        since = expected.since_filled_s if expected.since_filled_s is not None else 0.0
        return replace(memory, contents=Contents.SLIP, filled_s=now_s - since)
    if memory.returned:
        return replace(memory, contents=Contents.EMPTY)
    judged = first_judgement(seen.look, seen.shown, line.gain)
    return replace(memory, contents=judged, filled_s=now_s if judged is Contents.SLIP else None)


def _note(memory: MouldMemory, seen: Pixels, line: Line, now_s: float, level_mm: float | None) -> MouldMemory:
    """Remember this clear look."""
    looks = memory.looks[0]
    ring = (
        seen.ring
        if looks.ring is None
        else np.asarray((1.0 - LATEST_SHARE) * looks.ring + LATEST_SHARE * seen.ring, dtype=np.float32)
    )
    looks = replace(looks, ring=ring, last=seen.look)
    if memory.contents is not Contents.SLIP and (
        looks.empty is None or change(seen.look, looks.empty, seen.shown) < 0.3
    ):
        strip = memory.plans[0].strip
        mark = rim_mark(seen.look, strip.px_per_mm * float(strip.depths_mm[1]))
        looks = replace(looks, empty=seen.look, rim=mark)
    if memory.contents is Contents.SLIP and level_mm is not None and _new_to_keep(looks, level_mm, now_s):
        luma = np.ascontiguousarray(seen.look[..., 0])
        looks = replace(looks, past=(*looks.past[-KEPT_LOOKS:], PastLook(now_s, level_mm, luma)))
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
    )


def _new_to_keep(looks: HoleLooks, level_mm: float, now_s: float) -> bool:
    """Keep looks that differ in level, or in time enough for the light to have changed."""
    if not looks.past:
        return True
    last = looks.past[-1]
    return abs(level_mm - last.level_mm) >= KEEP_MM or now_s - last.taken_s >= KEEP_S


def _sighting(
    name: str, memory: MouldMemory, reading: LevelReading | Missed, shift: Array, hand: bool = False
) -> HoleSighting:
    strip = memory.plans[0].strip
    line = ()
    if isinstance(reading, LevelReading):
        line = strip.line_rc(reading.level_mm - MENISCUS_MM, shift)
    lost = strip.lost_below_mm()
    return HoleSighting(
        name, reading, memory.contents, hand, memory.placement, lost, strip.rim_rc(shift), line
    )
