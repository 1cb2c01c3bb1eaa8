"""Pieces of several parts on the day's plan: when to pour each, so that they come leather-hard together."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from models.doors import BadValue
from models.piece_sets import SetPart, SetPlan, plan_set
from models.plan_jobs import StepKind
from models.ranged import Z80
from watcher.desk.after_learned import demoulding_of
from watcher.desk.local_day import day_of
from watcher.desk.plan_answer import PlanSaid
from watcher.desk.plan_times import times_by_number
from watcher.desk.wishes import DayWishes
from watcher.records.afterwards import Finding
from watcher.records.bench import Bench
from watcher.records.kept import KeptCast

FLEXIBLE = 1.5
"""Widest spread of a logarithm that a part of a set may have."""


@dataclass(frozen=True, slots=True)
class PartPour:
    """One part: its mould, when to pour it, and whether it was poured today already."""

    mould: str
    at: datetime
    poured: bool


@dataclass(frozen=True, slots=True)
class SetSaid:
    """What is said of one set.

    Attributes
    ----------
    name : str
    pours : tuple of PartPour
        In the order of pouring; empty where it cannot be planned.
    join_at, join_low, join_high : datetime or None
        When all parts are leather-hard, with the 80 % range.
    draw_slip_at : datetime or None
        When to draw slip for joining, so that it thickens.
    why : str
        Why there is no plan.
    together : bool
        False where the day's plan was asked for this set and has no room for it: the pours are then those
        of the set alone.
    apart_min : float or None
        How far apart the day's plan brings its parts to leather-hard; None: no plan did. [min]
    """

    name: str
    pours: tuple[PartPour, ...] = ()
    join_at: datetime | None = None
    join_low: datetime | None = None
    join_high: datetime | None = None
    draw_slip_at: datetime | None = None
    why: str = ""
    together: bool = True
    apart_min: float | None = None


def sets_of_day(
    bench: Bench,
    kept: Mapping[str, tuple[KeptCast, ...]],
    wishes: DayWishes,
    findings: Iterable[Finding],
    now: datetime,
    zone: str,
    made: PlanSaid | None = None,
) -> tuple[SetSaid, ...]:
    """Plan every set that the caster defined.

    Until its first part is poured a set is planned from now; from then on the others keep to that part. A
    pour whose moment is past and that did not happen is due now. One set of a kind a day is followed.

    Parameters
    ----------
    bench : Bench
    kept : mapping of str to tuple of KeptCast
        Casts of each mould, newest first, the present one included.
    wishes : DayWishes
    findings : iterable of Finding
    now : datetime
    zone : str
    made : PlanSaid or None
        The plan of the day: a set that it brings together is poured as it says.
    """
    found = tuple(findings)
    said = []
    for name, moulds in wishes.sets.items():
        try:
            plan = plan_set([_part(bench, mould, kept.get(mould, ()), found, now, zone) for mould in moulds])
        except BadValue as fault:
            said.append(SetSaid(name, why=str(fault)))
            continue
        poured = {mould: _poured_at(kept.get(mould, ()), wishes, zone) for mould in moulds}
        one = _said(name, plan, poured, now)
        said.append(one if made is None else _as_planned(one, made, now))
    return tuple(said)


def _said(name: str, plan: SetPlan, poured: Mapping[str, datetime | None], now: datetime) -> SetSaid:
    begins = now
    for mould, minutes in plan.pours:
        at = poured[mould]
        if at is not None:
            begins = at - timedelta(minutes=minutes)
            break
    pours, late = [], timedelta(0)
    for mould, minutes in plan.pours:
        planned, at = begins + timedelta(minutes=minutes), poured[mould]
        moment = at if at is not None else max(planned, now)
        late = max(late, moment - planned)
        pours.append(PartPour(mould, moment, at is not None))
    join = begins + timedelta(minutes=plan.join_min.value) + late
    early = timedelta(minutes=plan.join_min.value - plan.join_min.low)
    after = timedelta(minutes=plan.join_min.high - plan.join_min.value)
    ahead = timedelta(minutes=plan.join_min.value - plan.draw_slip_min)
    return SetSaid(name, tuple(pours), join, join - early, join + after, join - ahead)


def _as_planned(one: SetSaid, made: PlanSaid, now: datetime) -> SetSaid:
    """Let a set keep to the plan of the day, hands and all; its range stays as wide about the joining."""
    if made.plan is None or one.join_at is None or one.draw_slip_at is None:
        return one
    planned = next((found for found in made.plan.sets if found.name == one.name), None)
    if planned is None:
        asked = any(found.name == one.name for found in made.asked.ask.sets)
        return replace(one, together=not asked)
    pouring = [step for step in made.plan.steps if step.kind is StepKind.POUR]
    first = {step.mould: now + timedelta(minutes=step.at_min) for step in reversed(pouring)}
    pours = [p if p.poured else replace(p, at=first.get(p.mould, p.at)) for p in one.pours]
    later = now + timedelta(minutes=planned.join_min) - one.join_at
    assert one.join_low is not None and one.join_high is not None
    return replace(
        one,
        pours=tuple(sorted(pours, key=lambda pour: pour.at)),
        join_at=one.join_at + later,
        join_low=one.join_low + later,
        join_high=one.join_high + later,
        draw_slip_at=one.draw_slip_at + later,
        apart_min=planned.apart_min,
    )


def _poured_at(kept: tuple[KeptCast, ...], wishes: DayWishes, zone: str) -> datetime | None:
    if not kept or day_of(kept[0].began_at, zone) != wishes.day:
        return None
    return kept[0].began_at


def _part(
    bench: Bench,
    mould: str,
    kept: tuple[KeptCast, ...],
    findings: tuple[Finding, ...],
    now: datetime,
    zone: str,
) -> SetPart:
    placed = next((one for one in bench.layout.moulds if one.name == mould), None)
    if placed is None or placed.profile.target_wall_mm is None or placed.profile.solid:
        raise BadValue(f"{mould}: is not on this bench, or has no wanted wall that it is tipped at")
    wall_mm = placed.profile.target_wall_mm[0]
    today = sum(day_of(cast.began_at, zone) == day_of(now, zone) for cast in kept)
    before = max(today - 1, 0)  # of the part that is poured already, this very cast is asked about
    times = times_by_number(wall_mm, kept, today=before, casts=1)
    out = demoulding_of(kept, findings, bench.slip, wall_mm, habit=True)
    if out is None:
        raise BadValue(f"{mould}: its wall is outside what is known of setting")
    cast, hard = times.minutes[0], out.minutes
    spread = math.log(hard.high / hard.low) / (2.0 * Z80) if hard.low > 0.0 else FLEXIBLE
    sigma = math.hypot(times.sigma_log * cast, spread * hard.value) / (cast + hard.value)
    return SetPart(mould, cast, hard.value, sigma_log=min(sigma, FLEXIBLE))
