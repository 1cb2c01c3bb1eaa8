"""What the plan says to the caster: the simple answer first, the day as a table, and both as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from models.plan_chance import DayChance
from models.plan_jobs import Plan, Step, StepKind
from models.pour_next import PourNext, PourNothing
from watcher.commands.plan_asking import Asked

_DOES = {
    StepKind.POUR: "pour",
    StepKind.TOP_UP: "top up",
    StepKind.TIP: "tip",
    StepKind.DEMOULD: "demould, clean, strap",
}
LIFTING = "full moulds are heavy: lift as your local advice on lifting has it, and get help"


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


def lines_for(said: PlanSaid) -> Iterator[str]:
    """Say the answer in lines, the next pour first."""
    yield _next(said)
    if said.plan is not None and said.chance is not None:
        yield from _day(said, said.plan, said.chance)
    for note in said.asked.notes:
        yield f"note: {note}"


def _next(said: PlanSaid) -> str:
    following = said.following
    if isinstance(following, PourNothing):
        return f"pour nothing more today: {following.why}"
    low, high = said.asked.times[following.mould].spread(0)
    late = following.ready_in_min - said.asked.times[following.mould].minutes[0]
    wait = f"in {following.wait_min:.0f} min" if following.wait_min >= 0.5 else "now"
    ready, span = _at(said, following.ready_in_min), f"{_at(said, late + low)} to {_at(said, late + high)}"
    return (
        f"pour the next one {wait}: {following.mould}, at {_at(said, following.wait_min)}; "
        f"it should be ready about {ready} ({span})"
    )


def _day(said: PlanSaid, plan: Plan, chance: DayChance) -> Iterator[str]:
    missing = sum(count for _, count in plan.missing)
    drained = f", the last drained at {_at(said, plan.ends_min)}" if plan.pots else ""
    yield f"the day: {plan.pots} of {plan.pots + missing} pots{drained}"
    yield (
        f"it would hold on {100.0 * chance.holds:.0f} of 100 days ({said.days} simulated): "
        f"{chance.overdue_min:.1f} min of waiting tips and {chance.spoiled:.2f} pots too thick a day"
    )
    if said.asked.ask.running:
        yield "the casts that stand there now have their hands in the plan; the simulated days leave them out"
    for step in plan.steps:
        span = ""
        if step.kind is StepKind.TIP:
            low, high = _tip_span(said, step)
            span = f"  ({_at(said, low)} to {_at(said, high)})"
        yield f"{_at(said, step.at_min)}  {_DOES[step.kind]:22s}{step.mould}, cast {step.cast}{span}"
    for name, count in plan.missing:
        yield f"{name}: {count} fewer than wanted; no room before closing, or as damp as you allow"
    for name in _overnight(plan):
        yield f"{name}: its last cast stays in the mould till the morning, or till hands are free"
    if plan.pots:
        yield LIFTING


def _overnight(plan: Plan) -> list[str]:
    tipped = {(step.mould, step.cast) for step in plan.steps if step.kind is StepKind.TIP}
    out = {(step.mould, step.cast) for step in plan.steps if step.kind is StepKind.DEMOULD}
    return sorted({mould for mould, _ in tipped - out})


def _tip_span(said: PlanSaid, step: Step) -> tuple[float, float]:
    times = said.asked.times[step.mould]
    low, high = times.spread(step.cast - 1)
    full = step.at_min - times.minutes[step.cast - 1]
    return full + low, full + high


def _at(said: PlanSaid, minutes: float) -> str:
    moment = said.now + timedelta(minutes=minutes)
    days = (moment.date() - said.now.date()).days
    return f"{moment:%H:%M}" + (f" (+{days} d)" if days else "")


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
