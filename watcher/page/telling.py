"""What no camera sees, told on the page: reclaim of a cast, casts while unwatched, hours in a drier."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Annotated, Self

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field, model_validator

from watcher.desk.memory import BenchMemory
from watcher.desk.reclaim import reclaim_sums
from watcher.desk.slip_paper import gravities
from watcher.page.moments import iso
from watcher.page.port import BenchPort
from watcher.page.refusals import MEMORY_POST_REFUSALS, PageRefusal
from watcher.page.saying import Short
from watcher.page.shapes_told import ReclaimShape, ToldShape
from watcher.records.afterwards import Told, ToldKind
from watcher.records.kept import KeptCast

SHOWN = 6
"""Things told that a mould's page lists, to be taken back."""

RECLAIM_DAYS = 30
"""Rows of days and slips that the slip page lists; the table for a spreadsheet has all."""

Hours = Annotated[float, Field(ge=0.0, le=72.0, description="h")]


class _In(BaseModel):
    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)


class ReclaimIn(_In):
    """Spare and trimmings of a cast, weighed wet: of a cast by its id, or of a mould's last."""

    cast: Short = ""
    mould: Short = ""
    grams: Annotated[float, Field(gt=0.0, le=100_000.0, description="g")]

    @model_validator(mode="after")
    def _one_of_both(self) -> Self:
        if bool(self.cast) == bool(self.mould):
            raise ValueError("give the cast's id or the mould")
        return self


class UnwatchedIn(_In):
    """A cast that was made while nobody watched."""

    mould: Short
    ago_h: Hours = 0.0


class DrierIn(_In):
    """A mould stood in a drier. Plaster is not dried hotter than 45 C; what was done can be told."""

    mould: Short
    hours: Annotated[float, Field(ge=0.1, le=72.0, description="h")]
    warmth_c: Annotated[float, Field(ge=15.0, le=60.0, description="C")]
    ago_h: Hours = 0.0


class UntellIn(_In):
    """Which thing told was not so."""

    id: Annotated[int, Field(ge=1, le=2**62)]


def telling_routes(port: BenchPort, memory: BenchMemory) -> APIRouter:
    """Return the routes by which the caster tells what no camera saw."""
    router = APIRouter(responses=MEMORY_POST_REFUSALS)

    @router.post("/reclaim.json", summary="Spare and trimmings of a cast, for the tank")
    def reclaim(given: ReclaimIn) -> ToldShape:
        if given.mould:
            check_mould(port, given.mould)
            cast = newest_cast(port, memory, given.mould)
        else:
            found = memory.cast(given.cast)
            if found is None:
                raise PageRefusal(404, "no_such_cast", "no cast of that name is remembered", "cast")
            cast = found
        kept = memory.telling.keep(
            cast.mould, ToldKind.RECLAIM, port.now(), given.grams, cast_id=cast.cast_id
        )
        return told_view(kept)

    @router.post("/unwatched.json", summary="A cast was made while nobody watched")
    def unwatched(given: UnwatchedIn) -> ToldShape:
        check_mould(port, given.mould)
        at = _before(port, given.ago_h)
        return told_view(memory.telling.keep(given.mould, ToldKind.UNWATCHED, at, 1.0))

    @router.post("/drier.json", summary="A mould stood in a drier")
    def drier(given: DrierIn) -> ToldShape:
        check_mould(port, given.mould)
        at = _before(port, given.ago_h)
        kept = memory.telling.keep(given.mould, ToldKind.DRIER, at, given.hours, warmth_c=given.warmth_c)
        return told_view(kept)

    @router.post("/untell.json", summary="What was told was not so")
    def untell(given: UntellIn) -> list[ToldShape]:
        before = next((one for one in memory.telling.told() if one.told_id == given.id), None)
        if before is None:
            raise PageRefusal(404, "not_told", "nothing of that number was told")
        memory.telling.take_back(given.id)
        return newest_told(memory, before.mould)

    return router


def told_view(told: Told) -> ToldShape:
    """Return one thing told."""
    return {
        "id": told.told_id,
        "mould": told.mould,
        "kind": told.kind.value,
        "at": iso(told.at),
        "amount": told.amount,
        "warmth_c": told.warmth_c,
    }


def newest_told(memory: BenchMemory, mould: str) -> list[ToldShape]:
    """Return what was told of a mould last, newest first."""
    return [told_view(one) for one in reversed(memory.telling.told(mould)[-SHOWN:])]


def reclaim_view(memory: BenchMemory) -> list[ReclaimShape]:
    """Return reclaim by day and slip, newest first."""
    told = memory.telling.told("", ToldKind.RECLAIM)
    if not told:
        return []
    gravity = gravities(memory)
    slip_of = {cast.cast_id: gravity.get(cast.slip_hash, "") for cast in memory.all_casts()}
    return [
        {"day": one.day.isoformat(), "slip": one.slip, "grams": round(one.grams, 1), "casts": one.casts}
        for one in reclaim_sums(told, slip_of, memory.zone)[:RECLAIM_DAYS]
    ]


def newest_cast(port: BenchPort, memory: BenchMemory, mould: str) -> KeptCast:
    """Return the cast that came out: the one still in the mould, else its last one."""
    state = port.bench().moulds.get(mould)
    here = state.cast.cast_id if state is not None and state.cast is not None else None
    for cast in memory.all_casts(mould, 5):
        if here in (None, cast.cast_id):
            return cast
    raise PageRefusal(409, "no_cast", "no cast of this mould is remembered yet", "mould")


def check_mould(port: BenchPort, name: str) -> None:
    """Refuse a mould that is not on this bench."""
    if name not in {mould.name for mould in port.bench().layout.moulds}:
        raise PageRefusal(404, "no_such_mould", "there is no mould of that name on this bench", "mould")


def _before(port: BenchPort, ago_h: float) -> datetime:
    return port.now() - timedelta(hours=ago_h)
