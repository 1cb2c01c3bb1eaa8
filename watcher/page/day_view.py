"""The day's plan as the page shows it: minutes from now become moments."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta

from models.plan_jobs import Step, StepKind
from models.pour_next import PourNothing
from models.ranged import Z80
from watcher.desk.day_sets import SetSaid
from watcher.desk.plan_answer import PlanSaid, tip_span
from watcher.desk.wishes import DayWishes
from watcher.page.moments import iso, iso_or_none
from watcher.page.shapes_day import (
    ChanceShape,
    DayPlanShape,
    MouldWishShape,
    NextPourShape,
    PlanStepShape,
    SetShape,
)
from watcher.records.bench import Bench

_NO_NEXT: NextPourShape = {
    "mould": None, "at": None, "wait_min": None, "ready_at": None, "ready_low": None, "ready_high": None,
    "why": "",
}  # fmt: skip


def day_view(
    bench: Bench,
    wishes: DayWishes,
    said: PlanSaid | str,
    *,
    now: datetime,
    zone: str,
    closing_at: datetime | None,
    poured: Mapping[str, int],
) -> DayPlanShape:
    """Return the day as a dict; `said` is the plan, or the reason why there is none."""
    planned = said if isinstance(said, PlanSaid) else None
    plan = None if planned is None else planned.plan
    names = [placed.name for placed in bench.layout.moulds]
    return {
        "now": iso(now),
        "zone": zone,
        "bench_id": bench.bench_id,
        "day": wishes.day.isoformat(),
        "closing": "" if wishes.closing is None else wishes.closing.isoformat("minutes"),
        "closing_at": iso_or_none(closing_at),
        "hands": wishes.hands,
        "room_c": wishes.room_c,
        "room_rh": wishes.room_rh,
        "dampest": wishes.dampest,
        "most_casts": wishes.most_casts,
        "drain_min": wishes.drain_min,
        "set_min": wishes.set_min,
        "moulds": [_wish(name, wishes, planned, poured.get(name, 0)) for name in names],
        "next": _NO_NEXT if planned is None else _next(planned, now),
        "running": []
        if planned is None
        else [
            {
                "mould": cast.mould,
                "ready_at": _at(now, cast.ready_in_min),
                "low": _at(now, cast.ready_in_min - Z80 * cast.sigma_min),
                "high": _at(now, cast.ready_in_min + Z80 * cast.sigma_min),
            }
            for cast in planned.asked.ask.running
        ],
        "steps": [] if planned is None or plan is None else [_step(planned, one, now) for one in plan.steps],
        "pots": 0 if plan is None else plan.pots,
        "missing": [] if plan is None else [{"mould": name, "pots": pots} for name, pots in plan.missing],
        "ends_at": None if plan is None or not plan.pots else _at(now, plan.ends_min),
        "chance": None if planned is None else _chance(planned),
        "notes": [] if planned is None else list(planned.asked.notes),
        "why": said if isinstance(said, str) else "",
        "sets": [],
    }


def set_view(said: SetSaid, wishes: DayWishes) -> SetShape:
    """Return one set as a dict."""
    return {
        "name": said.name,
        "moulds": list(wishes.sets[said.name]),
        "pours": [{"mould": one.mould, "at": iso(one.at), "poured": one.poured} for one in said.pours],
        "join_at": iso_or_none(said.join_at),
        "join_low": iso_or_none(said.join_low),
        "join_high": iso_or_none(said.join_high),
        "draw_slip_at": iso_or_none(said.draw_slip_at),
        "together": said.together,
        "apart_min": None if said.apart_min is None else round(said.apart_min, 1),
        "why": said.why,
    }


def _wish(name: str, wishes: DayWishes, planned: PlanSaid | None, poured: int) -> MouldWishShape:
    wish = wishes.of(name)
    return {
        "mould": name,
        "pots": wish.pots,
        "poured": poured,
        "skipped": name in wishes.skipped,
        "dry_kg": wish.dry_kg,
        "planned": planned is None or name in planned.asked.times,
    }


def _next(said: PlanSaid, now: datetime) -> NextPourShape:
    following = said.following
    if isinstance(following, PourNothing):
        return {**_NO_NEXT, "why": following.why}
    times = said.asked.times[following.mould]
    low, high = times.spread(0)
    full = following.ready_in_min - times.minutes[0]
    return {
        "mould": following.mould,
        "at": _at(now, following.wait_min),
        "wait_min": round(following.wait_min, 1),
        "ready_at": _at(now, following.ready_in_min),
        "ready_low": _at(now, full + low),
        "ready_high": _at(now, full + high),
        "why": "",
    }


def _step(said: PlanSaid, step: Step, now: datetime) -> PlanStepShape:
    low, high = tip_span(said, step) if step.kind is StepKind.TIP else (None, None)
    return {
        "at": _at(now, step.at_min),
        "minutes": step.minutes,
        "mould": step.mould,
        "cast": step.cast,
        "what": step.kind.value,
        "low": None if low is None else _at(now, low),
        "high": None if high is None else _at(now, high),
    }


def _chance(said: PlanSaid) -> ChanceShape | None:
    if said.chance is None:
        return None
    return {
        "days": said.days,
        "holds": round(said.chance.holds, 3),
        "overdue_min": round(said.chance.overdue_min, 2),
        "spoiled": round(said.chance.spoiled, 3),
    }


def _at(now: datetime, minutes: float) -> str:
    return iso(now + timedelta(minutes=minutes))
