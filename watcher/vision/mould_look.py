"""One mould in one frame: is it there, is anything in the way, what is in it, where is the line."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from watcher.records.frames import Image
from watcher.records.readings import Contents, Expected, HoleSighting, LevelReading, Missed
from watcher.vision.contents import LUMA_STEP, change, first_judgement, inside_look, low_look, rim_mark
from watcher.vision.gate import ring_change, ring_light, sample_ring
from watcher.vision.level import (
    LEAST_CONFIDENCE,
    LEAST_GAIN,
    Film,
    Found,
    Line,
    film_for,
    follow,
    look_for_line,
    pace,
    place_line,
)
from watcher.vision.memory import HoleLooks, HolePlans, MouldMemory
from watcher.vision.strip import pixels_at, straighten, to_sectors

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]

HAND_SHARE = 0.22
AWAY_AFTER_S = 45.0
ACCEPT_AFTER_S = 80.0
STIRRED_S = 75.0
CARD_COVERED = 0.6
"""Without its card a mould must look as before: more change than this and it is taken to be gone."""
KEEP_S = 20.0
KEPT_S = 900.0
LATEST_SHARE = 0.10


@dataclass(frozen=True, slots=True)
class Pixels:
    """One hole's samples of this frame."""

    profiles: Floats
    look: Floats
    shown: npt.NDArray[np.bool_]
    ring: Floats
    changed: float
    light: float
    film: Film


def sample_hole(image: Image, plans: HolePlans, looks: HoleLooks, film: Film, shift: Array) -> Pixels:
    """Sample one hole and its ring."""
    ring = sample_ring(image, plans.ring, shift)
    inside = ring[plans.ring.inside]
    bgr = np.median(inside, axis=0).astype(np.float64) if inside.size else np.full(3, 128.0)
    strip = straighten(image, pixels_at(plans.strip, film.mm, shift))
    profiles, shown = to_sectors(strip, plans.strip.seen)
    look = inside_look(profiles, bgr)
    if looks.rim is not None:
        luma = 0.114 * bgr[0] + 0.587 * bgr[1] + 0.299 * bgr[2]
        profiles = profiles - looks.rim * np.float32(0.01 * luma)
    changed = 0.0 if looks.ring is None else ring_change(ring, looks.ring, plans.ring)[0]
    return Pixels(profiles, look, shown, ring, changed, ring_light(ring, plans.ring), film)


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
    film = film_for(plans.strip, expected, memory.filled_s, now_s)
    seen = sample_hole(image, plans, looks, film, shift)
    in_way = seen.changed > HAND_SHARE
    before = memory.odd_since_s
    memory = replace(
        memory,
        odd_since_s=(memory.odd_since_s if memory.odd_since_s is not None else now_s) if in_way else None,
    )
    if in_way:
        return _blocked(name, memory, seen, card_there, now_s)
    if not card_there and looks.last is not None and change(seen.look, looks.last, seen.shown) > CARD_COVERED:
        memory = replace(memory, odd_since_s=before if before is not None else now_s)
        return _blocked(name, memory, seen, card_there, now_s)
    if memory.contents is Contents.AWAY:
        memory = _start_again(memory)
        looks = memory.looks[0]
    pace_now = pace(expected, memory.filled_s, now_s)
    line = look_for_line(seen.profiles, seen.shown, plans, looks, now_s, pace_now)
    memory = _judge(memory, seen, line, now_s)
    if memory.contents is not Contents.SLIP:
        return _sighting(name, memory, Missed.UNCERTAIN, now_s), _note(memory, seen, line, now_s, None)
    passed = now_s - memory.clear_s if memory.clear_s is not None else 0.0
    stirred = memory.stirred_s is not None and now_s - memory.stirred_s <= STIRRED_S
    belief = follow(memory.belief, line, plans.strip, plans.regions.possible, passed, pace_now, stirred, True)
    found = place_line(belief, line, plans.strip, film)
    memory = replace(memory, belief=belief)
    reading = _reading(found, belief.below, line)
    level = reading.level_mm if isinstance(reading, LevelReading) else None
    memory = _note(memory, seen, line, now_s, level)
    return _sighting(name, memory, reading, now_s), memory


