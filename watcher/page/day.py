"""The day on the page: what is wanted, what to pour next, the plan, planned anew as the bench moves."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, time, timedelta
from itertools import chain
from types import MappingProxyType
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field, StringConstraints, field_validator

from models.doors import BadValue
from watcher.desk.day_plan import REMEMBERED, Kept, closing_in_min, plan_of_day, with_present
from watcher.desk.day_sets import sets_of_day
from watcher.desk.local_day import day_of
from watcher.desk.memory import BenchMemory
from watcher.desk.plan_answer import PlanSaid
from watcher.desk.slip_paper import PAPER_NAME as SLIP
from watcher.desk.unseen import with_unwatched
from watcher.desk.wishes import PAPER_NAME, DayWishes, MouldWish, paper_text
from watcher.page.damp_now import wishes_now
from watcher.page.day_view import day_view, set_view
from watcher.page.moments import iso
from watcher.page.port import BenchPort
from watcher.page.refusals import MEMORY_POST_REFUSALS, MEMORY_REFUSALS, PageRefusal
from watcher.page.saying import PLAIN
from watcher.page.shapes_day import DayPlanShape, SetShape
from watcher.records.afterwards import Told, ToldKind
from watcher.records.bench import Bench
from watcher.records.kept import KeptCast
from watcher.storage.papers import PaperKind

PLANNED_ANEW_S = 60.0
"""A plan is worked out anew after so long, and at once when a cast begins, ends or runs late. [s]"""

LATE_STEPS_S = 60.0
"""A ready moment that moved by so much is a new plan's worth. [s]"""

Names = Annotated[list[Annotated[str, StringConstraints(max_length=200)]], Field(max_length=200)]
SetName = Annotated[str, StringConstraints(min_length=1, max_length=60, pattern=PLAIN)]


