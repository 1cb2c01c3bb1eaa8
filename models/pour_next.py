"""The simple answer: which mould to pour next, and in how many minutes."""

from __future__ import annotations

from dataclasses import dataclass

from models.plan_hands import GRID_MIN, HandsDay, Part, cast_parts, to_grid
from models.plan_jobs import PlanAsk, RunningCast, check_ask


@dataclass(frozen=True, slots=True)
class PourNext:
    """Pour this mould in so many minutes: then neither its pour nor its tip meets another.

    Attributes
    ----------
    mould : str
    wait_min : float
        0 is now. [min]
    ready_in_min : float
        When it would be ready. [min]
    """

    mould: str
    wait_min: float
    ready_in_min: float


@dataclass(frozen=True, slots=True)
class PourNothing:
    """Nothing can be poured any more today, and why."""

    why: str


def pour_next(ask: PlanAsk) -> PourNext | PourNothing:
    """Find the mould that can be poured soonest; of several within a minute, the one that takes longest.

    Parameters
    ----------
    ask : PlanAsk
        Running casts included; moulds that are not free yet have their `free_at_min`.
    """
    check_ask(ask)
    closing = to_grid(ask.closing_min)
    wanted = [m for m in ask.moulds if m.wanted > 0]
    if not wanted:
        return PourNothing("every pot that is wanted today is poured")
    open_moulds = [m for m in wanted if m.cast_min]
    if not open_moulds:
        return PourNothing("every mould is as damp as you allow; dry them first")
    day = day_with_running(ask, closing)
    found: list[tuple[int, float, PourNext]] = []
    for mould in open_moulds:
        parts = cast_parts(mould, 0, ask.slack)
        start = day.earliest(parts.rigid, to_grid(mould.free_at_min))
        if start is not None and start + parts.drained <= closing:
            answer = PourNext(mould.name, start * GRID_MIN, (start + parts.ready) * GRID_MIN)
            found.append((start // to_grid(1.0), -mould.cast_min[0], answer))
    if not found:
        return PourNothing("no cast would be ready, tipped and drained before closing")
    return min(found, key=lambda f: f[:2])[2]


def day_with_running(ask: PlanAsk, closing: int) -> HandsDay:
    """Make a day in which the tips of the casts that already stand there have their hands."""
    day = HandsDay(ask.hands, closing + to_grid(600.0))
    for cast in ask.running:
        parts = tip_parts(cast, ask.slack)
        if all(part.end <= day.steps for part in parts):
            day.book(parts, 0)
    return day


def tip_parts(cast: RunningCast, slack: float) -> tuple[Part, Part]:
    """Hands for the tip of a cast that stands there already, and its span, from the start of the day."""
    spare = slack * cast.sigma_min
    tip = to_grid(cast.tip_min)
    ready = max(to_grid(cast.ready_in_min), 0)
    first = max(to_grid(cast.ready_in_min - spare), 0)
    return Part(ready, ready + tip, False), Part(
        first, max(to_grid(cast.ready_in_min + spare), ready) + tip, True
    )
