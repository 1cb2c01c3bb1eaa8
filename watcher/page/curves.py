"""The curve of a cast: level and wall with their bands at a few dozen moments, from fill to past the tip."""

from __future__ import annotations

import threading
from typing import Protocol

from models.fit import CannotFit
from models.ranged import Ranged
from watcher.page.forecasts import ready_range
from watcher.page.moments import at_second, iso
from watcher.page.shapes import CurvePoint, CurveShape, CurvesShape
from watcher.page.views import curve_key, figure
from watcher.records.bench import Bench, Cast, MouldState, Stage

MOMENTS = 40
"""Enough for a smooth line on a phone, few enough that a curve costs the bench some milliseconds."""

PAST_THE_TIP = 1.12
"""The curve runs so much longer than from the fill to the late end of the tip's range."""

SHORTEST_S = 600.0


class _Moment(Protocol):
    @property
    def level_mm(self) -> Ranged: ...
    @property
    def wall_mm(self) -> Ranged: ...


class Foreseeing(Protocol):
    """What the curve needs of a fit."""

    def at(self, time_s: float) -> _Moment:
        """Level and wall at a moment, past or to come, with ranges."""
        ...


class CurveShelf:
    """Keeps each mould's newest curve until its cast has another fit."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: dict[str, tuple[object, CurveShape]] = {}

    def of(self, bench: Bench, name: str, *, newest: bool = True) -> CurveShape:
        """Return the curve of one mould; `newest` False: an earlier one of the same cast will do."""
        state = bench.moulds.get(name)
        cast = state.cast if state else None
        fit = cast.fit if cast else None
        with self._lock:
            kept = self._kept.get(name)
        if kept is not None and fit is not None:
            same_cast = cast is not None and kept[1]["curve"].startswith(f"{cast.cast_id}/")
            if kept[0] is fit or (same_cast and not newest):
                return kept[1]
        curve = cast_curve(bench, name, cast)
        with self._lock:
            self._kept[name] = (fit, curve)
        return curve

    def all(self, bench: Bench, *, newest: bool = True) -> CurvesShape:
        """Return the curves of all moulds under cast."""
        return {
            "curves": {
                name: self.of(bench, name, newest=newest)
                for name, state in bench.moulds.items()
                if _casting(state)
            }
        }


def cast_curve(bench: Bench, name: str, cast: Cast | None) -> CurveShape:
    """Return the curve of a cast as plain numbers, or the reason why there is none."""
    target = bench.layout.mould(name).profile.target_wall_mm
    curve: CurveShape = {
        "curve": curve_key(cast),
        "now": iso(bench.now_at) if bench.now_at is not None else None,
        "target_mm": target[0] if target else None,
        "points": [],
        "why": "",
    }
    if cast is None or not cast.fillings:
        curve["why"] = "nothing has been poured yet"
    elif cast.fit is None or isinstance(cast.fit, CannotFit):
        curve["why"] = cast.fit.why if cast.fit else "too few readings yet"
    else:
        curve["points"] = [_point(bench, cast.fit, moment) for moment in _moments(bench, cast)]
    return curve


def _moments(bench: Bench, cast: Cast) -> list[float]:
    begin = cast.fillings[0].latest_s
    ready = ready_range(cast)
    until = cast.tipped_s if cast.tipped_s is not None else bench.now_s
    if ready is not None and cast.tipped_s is None:
        # A range that is still very wide must not squeeze the rest of the curve into a corner.
        until = max(until, ready.value, min(ready.high, begin + 2.0 * (ready.value - begin)))
    # A cast that is over ends with its tip.
    longer = PAST_THE_TIP if cast.tipped_s is None else 1.0
    span_s = max((until - begin) * longer, SHORTEST_S if cast.tipped_s is None else 1.0)
    # Closer together at the start, where the wall grows fastest.
    moments = {begin + span_s * (i / (MOMENTS - 1)) ** 1.6 for i in range(MOMENTS)}
    # The level jumps at a top-up: a moment just before and just after keeps the step upright.
    for filling in cast.fillings[1:]:
        full_s = 0.5 * (filling.earliest_s + filling.latest_s)
        moments |= {full_s - 0.5, full_s + 0.5}
    return sorted(moment for moment in moments if moment >= begin)


def _point(bench: Bench, fit: Foreseeing, moment_s: float) -> CurvePoint:
    state = fit.at(moment_s)
    level, wall = state.level_mm, state.wall_mm
    return {
        "at": at_second(bench, moment_s),
        "level_mm": figure(level.value, 3),
        "level_low_mm": figure(level.low, 3),
        "level_high_mm": figure(level.high, 3),
        "wall_mm": figure(wall.value, 3),
        "wall_low_mm": figure(wall.low, 3),
        "wall_high_mm": figure(wall.high, 3),
    }


def _casting(state: MouldState) -> bool:
    return state.stage is Stage.CASTING
