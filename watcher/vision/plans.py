"""What is worked out once per pose, kept fresh as the film grows and the line leaves the fill mark behind."""

from __future__ import annotations

import numpy as np

from watcher.vision.film import Film
from watcher.vision.gate import RingPlan
from watcher.vision.level import MENISCUS_MM
from watcher.vision.likelihood import GAP_PX, plan_regions
from watcher.vision.memory import HolePlans, MouldMemory
from watcher.vision.strip import KNOWN_RIM_PX, RIM_PX, StripPlan, with_film

FILM_STALE_MM = 0.7
CLEAR_OF_MARK_PX = 4.0
"""Once the line stands this far below the filling's highest mark, the mark is left out of the picture."""


def plans_with(strip: StripPlan, ring: RingPlan) -> HolePlans:
    """Complete a strip's plan."""
    px_row = strip.px_per_mm * float(strip.depths_mm[1] - strip.depths_mm[0])
    return HolePlans(strip, plan_regions(strip.depths_mm, strip.shown(), px_row), ring)


def fresh(held: HolePlans, film: Film, start_px: float) -> HolePlans:
    """Return the plans for this film, rows from `start_px` below the rim; the same where nothing changed."""
    grown = float(np.abs(film.mm - held.strip.film_mm).max()) > FILM_STALE_MM
    if not grown and abs(start_px - held.strip.rim_px) < 0.5:
        return held
    return plans_with(with_film(held.strip, film.mm, start_px), held.ring)


def start_px(memory: MouldMemory, held: HolePlans, due_mm: float | None, stirred: bool) -> float:
    """How far below the rim the slip's line can begin to be looked for, in px.

    Above the highest level of a filling the plaster is bare, below it there is clay: that mark stands still
    and can be stronger than the line. It is left out as soon as the line must be clear of it, unless slip may
    have been poured in since.
    """
    rim = RIM_PX if memory.looks[0].rim is None else KNOWN_RIM_PX
    px = held.strip.px_per_mm
    if memory.mark_mm is not None and not stirred:
        rim = max(rim, memory.mark_mm * px + GAP_PX)
    if memory.top_mm is None or due_mm is None or stirred:
        return rim
    if (due_mm - memory.top_mm) * px < CLEAR_OF_MARK_PX:
        return rim
    return max(rim, (memory.top_mm - MENISCUS_MM) * px + GAP_PX)
