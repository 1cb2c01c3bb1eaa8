"""What the set-up pages show: plain figures and sentences, the same on the page and as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

Points = tuple[tuple[float, float], ...]
"""Points (x, y) in the camera's picture. [px]"""


class StepState(StrEnum):
    """Where a step stands."""

    DONE = "done"
    MISSING = "missing"
    LATER = "later"  # not needed for the first cast
    WRONG = "wrong"


@dataclass(frozen=True, slots=True)
class StepShown:
    """One step: its short name, how it stands, and a sentence (empty where its state says all)."""

    step: str
    state: StepState
    says: str = ""


@dataclass(frozen=True, slots=True)
class Told:
    """What came of something asked.

    `said`: sentences; `question`: what must be confirmed before it is done (empty: it was done); `picture_id`
    changes when there is a new picture to look at.
    """

    said: tuple[str, ...] = ()
    question: str = ""
    picture_id: str = ""


@dataclass(frozen=True, slots=True)
class ElsewhereShown:
    """A mould of another bench: versions of its profile, casts remembered of it, whether it is cast now."""

    bench_id: str
    name: str
    versions: int
    casts: int
    casting: bool


@dataclass(frozen=True, slots=True)
class CameraShown:
    """The camera. `address` is masked, empty where none was chosen; `why`: why there is no picture."""

    address: str
    width_px: int
    height_px: int
    found: tuple[str, ...]
    why: str
    picture_id: str
    fixed: bool


@dataclass(frozen=True, slots=True)
class CardShown:
    """A mould's card: its name and its number."""

    name: str
    number: int


@dataclass(frozen=True, slots=True)
class CardsShown:
    """The print: cards, the two lines as drawn [mm], and whether they were measured."""

    cards: tuple[CardShown, ...]
    ruler_mm: float
    ruler_up_mm: float
    printed: bool
    measured: bool
    scale: float


@dataclass(frozen=True, slots=True)
class LensShown:
    """The lens. `kind`: none, guess or measured; `said`: about the last picture of the board."""

    kind: str
    says: str
    views: int
    missing: tuple[str, ...]
    said: str
    picture_id: str


@dataclass(frozen=True, slots=True)
class SheetShown:
    """What the last look at the bench found; `seen` False with the reason in `says`."""

    seen: bool
    says: tuple[str, ...]
    picture_id: str


@dataclass(frozen=True, slots=True)
class StripShown:
    """The survey of a strip. `views`: the tags in each kept picture; `placed`: those whose place is known."""

    views: tuple[tuple[int, ...], ...]
    placed: tuple[int, ...]
    says: tuple[str, ...]
    picture_id: str


@dataclass(frozen=True, slots=True)
class HoleShown:
    """How well a hole will be read from here, and what would help."""

    name: str
    how_well: str
    level_sigma_mm: float | None
    lost_below_mm: float | None
    says: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MouldShown:
    """A mould that was taken in."""

    name: str
    card: int | None
    rim_mm: float
    thin_mm: float | None
    thick_mm: float | None
    water_ml: float | None
    way: str
    watched: bool


@dataclass(frozen=True, slots=True)
class SeenCard:
    """A card in the picture; `mould`: whose it is, where that is known."""

    number: int
    mould: str
    corners: Points


@dataclass(frozen=True, slots=True)
class ShotShown:
    """The picture that a mould is taken in from: its size [px], its cards, the rims found."""

    picture_id: str
    width_px: int
    height_px: int
    says: tuple[str, ...]
    cards: tuple[SeenCard, ...]
    rims: tuple[Points, ...]


@dataclass(frozen=True, slots=True)
class ChannelShown:
    """A way to reach somebody; its address is masked."""

    name: str
    address: str


@dataclass(frozen=True, slots=True)
class TriedShown:
    """What became of a test call."""

    name: str
    fine: bool
    says: str


@dataclass(frozen=True, slots=True)
class WallShown:
    """A wanted wall by what the piece is for. [mm]."""

    use: str
    thin_mm: float
    thick_mm: float
    source: str


@dataclass(frozen=True, slots=True)
class CastShown:
    """A cast for a wall. `began_at`: UTC ISO 8601; `tipped` False: it stands there now."""

    cast_id: str
    began_at: str
    tipped: bool
    minutes: float | None
    verdict: str
