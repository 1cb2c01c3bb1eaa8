"""The shape of what the review answers: days, casts, their pictures, faults, stories and lessons."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field
from typing_extensions import TypedDict

from watcher.page.shapes import CurvePoint, EventShape, FillingShape, Millimetres, Moment, ReadingShape
from watcher.page.shapes_told import ToldShape

Fault = Annotated[str, Field(description="thin, thick, hot_spot, slumped, stuck, crack, pinholes, ...")]


class RangeShape(TypedDict):
    """A value with its 80 % range; null ends are unknown or without end."""

    value: float | None
    low: float | None
    high: float | None


class DayShape(TypedDict):
    """One day on which something was cast."""

    day: Annotated[str, Field(description="YYYY-MM-DD in the bench's zone")]
    casts: int


class PastCastShape(TypedDict):
    """One cast in the row of its day."""

    cast: str
    mould: str
    number_today: int
    began_at: Moment
    full_at: Moment
    tipped_at: Moment
    minutes: Annotated[float | None, Field(description="from full to the tip")]
    wall: RangeShape | None
    target_wall_mm: Millimetres
    measured_mm: Annotated[Millimetres, Field(description="wall as the caster measured it")]
    verdict: str
    faults: list[Fault]
    notes: list[str]
    piece: Annotated[int | None, Field(description="number of the piece that came of it")]
    leaking: bool
    one_spot_s: Annotated[
        float | None,
        Field(description="how long its pour fell on one spot, s: a hot-spot risk; null: none seen"),
    ]


class ReviewShape(TypedDict):
    """One day as a row of casts, and which days there are."""

    now: Moment
    zone: str
    bench_id: str
    day: str
    days: Annotated[list[DayShape], Field(description="newest first")]
    casts: Annotated[list[PastCastShape], Field(description="of that day, oldest first")]


class CropShape(TypedDict):
    """One kept picture of a pour hole."""

    at: Moment
    stamp: Annotated[int, Field(description="for /crop/{stamp}/{mould}.jpg: milliseconds since 1970")]


class FindingShape(TypedDict):
    """Something found on a cast."""

    id: int
    kind: Annotated[str, Field(description="clean, or a fault")]
    at: Moment
    note: str
    who: str


class StepShape(TypedDict):
    """One step of a piece."""

    step: Annotated[str, Field(description="greenware, fettled, bisque, glazed or scrapped")]
    at: Moment
    cone: str
    note: str


class PieceShape(TypedDict):
    """A piece with its number."""

    number: int
    cast: str
    mould: str
    made_at: Moment
    steps: list[StepShape]
    faults: list[Fault]


class CastShape(TypedDict):
    """One cast whole: readings, what was said of it minute by minute, pictures, what became of it."""

    now: Moment
    zone: str
    cast: PastCastShape
    target_thick_mm: Millimetres
    readings: list[ReadingShape]
    fillings: list[FillingShape]
    points: Annotated[list[CurvePoint], Field(description="wall as it was told at each moment; levels null")]
    drop: Annotated[RangeShape | None, Field(description="how far it sank in all, mm")]
    events: list[EventShape]
    crops: list[CropShape]
    film: Annotated[bool, Field(description="whether /film/{id}.mp4 has these pictures as one film")]
    findings: list[FindingShape]
    piece: PieceShape | None


class FaultCountShape(TypedDict):
    """Casts with something in common, and on how many of them each fault was noted."""

    group: str
    casts: int
    with_fault: int
    counts: dict[str, int]


class FaultsShape(TypedDict):
    """How often each fault happens."""

    days: Annotated[int, Field(description="how far back was counted")]
    casts: int
    scrapped: Annotated[int, Field(description="pieces that ended as scrap")]
    by_mould: list[FaultCountShape]
    by_number: Annotated[list[FaultCountShape], Field(description="by the cast's number on its day")]
    by_slip: Annotated[list[FaultCountShape], Field(description="by the slip's gravity when it was poured")]


class LessonShape(TypedDict):
    """One thing worth changing."""

    kind: str
    mould: str
    casts: int
    share: float
    touched: Annotated[float, Field(description="about how many casts it touched")]
    since: Moment
    causes: list[str]
    fault: str
    one_spot: Annotated[int, Field(description="casts with a hot spot whose stream stayed on one spot")]


class WeekShape(TypedDict):
    """The things most worth changing in the last seven days, at most three."""

    now: Moment
    zone: str
    casts: int
    lessons: list[LessonShape]


class StoryPointShape(TypedDict):
    """One cast of a mould's story."""

    cast: str
    began_at: Moment
    number_today: int
    k: Annotated[RangeShape | None, Field(description="L2/t, mm2/min")]
    wall: RangeShape | None
    measured_mm: Millimetres
    minutes: float | None
    faults: list[Fault]