class DayIn(BaseModel):
    """What is to change of today's wishes; whatever is left out stays as it is."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)

    closing: Annotated[str, StringConstraints(pattern=r"^(([01]\d|2[0-3]):[0-5]\d)?$")] | None = Field(
        None, description="HH:MM in the bench's zone; empty: none"
    )
    hands: Annotated[int, Field(ge=1, le=2)] | None = None
    room_c: Annotated[float, Field(ge=1, le=60, description="C")] | None = None
    room_rh: Annotated[float, Field(ge=0, le=1, description="relative humidity, 0 to 1")] | None = None
    dampest: Annotated[float, Field(gt=0, le=0.4)] | None = None
    most_casts: Annotated[int, Field(ge=1, le=30)] | None = None
    drain_min: Annotated[float, Field(ge=0, le=600)] | None = None
    set_min: Annotated[float, Field(ge=0, le=2880)] | None = None
    pots: dict[str, Annotated[int, Field(ge=0, le=30)] | None] | None = None
    dry_kg: dict[str, Annotated[float, Field(ge=0.05, le=500)] | None] | None = None
    skipped: Names | None = None
    sets: dict[SetName, Names] | None = Field(
        None, description="moulds of each piece of several parts, by its name; an empty list: no such set"
    )

    @field_validator("sets")
    @classmethod
    def _two_parts(cls, sets: dict[str, list[str]] | None) -> dict[str, list[str]] | None:
        for parts in (sets or {}).values():
            if len(parts) == 1 or len(set(parts)) < len(parts) or len(parts) > 12:
                raise ValueError("a set has two to twelve moulds, each once")
        return sets


class Plans:
    """Keeps the newest plan until the bench or the wishes have changed enough for another one."""

    def __init__(self, port: BenchPort, memory: BenchMemory) -> None:
        self._port = port
        self._memory = memory
        self._lock = threading.Lock()
        self._made: tuple[tuple[object, ...], datetime, DayPlanShape] | None = None

    def now(self) -> DayPlanShape:
        """Return the day as it stands."""
        bench, now = self._port.bench(), self._port.now()
        wishes = wishes_now(self._port, self._memory)
        told = self._memory.telling.told("", ToldKind.UNWATCHED, ToldKind.DRIER)
        key = (wishes, told, *_stand(bench))
        with self._lock:  # one at a time: a second page gets the plan that the first one asked for
            made = self._made
            if made is not None and made[0] == key and abs((now - made[1]).total_seconds()) < PLANNED_ANEW_S:
                return {**made[2], "now": iso(now)}
            view = self._view(bench, wishes, told, now)
            self._made = (key, now, view)
            return view

    def _view(self, bench: Bench, wishes: DayWishes, told: tuple[Told, ...], now: datetime) -> DayPlanShape:
        memory = self._memory
        of = {
            placed.name: tuple(one for one in told if one.mould == placed.name)
            for placed in bench.layout.moulds
        }
        kept = {name: with_unwatched(memory.all_casts(name, REMEMBERED), some) for name, some in of.items()}
        local = now.astimezone(ZoneInfo(memory.zone))
        left = closing_in_min(wishes, local)
        said: PlanSaid | str
        if left is not None and left <= 0.0:
            said = "it is past closing time; give a later one"
        else:
            slips = memory.papers(PaperKind.SLIP, SLIP)
            try:
                slip = slips[0] if slips else None
                found = memory.after.findings()
                said = plan_of_day(bench, kept, wishes, slip, now, memory.zone, of, found)
            except BadValue as fault:
                said = str(fault)
        closing_at = None if left is None else now + timedelta(minutes=left)
        poured = _poured(kept, wishes, memory.zone)
        view = day_view(bench, wishes, said, now=now, zone=memory.zone, closing_at=closing_at, poured=poured)
        return {**view, "sets": self._sets(bench, kept, wishes, now, said)}

    def _sets(
        self, bench: Bench, kept: Kept, wishes: DayWishes, now: datetime, plan: PlanSaid | str
    ) -> list[SetShape]:
        if not wishes.sets:
            return []
        present = {name: with_present(casts, bench, name, now) for name, casts in kept.items()}
        found = self._memory.after.findings()
        made = plan if isinstance(plan, PlanSaid) else None
        said = sets_of_day(bench, present, wishes, found, now, self._memory.zone, made)
        return [set_view(one, wishes) for one in said]


def day_routes(port: BenchPort, memory: BenchMemory, plans: Plans) -> APIRouter:
    """Return the routes of the day."""
    router = APIRouter()

    @router.get("/day.json", responses=MEMORY_REFUSALS, summary="What to pour next, and the day's plan")
    def day() -> DayPlanShape:
        return plans.now()

    @router.post("/day.json", responses=MEMORY_POST_REFUSALS, summary="Change what is wanted of today")
    def wish(given: DayIn) -> DayPlanShape:
        names = {placed.name for placed in port.bench().layout.moulds}
        for name in (
            *(given.pots or ()),
            *(given.dry_kg or ()),
            *(given.skipped or ()),
            *chain(*(given.sets or {}).values()),
        ):
            if name not in names:
                raise PageRefusal(404, "no_such_mould", "there is no mould of that name on this bench")
        wishes = changed(wishes_now(port, memory), given)
        memory.keep(PaperKind.DAY, PAPER_NAME, paper_text(wishes), why="", at=port.now())
        return plans.now()

    return router


def changed(wishes: DayWishes, given: DayIn) -> DayWishes:
    """Return the wishes with what was given."""
    plain = ("hands", "room_c", "room_rh", "dampest", "most_casts", "drain_min", "set_min")
    new = {name: getattr(given, name) for name in plain if getattr(given, name) is not None}
    wishes = replace(wishes, **new)
    if given.closing is not None:
        wishes = replace(wishes, closing=time.fromisoformat(given.closing) if given.closing else None)
    if given.skipped is not None:
        wishes = replace(wishes, skipped=frozenset(given.skipped))
    if given.sets is not None:
        sets = {**wishes.sets, **{name: tuple(parts) for name, parts in given.sets.items()}}
        sets = {name: parts for name, parts in sets.items() if parts}
        wishes = replace(wishes, sets=MappingProxyType(sets))
    moulds = dict(wishes.moulds)
    for name, pots in (given.pots or {}).items():
        moulds[name] = replace(moulds.get(name, MouldWish()), pots=pots)
    for name, dry_kg in (given.dry_kg or {}).items():
        moulds[name] = replace(moulds.get(name, MouldWish()), dry_kg=dry_kg)
    return replace(wishes, moulds=MappingProxyType(moulds))


def _stand(bench: Bench) -> tuple[object, ...]:
    """Return what a plan rests on: where each mould is, and about when it is ready."""
    found: list[object] = []
    for name, state in bench.moulds.items():
        ready_s = getattr(state.cast.estimate, "ready_s", None) if state.cast is not None else None
        about = None if ready_s is None else round(ready_s / LATE_STEPS_S)
        found.append((name, state.stage, state.cast.cast_id if state.cast else "", about))
    return tuple(found)


def _poured(kept: Mapping[str, tuple[KeptCast, ...]], wishes: DayWishes, zone: str) -> dict[str, int]:
    return {
        name: sum(day_of(cast.began_at, zone) == wishes.day for cast in casts) for name, casts in kept.items()
    }
