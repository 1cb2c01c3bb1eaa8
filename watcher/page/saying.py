"""What the caster says on the page: checked word for word, then put into the bench's inbox."""

from __future__ import annotations

from datetime import timedelta
from typing import Annotated, Self

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field, StringConstraints, field_validator, model_validator

from watcher.page.access.door import asker_of
from watcher.page.moments import iso
from watcher.page.port import BenchPort
from watcher.page.refusals import REFUSALS, PageRefusal
from watcher.records.bench import Bench
from watcher.records.said import Said, What

WANTED: dict[What, tuple[float, float, str]] = {
    What.SNOOZED: (1.0, 60.0, "minutes, 1 to 60"),
    What.LOOKED: (0.1, 60.0, "the wall in mm, 0.1 to 60"),
    What.RULER: (0.0, 1000.0, "the level below the rim in mm, 0 to 1000"),
}
"""What carries a number: least, most, and the words for it."""

_OF_THE_BENCH = frozenset({What.ACKNOWLEDGED, What.SNOOZED, What.NOTE})
PLAIN = r"^[^\x00-\x08\x0b-\x1f\x7f]*$"
Short = Annotated[str, StringConstraints(max_length=200, pattern=PLAIN)]


class SaidIn(BaseModel):
    """One thing the caster says."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, strict=False)

    mould: Short = Field("", description="the mould's name; empty: the whole bench")
    what: What = Field(description="what is said")
    alert_id: Short = Field("", description="one alert; empty: all of that mould, or all")
    value: float | None = Field(None, description="snoozed: minutes; looked: wall in mm; ruler: level in mm")
    note: Annotated[str, StringConstraints(max_length=500, pattern=PLAIN)] = Field(
        "", description="free words"
    )
    who: Annotated[str, StringConstraints(max_length=60, pattern=PLAIN)] = Field(
        "", description="who says it"
    )

    @field_validator("value", mode="before")
    @classmethod
    def _numbers_only(cls, value: object) -> object:
        if value is None or (isinstance(value, int | float) and not isinstance(value, bool)):
            return value
        raise ValueError("give a number")

    @model_validator(mode="after")
    def _with_its_number(self) -> Self:
        wanted = WANTED.get(self.what)
        if wanted is None:
            if self.value is not None:
                raise ValueError(f"{self.what} carries no value")
        elif self.value is None and self.what is not What.SNOOZED:
            raise ValueError(f"{self.what} needs a value: {wanted[2]}")
        elif self.value is not None and not wanted[0] <= self.value <= wanted[1]:
            raise ValueError(f"the value is {self.value:g}; give {wanted[2]}")
        if not self.mould and self.what not in _OF_THE_BENCH:
            raise ValueError(f"{self.what} needs a mould")
        return self


class HeardOut(BaseModel):
    """What was put into the bench's inbox."""

    heard: Annotated[str, Field(description="the `what` that was taken in")]
    mould: str
    at: Annotated[str, Field(description="the bench's moment, UTC ISO 8601")]


def saying_routes(port: BenchPort) -> APIRouter:
    """Return the one route by which the caster speaks."""
    router = APIRouter()

    @router.post("/said.json", responses=REFUSALS, summary="Say something to the bench")
    def said(given: SaidIn, request: Request) -> HeardOut:
        bench = port.bench()
        _check_names(given, bench)
        asker = asker_of(request)
        record = said_record(given, port, bench, who=asker.name if asker is not None else "")
        port.say(record)
        return HeardOut(heard=record.what.value, mould=record.mould, at=iso(record.at))

    return router


def said_record(given: SaidIn, port: BenchPort, bench: Bench, *, who: str = "") -> Said:
    """Return the record of what was said, on the bench's own clocks; `who` says it if nobody is named."""
    at = port.now()
    since_s = (at - bench.now_at) if bench.now_at is not None else timedelta(0)
    return Said(
        what=given.what,
        at_s=bench.now_s + max(since_s.total_seconds(), 0.0),
        at=at,
        mould=given.mould,
        alert_id=given.alert_id,
        value=given.value,
        note=given.note.strip(),
        who=given.who.strip() or who,
    )


def _check_names(given: SaidIn, bench: Bench) -> None:
    if given.mould and given.mould not in {mould.name for mould in bench.layout.moulds}:
        raise PageRefusal(404, "no_such_mould", "there is no mould of that name on this bench", "mould")
    if given.alert_id and given.alert_id not in {alert.alert_id for alert in bench.alerts}:
        raise PageRefusal(404, "no_such_alert", "there is no alert of that id", "alert_id")
