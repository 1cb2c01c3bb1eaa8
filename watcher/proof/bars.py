"""The bars: what is judged, how good it must be, and whether it is."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from watcher.proof.cast_score import CastFigures, middle, worst
from watcher.proof.level_score import LevelFigures


@dataclass(frozen=True, slots=True)
class Scored:
    """What one recording came to. `levels` None: it has no pictures, its levels were given."""

    name: str
    levels: LevelFigures | None
    casts: CastFigures


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar.

    Attributes
    ----------
    name : str
        Short, for the machine-readable summary.
    what : str
        For people.
    unit : str
        "mm", "%" (figures are shares), "" for counts.
    must, reach : tuple of float
        Lowest and highest allowed: what must be, and what is reached for.
    of : callable
        Gives the figure of one recording; None: nothing to judge there.
    """

    name: str
    what: str
    unit: str
    must: tuple[float, float]
    reach: tuple[float, float]
    of: Callable[[Scored], float | None]


@dataclass(frozen=True, slots=True)
class Judged:
    """One bar with what was found. `found` is the worst of all recordings; None: nothing to judge.

    `each` holds every recording's own figure.
    """

    bar: Bar
    found: float | None
    each: tuple[tuple[str, float | None], ...]

    @property
    def verdict(self) -> str:
        """Say how it stands: `reached`, `kept`, `missed` or `not judged`."""
        return verdict(self.found, self.bar.must, self.bar.reach)


def verdict(found: float | None, must: tuple[float, float], reach: tuple[float, float]) -> str:
    """Say how a figure stands against its bar."""
    if found is None or math.isnan(found):
        return "not judged"
    if reach[0] <= found <= reach[1]:
        return "reached"
    return "kept" if must[0] <= found <= must[1] else "missed"


def judged(scored: Sequence[Scored]) -> tuple[Judged, ...]:
    """Judge every bar that must hold on each recording."""
    return tuple(_judged(bar, scored) for bar in BARS)


def _judged(bar: Bar, scored: Sequence[Scored]) -> Judged:
    each = tuple((one.name, bar.of(one)) for one in scored)
    known = [figure for _, figure in each if figure is not None]
    pick = min if bar.must[1] == math.inf else max
    return Judged(bar, pick(known) if known else None, each)


def pooled_votes(scored: Sequence[Scored]) -> tuple[int, int, int, int]:
    """Votes of the 80 % ranges over all casts: walls that held, walls in all, moments that held, in all."""
    outcomes = [outcome for one in scored for outcome in one.casts.outcomes]
    walls = [vote.held for outcome in outcomes for vote in outcome.wall_votes]
    moments = [vote.held for outcome in outcomes for vote in outcome.ready_votes]
    return sum(walls), len(walls), sum(moments), len(moments)


def _level(pick: Callable[[LevelFigures], float | None]) -> Callable[[Scored], float | None]:
    return lambda one: None if one.levels is None else pick(one.levels)


def _most(must: float, reach: float) -> tuple[tuple[float, float], tuple[float, float]]:
    return (-math.inf, must), (-math.inf, reach)


def _least(must: float, reach: float) -> tuple[tuple[float, float], tuple[float, float]]:
    return (must, math.inf), (reach, math.inf)


BARS = (
    Bar("level_rms_mm", "level, RMS error where it can be seen", "mm", *_most(0.5, 0.25),
        _level(lambda f: f.rms_mm)),
    Bar("drop_rms_mm", "drop since full, RMS error", "mm", *_most(0.25, 0.12),
        _level(lambda f: f.drop_rms_mm)),
    Bar("gross_share", "readings off by more than 2 mm", "%", *_most(0.01, 0.002),
        _level(lambda f: f.gross_share)),
    Bar("read_share", "levels read of those that can be seen", "%", *_least(0.95, 0.99),
        _level(lambda f: f.read_share)),
    Bar("false_seen", "levels given where nothing can be seen", "", *_most(0, 0),
        _level(lambda f: f.false_seen)),
    Bar("wall_median_mm", "wall at the true moment, median error", "mm", *_most(0.12, 0.06),
        lambda one: middle(one.casts.wall_errors_mm())),
    Bar("wall_worst_mm", "wall at the true moment, worst error", "mm", *_most(0.25, 0.15),
        lambda one: worst(one.casts.wall_errors_mm())),
    Bar("call_median", "`ready` off by, share of the cast's time, median", "%", *_most(0.05, 0.025),
        lambda one: middle(one.casts.call_errors())),
    Bar("call_worst", "`ready` off by, worst (within a minute counts 0)", "%", *_most(0.15, 0.08),
        lambda one: worst(one.casts.call_errors_beyond_a_minute())),
    Bar("half_median", "foretold at half time, median error", "%", *_most(0.08, 0.05),
        lambda one: middle(one.casts.half_errors())),
    Bar("half_worst", "foretold at half time, worst error", "%", *_most(0.25, 0.12),
        lambda one: worst(one.casts.half_errors())),
    Bar("ready_missed", "`ready` never called", "", *_most(0, 0), lambda one: one.casts.missed),
    Bar("ready_false", "`ready` called falsely", "", *_most(0, 0), lambda one: one.casts.false),
)  # fmt: skip
"""Those that must hold on every recording."""

RANGES_MUST, RANGES_REACH = (0.70, 0.92), (0.76, 0.86)
"""Share of the 80 % ranges that hold the truth, pooled over all casts."""

LOOK_MUST, LOOK_REACH = (0.0, 1.5), (0.0, 0.8)
"""Full look at a frame with six moulds at rest, in times that decoding the same JPEG takes."""
