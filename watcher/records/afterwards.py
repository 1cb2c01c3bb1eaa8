"""What became of a cast: how it came out, its faults, its piece with a number; and a mould on the scale."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class FindingKind(StrEnum):
    """What was found on a cast, at once or weeks later. All but `clean` are faults."""

    CLEAN = "clean"  # it came out of the mould as it should
    THIN = "thin"
    THICK = "thick"
    HOT_SPOT = "hot_spot"  # a mark where the stream hit; may show only in the glaze
    SLUMPED = "slumped"
    STUCK = "stuck"
    CRACK = "crack"
    PINHOLES = "pinholes"
    TRAPPED_SLIP = "trapped_slip"
    OTHER = "other"  # the note says what


class CameOut(StrEnum):
    """How a cast came out of its mould, in one tap."""

    CLEAN = "clean"
    STUCK = "stuck"
    SLUMPED = "slumped"


class PieceStep(StrEnum):
    """Where a piece is on its way."""

    GREENWARE = "greenware"
    FETTLED = "fettled"
    BISQUE = "bisque"
    GLAZED = "glazed"
    SCRAPPED = "scrapped"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found on one cast.

    Attributes
    ----------
    finding_id : int
        The number of its row.
    at : datetime
        When it was noted, aware, UTC.
    """

    finding_id: int
    cast_id: str
    kind: FindingKind
    at: datetime
    note: str = ""
    who: str = ""


@dataclass(frozen=True, slots=True)
class PieceMark:
    """One step of a piece; `cone` as it is stamped, with a firing."""

    step: PieceStep
    at: datetime
    cone: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Piece:
    """What came of a cast. `number` is unique on its bench; `marks` are its steps, oldest first."""

    number: int
    cast_id: str
    mould: str
    made_at: datetime
    marks: tuple[PieceMark, ...] = ()

    @property
    def scrapped(self) -> bool:
        """Whether it ended as scrap."""
        return any(mark.step is PieceStep.SCRAPPED for mark in self.marks)


@dataclass(frozen=True, slots=True)
class MouldWeighed:
    """A mould was put on the scale, straps off. [kg]."""

    mould: str
    at: datetime
    weight_kg: float


class ToldKind(StrEnum):
    """What the caster tells of a mould that no camera sees."""

    RECLAIM = "reclaim"  # spare and trimmings of a cast, kept for the tank
    UNWATCHED = "unwatched"  # a cast was made while nobody watched
    DRIER = "drier"  # it stood in a drier


@dataclass(frozen=True, slots=True)
class Told:
    """Something told of a mould.

    Attributes
    ----------
    told_id : int
        The number of its row.
    mould : str
    kind : ToldKind
    at : datetime
        When it was kept, poured, or taken out of the drier; aware, UTC.
    amount : float
        Reclaim in g, as wet as it is; casts; hours in the drier.
    warmth_c : float or None
        Of the drier. [C]
    cast_id : str
        The cast that the reclaim is of.
    """

    told_id: int
    mould: str
    kind: ToldKind
    at: datetime
    amount: float
    warmth_c: float | None = None
    cast_id: str = ""
