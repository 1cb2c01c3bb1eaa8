"""Clay on the wall of one pour hole: how thick, and how surely."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from watcher.records.readings import Expected
from watcher.vision.strip import StripPlan

Array = npt.NDArray[np.float64]

PRIOR_GROWTH_MM2_PER_MIN = 1.0
"""Growth of the cake where no model tells: the middle of what studios report (0.5 to 5.3)."""
PRIOR_FILM_SHARE = 0.3
YOUNG_S = 120.0
YOUNG_SHARE = 0.7
"""In the first minutes a fit to one or two levels can say no cake at all; plaster is never that slow."""
MODEL_FILM_SHARE = 0.02
MODEL_FILM_MM = 0.03
TOP_FROM_MM = 0.9
TOP_RAMP_MM = 0.4
USUAL_TOP_MM = 2.0
"""Where a mould is usually filled to below its rim (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Film:
    """Horizontal clay on the wall (J,) and the spread of the whole of it, in mm."""

    mm: Array
    sigma_mm: float


def film_for(
    plan: StripPlan, expected: Expected | None, filled_s: float | None, top_mm: float | None, now_s: float
) -> Film:
    """Clay on the wall: what the volume balance says, else what plaster usually draws."""
    age_s = max(now_s - filled_s, 0.0) if filled_s is not None else 0.0
    prior_mm = math.sqrt(PRIOR_GROWTH_MM2_PER_MIN * age_s / 60.0)
    if expected is not None and expected.cake_mm:
        cake = np.interp(plan.depths_mm, expected.cake_depths_mm, expected.cake_mm)
        if age_s < YOUNG_S:
            cake = np.maximum(cake, YOUNG_SHARE * prior_mm)
        typical = float(np.max(cake))
        sigma = math.hypot(MODEL_FILM_MM + MODEL_FILM_SHARE * typical, expected.cake_sigma_mm)
        return Film(_below_top(cake * plan.lean, plan, top_mm), sigma)
    if filled_s is None:
        return Film(np.zeros(plan.depths_mm.size), 1.0)
    return Film(_below_top(prior_mm * plan.lean, plan, top_mm), 0.1 + PRIOR_FILM_SHARE * prior_mm)


def no_film(plan: StripPlan) -> Film:
    """Return the film of a bare wall: none."""
    return Film(np.zeros(plan.depths_mm.size), 0.1)


def _below_top(film_mm: Array, plan: StripPlan, top_mm: float | None) -> Array:
    """Let the cake begin gently where the slip first stood: a step would be an edge that is not there."""
    top_mm = USUAL_TOP_MM if top_mm is None else top_mm
    return np.asarray(film_mm * np.clip((plan.depths_mm - top_mm + TOP_FROM_MM) / TOP_RAMP_MM, 0.0, 1.0))
