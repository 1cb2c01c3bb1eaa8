"""The other benches: as data, and what is said to them from here."""

from __future__ import annotations

import math
from typing import Annotated, Protocol

from fastapi import APIRouter, Request
from pydantic import Field
from typing_extensions import TypedDict

from watcher.page.access.door import asker_of
from watcher.page.moments import iso, iso_or_none
from watcher.page.port import BenchPort
from watcher.page.refusals import MEMORY_POST_REFUSALS, MEMORY_REFUSALS, PageRefusal
from watcher.page.saying import HeardOut, SaidIn, Short, said_record
from watcher.page.shapes import Millimetres, Moment
from watcher.records.others import OtherBench, OtherMould, OtherWord
from watcher.records.said import Said

SILENT_AFTER_S = 30.0
"""A bench that was not heard for so long is called silent: it is heard every few seconds. [s]"""


class Others(Protocol):
    """Who knows the other benches. All raise OSError with a plain sentence where they cannot be asked."""

    def present(self) -> tuple[OtherBench, ...]:
        """Return the other benches."""
        ...

    def words(self) -> tuple[OtherWord, ...]:
        """Return what was said from here to others in the last hours, newest first."""
        ...

    def say(self, bench_id: str, said: Said) -> str:
        """Put a word into another bench's inbox; return why not, or an empty text."""
        ...


class OtherMouldShape(TypedDict):
    """One mould of another bench."""

    name: str
    stage: str
    casting: bool
    last_read_at: Moment
    wall_mm: Millimetres
    ready_at: Moment


class OtherAlertShape(TypedDict):
    """One call of another bench that nobody has answered."""

    id: str
    kind: str
    mould: str
    at: Moment


class OtherBenchShape(TypedDict):
    """Another bench."""

    bench_id: str
    page: Annotated[str, Field(description="address of its own page; empty: not opened to others")]
    silent_s: Annotated[float, Field(description="how long ago it was heard last, s")]
    heard_at: Moment
    silent: Annotated[bool, Field(description="true: longer than it should be; its figures are old")]
    gone: Annotated[bool, Field(description="true: it was shut down then")]
    moulds: list[OtherMouldShape]
    alerts: list[OtherAlertShape]


class OtherWordShape(TypedDict):
    """One thing said from here to another bench."""

    bench_id: str
    mould: str
    what: str
    at: Moment
    taken: Annotated[bool, Field(description="true: that bench has heard it")]
    answer: Annotated[str, Field(description="why that bench could not take it in; empty: it could")]


class OthersShape(TypedDict):
    """The other benches that share a database with this one."""

    now: Moment
    shared: Annotated[bool, Field(description="false: this bench is alone")]
    why: Annotated[str, Field(description="why the others cannot be seen just now; empty: they can")]
    benches: list[OtherBenchShape]
    words: Annotated[list[OtherWordShape], Field(description="what was said to them from here, newest first")]


class SaidElsewhereIn(SaidIn):
    """One thing the caster says to another bench."""

    bench_id: Short = Field(min_length=1, description="the bench that it is for")


def others_routes(port: BenchPort, others: Others | None) -> APIRouter:
    """Return the routes about the other benches; alone there are none to tell of, and none to speak to."""
    router = APIRouter()

    @router.get("/benches.json", responses=MEMORY_REFUSALS, summary="The other benches")
    def benches_json() -> OthersShape:
        return others_view(port, others)

    @router.post(
        "/benches/said.json", responses=MEMORY_POST_REFUSALS, summary="Say something to another bench"
    )
    def said_elsewhere(given: SaidElsewhereIn, request: Request) -> HeardOut:
        if others is None:
            raise PageRefusal(404, "no_such_bench", "this bench shares no database with others", "bench_id")
        asker = asker_of(request)
        record = said_record(given, port, port.bench(), who=asker.name if asker is not None else "")
        try:
            refused = others.say(given.bench_id, record)
        except OSError as fault:
            raise PageRefusal(503, "others_away", str(fault)) from None
        if refused:
            raise PageRefusal(404, "no_such_bench", refused, "bench_id")
        return HeardOut(heard=record.what.value, mould=record.mould, at=iso(record.at))

    return router


def others_view(port: BenchPort, others: Others | None) -> OthersShape:
    """Return what is known of the others, or why nothing is."""
    why = ""
    benches: tuple[OtherBench, ...] = ()
    words: tuple[OtherWord, ...] = ()
    if others is not None:
        try:
            benches, words = others.present(), others.words()
        except OSError as fault:
            why = str(fault)
    return {
        "now": iso(port.now()),
        "shared": others is not None,
        "why": why,
        "benches": [_bench(one) for one in benches],
        "words": [_word(one) for one in words],
    }


def _word(word: OtherWord) -> OtherWordShape:
    return {
        "bench_id": word.bench_id,
        "mould": word.mould,
        "what": word.what.value,
        "at": iso(word.said_at),
        "taken": word.taken,
        "answer": word.answer,
    }


def _bench(bench: OtherBench) -> OtherBenchShape:
    return {
        "bench_id": bench.bench_id,
        "page": bench.page if bench.page.startswith(("http://", "https://")) else "",
        "silent_s": round(bench.silent_s, 1),
        "heard_at": iso(bench.heard_at),
        "silent": bench.gone or bench.silent_s > SILENT_AFTER_S,
        "gone": bench.gone,
        "moulds": [_mould(one) for one in bench.moulds],
        "alerts": [
            {"id": one.alert_id, "kind": one.kind, "mould": one.mould, "at": iso_or_none(one.at)}
            for one in bench.alerts
        ],
    }


def _mould(mould: OtherMould) -> OtherMouldShape:
    wall = mould.wall_mm
    return {
        "name": mould.name,
        "stage": mould.stage,
        "casting": mould.casting,
        "last_read_at": iso_or_none(mould.last_read_at),
        "wall_mm": None if wall is None or not math.isfinite(wall) else round(wall, 2),
        "ready_at": iso_or_none(mould.ready_at),
    }