def _reading(found: Found | None, below: float, line: Line) -> LevelReading | Missed:
    if below > 0.5:
        return Missed.OUT_OF_SIGHT
    if found is None or line.gain < LEAST_GAIN or found.confidence < LEAST_CONFIDENCE:
        return Missed.UNCERTAIN
    return LevelReading(found.level_mm, found.sigma_mm, found.drift_sigma_mm, found.confidence)


def _blocked(
    name: str, memory: MouldMemory, seen: Pixels, card_there: bool, now_s: float
) -> tuple[HoleSighting, MouldMemory]:
    """Something covers the rim, or the mould is gone; a new look that stays becomes the look."""
    since = memory.odd_since_s if memory.odd_since_s is not None else now_s
    memory = replace(memory, stirred_s=now_s)
    if card_there and now_s - since >= ACCEPT_AFTER_S:
        looks = tuple(replace(k, ring=seen.ring) for k in memory.looks)
        memory = replace(memory, looks=looks, odd_since_s=None)
    elif not card_there and now_s - since >= AWAY_AFTER_S:
        memory = replace(memory, contents=Contents.AWAY)
    return _sighting(name, memory, Missed.HAND, now_s, hand=True), memory


def _start_again(memory: MouldMemory) -> MouldMemory:
    return replace(
        memory,
        looks=tuple(HoleLooks() for _ in memory.looks),
        contents=Contents.UNKNOWN,
        belief=None,
        filled_s=None,
        level_mm=None,
        clear_s=None,
    )


def _judge(memory: MouldMemory, seen: Pixels, line: Line, now_s: float) -> MouldMemory:
    """Follow what is in the hole: bare, or slip that was seen to come in."""
    looks = memory.looks[0]
    if memory.contents is Contents.UNKNOWN:
        judged = first_judgement(seen.look, seen.shown, line.gain)
        filled = now_s if judged is Contents.SLIP else None
        return replace(memory, contents=judged, filled_s=filled)
    if memory.contents is Contents.EMPTY and looks.empty is not None:
        moved = change(seen.look, looks.empty, seen.shown)
        low = low_look(seen.look, seen.shown)
        if moved > 0.3 and memory.stirred_s != now_s:
            memory = replace(memory, stirred_s=now_s)
        if moved > 1.0 and low is not None and line.gain > LEAST_GAIN:
            before = low_look(looks.empty, seen.shown)
            rise = low[0] - before[0] if before is not None else 0.0
            if rise > LUMA_STEP or float(np.hypot(low[1], low[2])) > 2.0 * CHROMA_SURE:
                return replace(
                    memory, contents=Contents.SLIP, filled_s=now_s - 15.0, belief=None, stirred_s=now_s
                )
    return memory


CHROMA_SURE = 8.0


def _note(memory: MouldMemory, seen: Pixels, line: Line, now_s: float, level_mm: float | None) -> MouldMemory:
    """Remember this clear look."""
    looks = memory.looks[0]
    ring = (
        seen.ring
        if looks.ring is None
        else np.asarray((1.0 - LATEST_SHARE) * looks.ring + LATEST_SHARE * seen.ring, dtype=np.float32)
    )
    looks = replace(looks, ring=ring, last=seen.look)
    if memory.contents is Contents.EMPTY and (
        looks.empty is None or change(seen.look, looks.empty, seen.shown) < 0.3
    ):
        strip = memory.plans[0].strip
        mark = rim_mark(seen.look, strip.px_per_mm * float(strip.depths_mm[1]))
        looks = replace(looks, empty=seen.look, empty_edges=line.responses, rim=mark)
    if memory.contents is Contents.SLIP:
        edges = looks.edges
        if not edges or now_s - edges[-1][0] >= KEEP_S:
            kept = tuple(e for e in edges if now_s - e[0] <= KEPT_S)[-24:]
            edges = (*kept, (now_s, line.responses))
        looks = replace(looks, edges=edges)
    return replace(memory, looks=(looks, *memory.looks[1:]), clear_s=now_s, level_mm=level_mm)


def _sighting(
    name: str, memory: MouldMemory, reading: LevelReading | Missed, now_s: float, hand: bool = False
) -> HoleSighting:
    lost = memory.plans[0].strip.lost_below_mm() if memory.plans else None
    return HoleSighting(name, reading, memory.contents, hand, memory.placement, lost)
