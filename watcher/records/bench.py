"""The whole present of one bench: every mould, every cast under way, every alert. Replaced as a whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from types import MappingProxyType

from models.cast_prior import PastSpeed
from models.fit import AbsorptionFit, CannotFit
from models.slip import Slip
from models.tip import TipEstimate
from watcher.records.after_tip import AfterTip, PastSetting
from watcher.records.layout import BenchLayout
from watcher.records.notices import Alert, Kind, Notice
from watcher.records.readings import Contents, HoleSighting, Sighting
from watcher.records.said import What
from watcher.records.streams import OneSpot, StreamPoint


class Stage(StrEnum):
    """Where a mould is in its cast."""

    ABSENT = "absent"
    EMPTY = "empty"
    FILLING = "filling"
    CASTING = "casting"
    TIPPED = "tipped"
    DRAINING = "draining"
    UPRIGHT = "upright"
    DEMOULDED = "demoulded"


PHASE: Mapping[Stage, str] = MappingProxyType(
    {
        Stage.ABSENT: "absent",
        Stage.EMPTY: "empty",
        Stage.FILLING: "filling",
        Stage.CASTING: "casting",
        Stage.TIPPED: "tipped",
        Stage.DRAINING: "tipped",
        Stage.UPRIGHT: "tipped",
        Stage.DEMOULDED: "empty",
    }
)
"""The coarse phase (absent, empty, filling, casting, tipped) that each stage belongs to."""


class Forecast(StrEnum):
    """How near the tip is. Apart from the stage, and apart from the alarm."""

    NONE = "none"
    SOON = "soon"
    READY = "ready"
    LATE = "late"


class FillingKind(StrEnum):
    """How slip came into the mould."""

    POUR = "pour"
    TOP_UP = "top_up"
    REFILL = "refill"  # tipped too soon and filled again at once


@dataclass(frozen=True, slots=True)
class Reading:
    """One level that counts in a cast's series. Times in seconds of the bench's steady clock.

    `clay_mm`, `mm_per_clay_mm` and `rim_share` are those of `LevelReading`.
    """

    at_s: float
    level_mm: float
    sigma_mm: float
    drift_sigma_mm: float
    placement: int
    clay_mm: float = 0.0
    mm_per_clay_mm: float = 0.0
    rim_share: float = 0.0


@dataclass(frozen=True, slots=True)
class Filling:
    """Slip came in: completed somewhere between `earliest_s` and `latest_s`; the readings since then."""

    kind: FillingKind
    earliest_s: float
    latest_s: float
    readings: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True)
class NotYet:
    """No estimate, and the plain reason."""

    why: str


@dataclass(frozen=True, slots=True)
class Cast:
    """One filling of one mould, from the pour to the demoulding."""

    cast_id: str
    mould: str
    number_today: int
    began_s: float
    began_at: datetime
    fillings: tuple[Filling, ...]
    fit: AbsorptionFit | CannotFit | None = None
    estimate: TipEstimate | NotYet = NotYet("the pour has just begun")
    forecast: Forecast = Forecast.NONE
    tipped_s: float | None = None
    tipped_at: datetime | None = None
    leaking: bool = False
    after: AfterTip = field(default_factory=AfterTip)


@dataclass(frozen=True, slots=True)
class Before:
    """A mould as it stood before the caster's last word about it, so that the word can be taken back."""

    what: What
    at_s: float
    stage: Stage
    cast: Cast | None
    casts_today: int


@dataclass(frozen=True, slots=True)
class MouldState:
    """One mould now. `doubt_since_s`: since when what is seen contradicts the stage, unconfirmed."""

    name: str
    stage: Stage = Stage.EMPTY
    cast: Cast | None = None
    last_look: HoleSighting | None = None
    last_look_s: float | None = None
    last_empty_s: float | None = None  # last time the hole was seen empty
    last_read_s: float | None = None  # last time its level was measured
    last_read_at: datetime | None = None
    doubt: Contents | None = None
    doubt_since_s: float | None = None
    pending: tuple[Reading, ...] = ()  # readings that do not fit, waiting for a second one that agrees
    casts_today: int = 0
    in_service: bool = True
    notes: tuple[str, ...] = ()
    before_word: Before | None = None
    hand_seen: bool = False  # a hand was near since the hole was last seen empty
    stream: tuple[StreamPoint, ...] = ()  # where slip was seen to fall in, in the last minutes
    one_spot: OneSpot | None = None  # where the present cast's pour stayed for too long


@dataclass(frozen=True, slots=True)
class BenchEvent:
    """Something that happened to a mould (or, with an empty name, to the bench), at the tick it came."""

    mould: str
    event: str
    at_s: float
    at: datetime
    detail: str = ""


@dataclass(frozen=True, slots=True)
class CallRules:
    """When to call. Minutes as the caster thinks of them; `soon` also scales with short casts."""

    soon_min: float = 4.0
    soon_share: float = 0.25  # never sooner than this share of the cast's time before the tip
    blind_min: float = 3.0  # a mould under cast not read for so long is called blind
    camera_blind_min: float = 1.0  # a camera that gives no picture for so long is called blind
    top_up_min: float = 5.0  # a top-up is foretold so long ahead; also scales with short casts
    again_min: tuple[float, ...] = (
        3.0,
        6.0,
        10.0,
    )  # after the call, as long as nobody answers: steps 1, 2 ...
    hands_hold_min: float = 3.0  # hands at the bench hold a louder call back for so long at most
    silent_until: datetime | None = None  # record, do not call


@dataclass(frozen=True, slots=True)
class Bench:
    """The whole present. `now_s` is the newest moment that any input brought.

    `zone` is the bench's time zone (IANA); `day` the newest local day, from which casts are numbered anew.
    """

    bench_id: str
    layout: BenchLayout
    slip: Slip
    rules: CallRules = CallRules()
    now_s: float = 0.0
    now_at: datetime | None = None
    moulds: Mapping[str, MouldState] = field(default_factory=lambda: MappingProxyType({}))
    alerts: tuple[Alert, ...] = ()
    camera_why: str = ""  # plain sentence while the camera cannot be used
    camera_bad_s: float | None = None  # since when it cannot; short recoveries do not count
    camera_well_s: float | None = None  # since when it can again
    hands_s: float | None = None  # when a hand was last seen at the bench
    faults: Mapping[Kind, str] = field(default_factory=lambda: MappingProxyType({}))  # beyond the camera: why
    silences: Mapping[str, str] | None = (
        None  # other benches not heard, by call: what is known; None: not asked
    )
    troubles: tuple[str, ...] = ()  # what else does not work just now (memory, phone), a plain sentence each
    last_frame_s: float | None = None
    last_sighting: Sighting | None = None
    zone: str = "UTC"
    day: date | None = None
    setting: Mapping[str, PastSetting] = field(default_factory=lambda: MappingProxyType({}))  # by mould
    past: Mapping[str, tuple[PastSpeed, ...]] = field(
        default_factory=lambda: MappingProxyType({})
    )  # by mould
    slips: tuple[tuple[float, Slip], ...] = ()  # kept since: from which moment on, oldest first

    def slip_at(self, moment_s: float) -> Slip:
        """Return the slip that a cast poured at that moment goes by: the one kept last before it."""
        return next((slip for from_s, slip in reversed(self.slips) if from_s <= moment_s), self.slip)


@dataclass(frozen=True, slots=True)
class Step:
    """What one input led to: the new bench, what happened, what is to be told."""

    bench: Bench
    events: tuple[BenchEvent, ...] = ()
    to_send: tuple[Notice, ...] = ()
