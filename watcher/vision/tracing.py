"""The line in one frame: looked for, told from the mark above it, and trusted or not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from watcher.records.readings import Expected, LevelReading, Missed
from watcher.vision.level import LEAST_CONFIDENCE, LEAST_GAIN, Found, Line, look_for_line
from watcher.vision.likelihood import GAP_PX
from watcher.vision.memory import HolePlans, MouldMemory
from watcher.vision.placing import Placed, place
from watcher.vision.plans import fresh, start_px
from watcher.vision.sampling import Pixels
from watcher.vision.wall import Wall

FIRST_GAIN = 18.0
FIRST_PLACED_MM = 0.55
"""The first level of a filling must be plainer than the later ones: all that follow are drops from it."""
STILL_MM = 0.4
STILL_LEAST_S = 90.0
STILL_SHARE = 4.0
YOUNG_S, STUCK_S, STUCK_MM = 480.0, 140.0, 0.3
"""A line that has not sunk so far in so long, early in a cast, is not the slip's: even slow
plaster under a wide hole sinks it by more (0.4 mm at 0.5 mm2/min, twice the hole's area, f of 0.35)."""
DEEP_SHARE = 0.7
SECOND_GAIN = 18.0
MARK_LEFT_S, MARK_STEP = 75.0, -12.0
WORST_PLACED_MM = 0.7
WORST_DISAGREE_MM = 1.1


def find_line(
    memory: MouldMemory,
    seen: Pixels,
    plans: HolePlans,
    due: float | None,
    stirred: bool,
    now_s: float,
    pace_now: float,
) -> tuple[HolePlans, Line]:
    """Bring the plans up to date and score the rows of this frame."""
    plans = fresh(plans, seen.film, start_px(memory, plans, due, stirred))
    shown = plans.strip.shown()
    return plans, look_for_line(seen.profiles, shown, seen.look, plans, memory.looks[0], now_s, pace_now, due)


def below_mark(
    memory: MouldMemory,
    seen: Pixels,
    wall: Wall,
    plans: HolePlans,
    first: Line,
    now_s: float,
    pace_now: float,
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
    lower = replace(wall, plan=trial.strip)
    clay = float(np.interp(at, depths, seen.film.mm))
    placed = place(lower.rows(clay, at), lower.sectors(at), at, memory.looks[0].rim_mm)
    if placed is None or not well_placed(placed) or placed.step < 0.0:
        return None
    return trial, replace(line, log_rows=rows), mark_mm


def trusted(found: Found | None, below: float, line: Line, first: bool) -> LevelReading | Missed:
    """Return the level, or why what was found does not earn trust."""
    if below > 0.5:
        return Missed.OUT_OF_SIGHT
    if (
        found is None
        or line.gain < LEAST_GAIN
        or found.confidence < LEAST_CONFIDENCE
        or not well_placed(found.placed)
    ):
        return Missed.UNCERTAIN
    if first and (line.gain < FIRST_GAIN or found.placed.sigma_mm > FIRST_PLACED_MM):
        return Missed.UNCERTAIN
    return LevelReading(
        found.level_mm,
        found.sigma_mm,
        found.drift_sigma_mm,
        found.confidence,
        found.clay_mm,
        found.mm_per_clay_mm,
        found.rim_share,
    )


def stands_still(memory: MouldMemory, reading: LevelReading, expected: Expected | None, now_s: float) -> bool:
    """Tell whether a line stays where it is though the bench knows that the slip must be sinking.

    A skin can hold the edge that is read, and an old mark stays when the slip is out of sight below it. In
    the first minutes every plaster drinks: a line that does not move then is the mark of the fill.
    """
    if (
        is_young(memory, now_s)
        and memory.still_since_s is not None
        and now_s - memory.still_since_s >= STUCK_S
    ):
        return True
    if expected is None or expected.speed_mm_per_s is None:
        return False
    for kept in memory.looks[0].past:
        still_s = now_s - kept.taken_s
        if abs(kept.level_mm - reading.level_mm) < STILL_MM and still_s >= STILL_LEAST_S:
            return expected.speed_mm_per_s * still_s > STILL_SHARE * STILL_MM
    return False


def is_old_mark(memory: MouldMemory, found: Found, now_s: float) -> bool:
    """Tell the top of dark clay on bare plaster, which the slip has left, from the slip's own edge.

    Until the slip has sunk they are one. Later the wall above the slip is clay as well, and what turns much
    darker downwards is where that clay begins.
    """
    if memory.filled_s is None or now_s - memory.filled_s < MARK_LEFT_S:
        return False
    return found.placed.step < MARK_STEP and found.placed.sigma_mm < WORST_PLACED_MM


def with_anchor(memory: MouldMemory, reading: LevelReading, now_s: float) -> MouldMemory:
    """Remember since when the level has not sunk."""
    if memory.still_mm is not None and reading.level_mm < memory.still_mm + STUCK_MM:
        return memory
    return replace(memory, still_mm=reading.level_mm, still_since_s=now_s)


def is_young(memory: MouldMemory, now_s: float) -> bool:
    """Tell whether slip came in so lately that it must be sinking."""
    return memory.filled_s is not None and now_s - memory.filled_s < YOUNG_S


def well_placed(placed: Placed) -> bool:
    """Tell whether the sectors agree on a sharp line."""
    return placed.sigma_mm < WORST_PLACED_MM and placed.disagree_mm < WORST_DISAGREE_MM
