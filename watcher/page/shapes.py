"""The shape of what the page answers: every key with its meaning, as `/openapi.json` shows it."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field
from typing_extensions import TypedDict

Moment = Annotated[str | None, Field(description="UTC moment, ISO 8601 with Z; null: not known")]
Millimetres = Annotated[float | None, Field(description="mm; null: not known (see why)")]
Point = tuple[float, float]


class CameraShape(TypedDict):
    """The camera, as far as the page needs it."""

    why: Annotated[str, Field(description="why the camera cannot be used; empty: it can")]
    frame_at: Moment
    picture: Annotated[str | None, Field(description="for /picture.jpg?v=; null: there is none")]
    width_px: int
    height_px: int


class RingShape(TypedDict):
    """The rim of one pour hole in the camera's picture."""

    rim_rc: Annotated[list[Point], Field(description="points as (row, col) of the camera's frame, px")]
    seen_here: Annotated[bool, Field(description="false: the place comes from an earlier frame")]


class AfterShape(TypedDict):
    """One step after the tip: when it came, else when it is to be expected."""

    step: Annotated[str, Field(description="inverted, upright, spare_cut, letting_go or demoulded")]
    came_at: Moment
    due_at: Moment
    due_low: Annotated[Moment, Field(description="early end of the 80 % range")]
    due_high: Moment


class FillShape(TypedDict):
    """The pour of the cast under way."""

    since: Annotated[Moment, Field(description="when slip was first seen to come in")]
    until: Annotated[Moment, Field(description="when it was full; null: it is still being filled")]
    full_s: Annotated[float | None, Field(description="seconds since then")]
    level_mm: Annotated[Millimetres, Field(description="how far below the rim it came, as first read")]
    across_mm: Annotated[
        Millimetres,
        Field(description="where the stream falls now, to the right of the hole's middle as seen"),
    ]
    one_spot_s: Annotated[float | None, Field(description="how long it fell on one spot; null: not too long")]


class MouldShape(TypedDict):
    """One mould now."""

    name: str
    number: Annotated[int, Field(description="its number on this bench, from 1, as drawn in the picture")]
    phase: Annotated[str, Field(description="absent, empty, filling, casting or tipped")]
    stage: Annotated[str, Field(description="phase in more detail: also draining, upright, demoulded")]
    forecast: Annotated[str, Field(description="none, soon, ready or late")]
    in_service: bool
    cast: Annotated[str | None, Field(description="id of the cast under way, or of the last one")]
    cast_number: Annotated[int | None, Field(description="which cast of today this is")]
    filled_at: Moment
    tipped_at: Moment
    seen: Annotated[bool, Field(description="the slip's level was measured in the newest frame")]
    seen_at: Annotated[Moment, Field(description="when the level was last measured")]
    unseen_s: Annotated[float | None, Field(description="seconds since then")]
    forecast_only: Annotated[bool, Field(description="casting, but not measured lately: shown as predicted")]
    missed: Annotated[str | None, Field(description="why the newest frame gave no level: hand, dark, ...")]
    contents: Annotated[str, Field(description="empty, slip, away or unknown")]
    level_mm: Annotated[Millimetres, Field(description="level below the rim at seen_at, mm")]
    level_sigma_mm: Millimetres
    drop_mm: Annotated[Millimetres, Field(description="how far it has sunk since it was last filled, mm")]
    spare_mm: Annotated[Millimetres, Field(description="slip still standing above the trim line, mm")]
    wall_mm: Millimetres
    wall_low_mm: Annotated[Millimetres, Field(description="lower end of the 80 % range, mm")]
    wall_high_mm: Annotated[Millimetres, Field(description="upper end of the 80 % range, mm")]
    target_wall_mm: Annotated[Millimetres, Field(description="thin end of the wanted wall; null: no target")]
    target_thick_mm: Annotated[Millimetres, Field(description="thick end of the wanted wall")]
    ready_at: Annotated[Moment, Field(description="when the wall reaches the target")]
    ready_low: Annotated[Moment, Field(description="early end of the 80 % range")]
    ready_high: Annotated[Moment, Field(description="late end of the 80 % range")]
    why: Annotated[str, Field(description="why a figure above is blank; empty when none is")]
    leaking: bool
    fill: Annotated[FillShape | None, Field(description="null: nothing is poured or casting")]
    after: Annotated[list[AfterShape], Field(description="steps after the tip, in their order")]
    dampness: Annotated[float | None, Field(description="free water in the plaster; null: not known")]
    notes: list[str]
    ring: RingShape | None
    curve: Annotated[str, Field(description="changes when this mould has a new curve")]
    hole_picture: Annotated[str | None, Field(description="for /hole/NAME.jpg?v=; null: none")]


