"""What became of a cast, said on the page: how it came out, faults, its piece, a mould on the scale."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from typing import Annotated, Self
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field, StringConstraints, field_validator, model_validator

from models.cones import known_cones
from watcher.desk.fault_counts import faults_of
from watcher.desk.memory import BenchMemory
from watcher.page.access.door import asker_of
from watcher.page.casts import piece_view
from watcher.page.moments import iso
from watcher.page.port import BenchPort
from watcher.page.refusals import MEMORY_POST_REFUSALS, MEMORY_REFUSALS, PageRefusal
from watcher.page.saying import PLAIN, SaidIn, Short, said_record
from watcher.page.shapes_review import FindingShape, PieceShape, PiecesShape
from watcher.page.telling import check_mould, newest_cast, telling_routes
from watcher.records.afterwards import CameOut, FindingKind, PieceMark, PieceStep
from watcher.records.said import What

Note = Annotated[str, StringConstraints(max_length=500, pattern=PLAIN)]
SHOWN = 400
"""Pieces that are listed; the table for a spreadsheet has all."""

_FIRED = frozenset({PieceStep.BISQUE, PieceStep.GLAZED})


class _In(BaseModel):
    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)


class CameOutIn(_In):
    """How the cast that is in a mould came out of it."""

    mould: Short
    what: CameOut


class CameOutOut(BaseModel):
    """What was kept: the cast, and the number of its piece."""

    cast: str
    piece: int
    finding: Annotated[int, Field(description="id, to take it back by")]


class FindingIn(_In):
    """Something found on a cast, at once or weeks later; by the cast's id or its piece's number."""

    cast: Short = ""
    piece: Annotated[int | None, Field(ge=1, le=10**9)] = None
    kind: FindingKind
    note: Note = ""

    @model_validator(mode="after")
    def _one_of_both(self) -> Self:
        if bool(self.cast) == (self.piece is not None):
            raise ValueError("give the cast's id or the piece's number")
        if self.kind is FindingKind.OTHER and not self.note.strip():
            raise ValueError("say in the note what it is")
        return self


class TakeBackIn(_In):
    """Which finding was none."""

    id: Annotated[int, Field(ge=1, le=2**62)]


class PieceIn(_In):
    """The next step of a piece."""

    piece: Annotated[int, Field(ge=1, le=10**9)]
    step: PieceStep
    cone: Annotated[str, StringConstraints(max_length=12, pattern=PLAIN)] = Field(
        "", description="as it is stamped; with a firing"
    )
    day: Annotated[str, StringConstraints(pattern=r"^(\d{4}-\d{2}-\d{2})?$")] = Field(
        "", description="when, in the bench's zone; empty: now"
    )
    note: Note = ""

    @field_validator("day")
    @classmethod
    def _a_day(cls, day: str) -> str:
        if day:
            datetime.fromisoformat(day)
        return day

    @model_validator(mode="after")
    def _cone_with_fire(self) -> Self:
        if self.cone and self.step not in _FIRED:
            raise ValueError("a cone goes with a firing")
        return self


class WeighedIn(_In):
    """A mould on the scale, straps off."""

    mould: Short
    weight_kg: Annotated[float, Field(ge=0.05, le=500.0, description="kg")]


class KeptOut(BaseModel):
    """It was kept."""

    kept: bool


def afterwards_routes(port: BenchPort, memory: BenchMemory) -> APIRouter:
    """Return the routes by which the caster says what became of casts."""
    router = APIRouter()

    @router.post("/came_out.json", responses=MEMORY_POST_REFUSALS, summary="How a cast came out of its mould")
    def came_out(given: CameOutIn, request: Request) -> CameOutOut:
        check_mould(port, given.mould)
        cast = newest_cast(port, memory, given.mould)
        who = _who(request)
        finding = memory.after.find(cast.cast_id, FindingKind(given.what.value), port.now(), who=who)
        piece = memory.after.number_piece(cast.cast_id, given.mould, port.now())
        if given.what is CameOut.SLUMPED:
            memory.after.mark(piece.number, PieceMark(PieceStep.SCRAPPED, port.now()))
        said = SaidIn(mould=given.mould, what=What.DEMOULDED, alert_id="", value=None, note="", who="")
        port.say(said_record(said, port, port.bench(), who=who))
        return CameOutOut(cast=cast.cast_id, piece=piece.number, finding=finding.finding_id)

    @router.post("/finding.json", responses=MEMORY_POST_REFUSALS, summary="Note a fault on a cast")
    def found(given: FindingIn, request: Request) -> FindingShape:
        cast_id = _cast_of(memory, given)
        note = given.note.strip()
        kept = memory.after.find(cast_id, given.kind, port.now(), note=note, who=_who(request))
        return {
            "id": kept.finding_id,
            "kind": kept.kind.value,
            "at": iso(kept.at),
            "note": kept.note,
            "who": kept.who,
        }

    @router.post("/finding_back.json", responses=MEMORY_POST_REFUSALS, summary="It was none")
    def take_back(given: TakeBackIn) -> KeptOut:
        memory.after.take_back(given.id)
        return KeptOut(kept=True)

    @router.post("/piece.json", responses=MEMORY_POST_REFUSALS, summary="The next step of a piece")
    def step(given: PieceIn) -> PieceShape:
        found = next((one for one in memory.after.pieces() if one.number == given.piece), None)
        if found is None:
            raise PageRefusal(404, "no_such_piece", "there is no piece of that number", "piece")
        at = _moment(given.day, memory.zone) if given.day else port.now()
        memory.after.mark(given.piece, PieceMark(given.step, at, given.cone.strip(), given.note.strip()))
        piece = next(one for one in memory.after.pieces(found.cast_id) if one.number == given.piece)
        return piece_view(piece, frozenset(one.kind for one in memory.after.findings(piece.cast_id)))

    @router.post("/weighed.json", responses=MEMORY_POST_REFUSALS, summary="A mould on the scale")
    def weighed(given: WeighedIn) -> KeptOut:
        check_mould(port, given.mould)
        memory.after.weigh(given.mould, port.now(), given.weight_kg)
        return KeptOut(kept=True)

    @router.get("/pieces.json", responses=MEMORY_REFUSALS, summary="All pieces with their numbers")
    def pieces() -> PiecesShape:
        return pieces_view(port, memory)

    router.include_router(telling_routes(port, memory))
    return router


def pieces_view(port: BenchPort, memory: BenchMemory) -> PiecesShape:
    """Return all pieces, the newest first, with the faults that reached their casts."""
    pieces = memory.after.pieces()
    shown = pieces[-SHOWN:]
    # a piece comes out of its mould within days of the pour: older casts need not be read
    since = min((piece.made_at for piece in shown), default=port.now()) - timedelta(days=3)
    casts = memory.casts_since(since)
    faults = faults_of(casts, memory.after.findings())
    return {
        "now": iso(port.now()),
        "zone": memory.zone,
        "pieces": [piece_view(piece, faults.get(piece.cast_id, frozenset())) for piece in reversed(shown)],
        "scrapped": sum(piece.scrapped for piece in pieces),
        "cones": list(known_cones()),
    }


def _cast_of(memory: BenchMemory, given: FindingIn) -> str:
    if given.piece is not None:
        for piece in memory.after.pieces():
            if piece.number == given.piece:
                return piece.cast_id
        raise PageRefusal(404, "no_such_piece", "there is no piece of that number", "piece")
    if memory.cast(given.cast) is None:
        raise PageRefusal(404, "no_such_cast", "no cast of that name is remembered", "cast")
    return given.cast


def _moment(day: str, zone: str) -> datetime:
    """Noon of a day: a firing is told by its day."""
    noon = datetime.combine(datetime.fromisoformat(day).date(), time(12), ZoneInfo(zone))
    return noon.astimezone(UTC)


def _who(request: Request) -> str:
    asker = asker_of(request)
    return asker.name if asker is not None else ""
