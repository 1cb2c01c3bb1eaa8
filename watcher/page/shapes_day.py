"""The shape of what the slip page and the day page answer."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field
from typing_extensions import TypedDict

from watcher.page.shapes import Moment
from watcher.page.shapes_told import ReclaimShape


class PastCheckShape(TypedDict):
    """One kept check of the slip."""

    version: int
    kept_at: Moment
    specific_gravity: float
    verdict: Annotated[str, Field(description="good, too_thick, too_thin, gels, runs, or empty")]
    temperature_c: float | None
    flow_s: float | None


class SlipFlowShape(TypedDict):
    """A flow time; it only compares with others of this cup."""

    seconds: float
    cup: str | None
    only_compares: str
    misfit: str


class ThixotropyShape(TypedDict):
    """How much longer it runs after standing."""

    ratio: float
    stood_min: float


class SlipBandShape(TypedDict):
    """The caster's own band."""

    sg_low: float
    sg_high: float
    flow_low_s: float | None
    flow_high_s: float | None


class SlipEffectShape(TypedDict):
    """What one slip does beside another."""

    water_per_cake_before: float
    water_per_cake_after: float
    time_ratio: float
    time_ratio_low: float
    time_ratio_high: float
    drop_ratio: float


class MendingShape(TypedDict):
    """How the tank is brought to the middle of the band."""

    goal_sg: float
    water_l: float | None
    thicker_l: float | None
    powder_kg: float | None
    effect: SlipEffectShape | None


class SlipCheckShape(TypedDict):
    """A check of the slip, worked through."""

    measure: str
    reading: float
    specific_gravity: float
    litre_g: float
    dry_g_per_litre: float
    water_g_per_litre: float
    stirred: bool
    temperature_c: float | None
    time_ratio_to_20_c: float | None
    flow: SlipFlowShape | None
    thixotropy: ThixotropyShape | None
    band: SlipBandShape | None
    verdict: Annotated[str | None, Field(description="null: no band was given, and none is known")]
    stir_min: float | None
    rest_min: float | None
    tank_l: float | None
    mending: MendingShape | None
    beside_bench: SlipEffectShape | None
    kept_version: Annotated[int | None, Field(description="null: not kept")]
    own_band_since: Annotated[str | None, Field(description="day of the check whose band was used")]


class SlipShape(TypedDict):
    """The slip that the bench goes by, and the checks that were kept."""

    now: Moment
    zone: str
    specific_gravity: Annotated[float, Field(description="that new casts go by")]
    cake_solids_fraction: float
    water_per_cake: float
    kept_at: Annotated[Moment, Field(description="when today's slip was kept; null: as in the bench's file")]
    checks: Annotated[list[PastCheckShape], Field(description="newest first")]
    last: Annotated[dict[str, str | float | bool | list[float]], Field(description="as it was last measured")]
    reclaim: Annotated[list[ReclaimShape], Field(description="spare and trimmings, newest day first")]


class MouldWishShape(TypedDict):
    """What is wanted of one mould today, and what it did."""

    mould: str
    pots: int | None
    poured: Annotated[int, Field(description="casts begun today")]
    skipped: bool
    dry_kg: float | None
    planned: Annotated[bool, Field(description="false: it has no wanted wall that it is tipped at")]


class PlanStepShape(TypedDict):
    """One thing that hands do; `low` and `high` are the 80 % range of a tip."""

    at: Moment
    minutes: float
    mould: str
    cast: int
    what: Annotated[str, Field(description="pour, top_up, tip or demould")]
    low: Moment
    high: Moment


class RunningShape(TypedDict):
    """A cast that stands on the bench already."""

    mould: str
    ready_at: Moment
    low: Moment
    high: Moment


class NextPourShape(TypedDict):
    """The simple answer."""

    mould: Annotated[str | None, Field(description="null: nothing more today, see why")]
    at: Moment
    wait_min: float | None
    ready_at: Moment
    ready_low: Moment
    ready_high: Moment
    why: str


class MissingShape(TypedDict):
    """A mould that gives fewer pots than wanted."""

    mould: str
    pots: int


class ChanceShape(TypedDict):
    """What simulated days came to."""

    days: int
    holds: Annotated[float, Field(description="share of days on which all tips were in time")]
    overdue_min: float
    spoiled: float


class PartPourShape(TypedDict):
    """One part of a set."""

    mould: str
    at: Moment
    poured: Annotated[bool, Field(description="today already")]


class SetShape(TypedDict):
    """A piece of several parts, poured so that they come leather-hard together."""

    name: str
    moulds: list[str]
    pours: Annotated[list[PartPourShape], Field(description="in the order of pouring")]
    join_at: Annotated[Moment, Field(description="when all parts are leather-hard")]
    join_low: Moment
    join_high: Moment
    draw_slip_at: Annotated[Moment, Field(description="when to draw slip for joining, to thicken")]
    together: Annotated[bool, Field(description="false: the day's plan has no room for it as a set")]
    apart_min: Annotated[float | None, Field(description="how far apart its parts come in the day's plan")]
    why: Annotated[str, Field(description="why there is no plan; empty when there is one")]


class DayPlanShape(TypedDict):
    """The day: what is wanted, the next pour, and with a closing time the whole plan."""

    now: Moment
    zone: str
    bench_id: str
    day: str
    closing: Annotated[str, Field(description="HH:MM in the bench's zone; empty: only the next pour")]
    closing_at: Moment
    hands: int
    room_c: float
    room_rh: float
    dampest: float
    most_casts: int
    drain_min: float
    set_min: float
    moulds: list[MouldWishShape]
    next: NextPourShape
    running: list[RunningShape]
    steps: list[PlanStepShape]
    pots: int
    missing: list[MissingShape]
    ends_at: Moment
    chance: ChanceShape | None
    notes: list[str]
    why: Annotated[str, Field(description="why there is no plan; empty when there is one")]
    sets: list[SetShape]
