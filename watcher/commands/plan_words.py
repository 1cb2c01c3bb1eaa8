"""What the plan says to the caster: the simple answer first, then the day as a table."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from models.plan_chance import DayChance
from models.plan_jobs import Plan, StepKind
from models.pour_next import PourNothing
from watcher.desk.plan_answer import PlanSaid, tip_span

_DOES = {
    StepKind.POUR: "pour",
    StepKind.TOP_UP: "top up",
    StepKind.TIP: "tip",
    StepKind.DEMOULD: "demould, clean, strap",
}
LIFTING = "full moulds are heavy: lift as your local advice on lifting has it, and get help"


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
            low, high = tip_span(said, step)
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


def _at(said: PlanSaid, minutes: float) -> str:
    moment = said.now + timedelta(minutes=minutes)
    days = (moment.date() - said.now.date()).days
    return f"{moment:%H:%M}" + (f" (+{days} d)" if days else "")
