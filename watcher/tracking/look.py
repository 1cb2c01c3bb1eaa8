"""One hole at one moment, and how a contradiction earns belief."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import datetime

from watcher.records.bench import BenchEvent, MouldState, Reading
from watcher.records.readings import HoleSighting, LevelReading

SECOND_LOOK_S = 4.0
"""A contradiction must stand this long, at another look, before it is believed: longer than a passing hand,
shorter than any tip. [s]"""


@dataclass(frozen=True, slots=True)
class Look:
    """One hole at one moment, with what the bench forecast for it."""

    hole: HoleSighting
    at_s: float
    at: datetime
    bench_id: str
    forecast_mm: float | None = None
    forecast_sigma_mm: float | None = None

    @property
    def reading(self) -> Reading | None:
        """The level as it would enter a series; None when it was not read."""
        level = self.hole.reading
        if isinstance(level, LevelReading):
            return Reading(
                self.at_s,
                level.level_mm,
                _without_clay(level),
                level.drift_sigma_mm,
                self.hole.placement,
                level.clay_mm,
                level.mm_per_clay_mm,
                level.rim_share,
            )
        return None

    @property
    def deep(self) -> bool:
        """The level is forecast too deep to be seen from here: an empty look then proves nothing."""
        lost = self.hole.lost_below_mm
        return self.forecast_mm is not None and lost is not None and self.forecast_mm > lost - 1.0

    def event(self, name: str, detail: str = "") -> BenchEvent:
        """Something that happened to this mould at this moment."""
        return BenchEvent(self.hole.mould, name, self.at_s, self.at, detail)


def _without_clay(level: LevelReading) -> float:
    """Give a level's spread less its clay's part: the fit puts a ring of its own in that clay's place."""
    of_clay = level.mm_per_clay_mm * level.clay_sigma_mm
    return math.sqrt(max(level.sigma_mm**2 - of_clay**2, level.drift_sigma_mm**2))


Followed = tuple[MouldState, tuple[BenchEvent, ...]]


def doubted(state: MouldState, look: Look) -> tuple[MouldState, bool]:
    """Note that what is seen contradicts the stage; tell whether it has stood long enough to be believed."""
    contents = look.hole.contents
    if state.doubt is None or state.doubt_since_s is None:
        return replace(state, doubt=contents, doubt_since_s=look.at_s), False
    return replace(state, doubt=contents), look.at_s - state.doubt_since_s >= SECOND_LOOK_S
