"""How far earlier casts of a mould had sunk when they were tipped."""

from __future__ import annotations

from watcher.desk.memory import BenchMemory
from watcher.page.moments import iso
from watcher.page.port import BenchPort
from watcher.page.shapes_review import TipShape
from watcher.records.kept import KeptCast

LAST_TIPS = 3
COURSE_POINTS = 24


def last_tips(port: BenchPort, memory: BenchMemory, mould: str) -> list[TipShape]:
    """Return how far the casts before the present one had sunk at their tips."""
    state = port.bench().moulds.get(mould)
    here = state.cast.cast_id if state is not None and state.cast is not None else ""
    tips: list[TipShape] = []
    for cast in memory.newest(mould, LAST_TIPS + 2):
        drop = cast.drop_mm
        if cast.cast_id == here or cast.tipped_at is None or drop is None or len(tips) == LAST_TIPS:
            continue
        tips.append(
            {
                "cast": cast.cast_id,
                "tipped_at": iso(cast.tipped_at),
                "drop_mm": round(drop[0], 2),
                "sigma_mm": round(drop[1], 2),
                "verdict": cast.verdict,
                "course": _course(cast),
            }
        )
    return tips


def _course(cast: KeptCast) -> list[tuple[float, float]]:
    """Return how a cast sank: minutes since it was full, and mm; what top-ups lifted is added up."""
    course: list[tuple[float, float]] = []
    full_s, sunk = cast.fillings[0].latest_s, 0.0
    for filling in cast.fillings:
        if not filling.readings:
            continue
        first = filling.readings[0].level_mm
        course += [
            (round((one.at_s - full_s) / 60.0, 2), round(sunk + one.level_mm - first, 3))
            for one in filling.readings
        ]
        sunk += filling.readings[-1].level_mm - first
    step = max(len(course) // COURSE_POINTS, 1)
    return course[::step]
