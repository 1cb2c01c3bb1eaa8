"""The line in one frame: looked for, told from the mark above it, and trusted or not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from watcher.records.readings import LevelReading, Missed
from watcher.vision.level import LEAST_CONFIDENCE, LEAST_GAIN, Found, Line, look_for_line
from watcher.vision.likelihood import GAP_PX
from watcher.vision.memory import HolePlans, MouldMemory
from watcher.vision.placing import Placed, place
from watcher.vision.plans import fresh, start_px
from watcher.vision.sampling import Pixels
from watcher.vision.wall import Wall

FIRST_GAIN = 18.0
FIRST_PLACED_MM = 0.55
FAINT_STEP = -12.0
"""The first level of a filling must be plainer than the later ones: all that follow are drops from it. Slip
that is a little darker than the wall above it is more likely the rim's shade."""
SECOND_GAIN = 18.0
LEAST_AS_FORECAST, AS_FORECAST_MM, SHARP_MM = 0.5, 0.6, 0.25
WORST_PLACED_MM = 0.7
LEAST_STEP = 1.0
"""A step of less than one profile value's noise is no line."""
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


def trusted(
    found: Found | None,
    below: float,
    line: Line,
    first: bool,
    forecast: tuple[float, float] | None = None,
) -> LevelReading | Missed:
    """Return the level, or why what was found does not earn trust.

    `forecast` is where the bench expects it, with its spread: a line just there needs less confidence.
    """
    if below > 0.5:
        return Missed.OUT_OF_SIGHT
    if (
        found is None
        or line.gain < LEAST_GAIN
        or found.confidence < (LEAST_AS_FORECAST if _as_forecast(found, forecast) else LEAST_CONFIDENCE)
        or not well_placed(found.placed)
        or abs(found.placed.step) < LEAST_STEP * line.noise
    ):
        return Missed.UNCERTAIN
    faint = FAINT_STEP < found.placed.step < 0.0
    if first and (faint or line.gain < FIRST_GAIN or found.placed.sigma_mm > FIRST_PLACED_MM):
        return Missed.UNCERTAIN
    return LevelReading(
        found.level_mm,
        found.sigma_mm,
        found.drift_sigma_mm,
        found.confidence,
        found.clay_mm,
        found.mm_per_clay_mm,
        found.rim_share,
        found.clay_sigma_mm,
    )


def well_placed(placed: Placed) -> bool:
    """Tell whether the sectors agree on a sharp line."""
    return placed.sigma_mm < WORST_PLACED_MM and placed.disagree_mm < WORST_DISAGREE_MM


def _as_forecast(found: Found, forecast: tuple[float, float] | None) -> bool:
    """Tell a sharp line that lies where the bench expects the level, and expects it surely."""
    if forecast is None or found.placed.sigma_mm > SHARP_MM:
        return False
    level_mm, sigma_mm = forecast
    return sigma_mm < AS_FORECAST_MM and abs(found.level_mm - level_mm) < AS_FORECAST_MM