class AlertShape(TypedDict):
    """One alert of this session."""

    id: str
    mould: Annotated[str, Field(description="empty when it concerns the whole bench")]
    cast: str
    kind: Annotated[
        str,
        Field(
            description="soon, ready, late, tipped_unseen, blind, camera_blind, hole_closing, leaking, top_up"
        ),
    ]
    at: Moment
    acked_at: Moment
    state: Annotated[str, Field(description="alarm state in the words of IEC 62682")]
    shelved_until: Moment
    due_at: Annotated[Moment, Field(description="when the mould is to be tipped")]
    wall_mm: Millimetres
    why: str


class ClashShape(TypedDict):
    """Two tips too close for one pair of hands."""

    first: str
    second: str
    apart_s: Annotated[float, Field(description="seconds between their ready moments")]


class BenchShape(TypedDict):
    """The whole bench now: what the page shows."""

    now: Moment
    bench_id: str
    zone: Annotated[str, Field(description="time zone of the bench")]
    standing_s: Annotated[float, Field(description="seconds since the bench last moved on")]
    camera: CameraShape
    troubles: Annotated[list[str], Field(description="what else does not work just now, a sentence each")]
    moulds: list[MouldShape]
    order: Annotated[list[str], Field(description="names, the most urgent first")]
    clashes: list[ClashShape]
    alerts: Annotated[list[AlertShape], Field(description="of this session, oldest first")]


class CurvePoint(TypedDict):
    """One moment of a mould's curve; `low` and `high` are the ends of the 80 % range."""

    at: Moment
    level_mm: Millimetres
    level_low_mm: Millimetres
    level_high_mm: Millimetres
    wall_mm: Millimetres
    wall_low_mm: Millimetres
    wall_high_mm: Millimetres


class CurveShape(TypedDict):
    """The curve of one cast: from the fill to past the tip."""

    curve: Annotated[str, Field(description="as the mould's `curve`")]
    now: Annotated[Moment, Field(description="when it was worked out: what comes later is forecast")]
    target_mm: Millimetres
    points: list[CurvePoint]
    why: Annotated[str, Field(description="why there is no curve; empty when there is one")]


class CurvesShape(TypedDict):
    """A curve for each mould under cast."""

    curves: dict[str, CurveShape]


class ReadingShape(TypedDict):
    """One measured level."""

    at: Moment
    level_mm: float
    sigma_mm: float


class FillingShape(TypedDict):
    """Slip came in between two moments."""

    kind: Annotated[str, Field(description="pour, top_up or refill")]
    earliest: Moment
    latest: Moment


class EventShape(TypedDict):
    """Something that happened to a mould."""

    mould: str
    event: str
    at: Moment
    detail: str


class PastShape(TypedDict):
    """One earlier cast."""

    cast: str
    began_at: Moment
    tipped_at: Moment
    minutes: float | None
    drop_mm: Millimetres
    drop_sigma_mm: Millimetres
    wall_mm: Millimetres
    verdict: str


class MouldPageShape(TypedDict):
    """One mould with its series, curve, events and earlier casts."""

    now: Moment
    bench_id: str
    zone: str
    mould: MouldShape
    readings: list[ReadingShape]
    fillings: list[FillingShape]
    curve: CurveShape
    events: list[EventShape]
    history: list[PastShape]


class EventsShape(TypedDict):
    """What happened on this bench in this session."""

    events: list[EventShape]


class ErrorBody(TypedDict):
    """What was wrong."""

    code: Annotated[str, Field(description="short and stable, for programs")]
    say: Annotated[str, Field(description="a sentence for people")]
    field: Annotated[str, Field(description="the key that was wrong; empty: none in particular")]


class ErrorShape(TypedDict):
    """The one shape of every refusal."""

    error: ErrorBody