class ScoreShape(TypedDict):
    """How forecasts at one share of the cast's time did, against the last word before the tip."""

    share: float
    casts: int
    median_off: Annotated[float, Field(description="as a share of the cast's time")]
    worst_off: float
    held: Annotated[int, Field(description="casts whose 80 % range held")]


class WallCheckShape(TypedDict):
    """A wall that the caster measured beside the one that was shown."""

    cast: str
    measured_mm: float
    shown: RangeShape


class TipShape(TypedDict):
    """How far the slip had sunk when an earlier cast was tipped."""

    cast: str
    tipped_at: Moment
    drop_mm: float
    sigma_mm: float
    verdict: str
    course: Annotated[list[tuple[float, float]], Field(description="minutes since full, mm sunk")]


class HandlingShape(TypedDict):
    """Strapping and lifting one mould."""

    straps: int
    push_n: Annotated[float, Field(description="what the slip pushes the joint open with, N")]
    head_mm: float
    width_mm: Annotated[float, Field(description="mean width of the cavity, mm")]
    slip_l: float
    full_kg: Annotated[float | None, Field(description="full and damp, kg; null: never weighed")]


class StoryShape(TypedDict):
    """A mould over its casts."""

    now: Moment
    zone: str
    mould: str
    target_wall_mm: Millimetres
    target_thick_mm: Millimetres
    points: Annotated[list[StoryPointShape], Field(description="oldest first")]
    k_after_100: Annotated[RangeShape | None, Field(description="K after 100 more casts over K now")]
    score: list[ScoreShape]
    wall_checks: list[WallCheckShape]
    last_tips: Annotated[list[TipShape], Field(description="the last three, newest first")]
    free_water: Annotated[RangeShape | None, Field(description="in the plaster now; null: never weighed")]
    dry_in_h: RangeShape | None
    dry_kg: float | None
    demould_min: Annotated[RangeShape | None, Field(description="from the tip to demoulding, min")]
    demould_taught_by: Annotated[int, Field(description="casts that came clean and taught it")]
    handling: Annotated[HandlingShape | None, Field(description="null: the cavity is not known")]
    faults: dict[str, int]
    told: Annotated[list[ToldShape], Field(description="what the caster told of it last, newest first")]


class RackRowShape(TypedDict):
    """One mould on the rack."""

    mould: str
    word: Annotated[str, Field(description="ready, perhaps, needs_rack, dry or casting")]
    dry_in_h: RangeShape | None
    free_water: RangeShape | None
    casts_today: int
    weighed: bool


class RackShape(TypedDict):
    """Which moulds are ready for tomorrow."""

    now: Moment
    zone: str
    until: Moment
    room_c: float
    room_rh: float
    room_word: Annotated[str, Field(description="fine, warm or too_hot")]
    most_c: Annotated[float, Field(description="the warmest drying place that is ever suggested, C")]
    moulds: list[RackRowShape]


class PiecesShape(TypedDict):
    """All pieces with their numbers."""

    now: Moment
    zone: str
    pieces: Annotated[list[PieceShape], Field(description="newest first")]
    scrapped: int
    cones: Annotated[list[str], Field(description="cones whose temperature is known")]
