"""The plan as an answer: the next pour, the day where it was asked for, and both as one plain dict."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from models.plan_chance import DayChance, play
from models.plan_jobs import Plan, Step, StepKind
from models.planning import plan_day
from models.pour_next import PourNext, PourNothing, pour_next
from watcher.desk.plan_asking import Asked


@dataclass(frozen=True, slots=True)
class PlanSaid:
    """An answer. `plan` and `chance` are None where only the next pour was asked for."""

    now: datetime
    asked: Asked
    following: PourNext | PourNothing
    plan: Plan | None = None
    chance: DayChance | None = None
    days: int = 0
    seed: int = 0


def answer(now: datetime, asked: Asked, *, whole_day: bool, days: int = 100, seed: int = 0) -> PlanSaid:
    """Say which mould to pour next, and with `whole_day` the plan with its chances.

    Parameters
    ----------
    now : datetime
        In the bench's zone.
    asked : Asked
    whole_day : bool
    days : int
        Days that are simulated.
    seed : int
        The same seed gives the same answer.

    Raises
    ------
    BadValue
        Something asked for cannot be planned.
    """
    if not whole_day:
        return PlanSaid(now, asked, pour_next(asked.ask))
    made = plan_day(asked.ask, seed=seed)
    chance = play(asked.ask, made, days=days, seed=seed)
    following = _first_of(made) or pour_next(asked.ask)
    return PlanSaid(now, asked, following, made, chance, days, seed)


def tip_span(said: PlanSaid, step: Step) -> tuple[float, float]:
    """Return the 80 % range of a planned tip, in minutes from now."""
    times = said.asked.times[step.mould]
    low, high = times.spread(step.cast - 1)
    full = step.at_min - times.minutes[step.cast - 1]
    return full + low, full + high


def _first_of(made: Plan) -> PourNext | None:
    """Return the plan's own first pour, so that the simple answer and the day never differ."""
    first = next((step for step in made.steps if step.kind is StepKind.POUR), None)
    if first is None:
        return None
    tip = next(
        step
        for step in made.steps
        if step.kind is StepKind.TIP and (step.mould, step.cast) == (first.mould, first.cast)
    )
    return PourNext(first.mould, first.at_min, tip.at_min)


def as_json(said: PlanSaid) -> dict[str, Any]:
    """Return the answer as plain values; minutes count from `now`."""
    following = said.following
    return {
        "now": said.now.isoformat(),
        "next": {"mould": None, "why": following.why}
        if isinstance(following, PourNothing)
        else {
            "mould": following.mould,
            "wait_min": following.wait_min,
            "ready_in_min": following.ready_in_min,
        },
        "moulds": [
            {
                "name": name,
                "cast_min": list(times.minutes),
                "cast_low_min": [times.spread(n)[0] for n in range(len(times.minutes))],
                "cast_high_min": [times.spread(n)[1] for n in range(len(times.minutes))],
                "casts_used": times.casts_used,
            }
            for name, times in said.asked.times.items()
        ],
        "running": [
            {"mould": cast.mould, "ready_in_min": cast.ready_in_min, "sigma_min": cast.sigma_min}
            for cast in said.asked.ask.running
        ],
        "plan": None if said.plan is None else _plan_json(said, said.plan),
        "notes": list(said.asked.notes),
    }


def _plan_json(said: PlanSaid, plan: Plan) -> dict[str, Any]:
    chance = said.chance
    return {
        "pots": plan.pots,
        "missing": [{"mould": name, "pots": count} for name, count in plan.missing],
        "ends_min": plan.ends_min,
        "slack": plan.slack,
        "steps": [
            {
                "at": (said.now + timedelta(minutes=step.at_min)).isoformat(),
                "at_min": step.at_min,
                "minutes": step.minutes,
                "mould": step.mould,
                "cast": step.cast,
                "what": step.kind.value,
            }
            for step in plan.steps
        ],
        "simulated": None
        if chance is None
        else {
            "days": said.days,
            "seed": said.seed,
            "holds": chance.holds,
            "pots": chance.pots,
            "overdue_min": chance.overdue_min,
            "spoiled": chance.spoiled,
        },
    }
