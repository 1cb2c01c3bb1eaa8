"""What one look at one frame found: per mould a level with its spread, or the reason why not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

Pixels = tuple[tuple[float, float], ...]
"""Points as (row, col) in the picture, [px]."""


class Missed(StrEnum):
    """The few reasons why a level could not be read."""

    HAND = "hand"  # a hand, tool or stream is in the way
    DARK = "dark"
    BLOWN_OUT = "blown_out"
    BLURRED = "blurred"
    OUT_OF_SIGHT = "out_of_sight"  # the level lies below what can be seen past the near rim
    SKINNED = "skinned"
    FROTHED = "frothed"
    COVERED = "covered"
    CARD_LOST = "card_lost"  # neither the mould's card nor its place can be found
    MOVED = "moved"  # camera or mould was moved and is not yet found again
    STALE = "stale"
    UNCERTAIN = "uncertain"  # there is something, but no line that earns trust
    NOT_GIVEN = "not_given"  # readings by hand: no row for this moment


class Contents(StrEnum):
    """What the picture says is in the pour hole."""

    EMPTY = "empty"  # bare cavity
    SLIP = "slip"  # slip stands in the hole (level read or not)
    AWAY = "away"  # the mould is not standing there upright (lifted, tipped, turned over)
    UNKNOWN = "unknown"  # cannot be told from this frame


@dataclass(frozen=True, slots=True)
class LevelReading:
    """A measured level. Fields of a hole seen from above its rim.

    Attributes
    ----------
    level_mm : float
        How far the slip lies below the rim, growing as it sinks. [mm]
    sigma_mm : float
        Standard deviation of its error, absolute (pose, film, meniscus included). [mm]
    drift_sigma_mm : float
        The part of it that changes from frame to frame: what is left in a drop between two frames. [mm]
    confidence : float
        Chance, 0 to 1, that this is the slip's line at all.
    clay_mm : float
        Thickness of clay on the wall that the reading was made with. [mm]
    mm_per_clay_mm : float
        By how much the level would read shallower for a millimetre more of it; 0 where no clay bears on it.
    rim_share : float
        How much of the pull of the rim's own edge is in the reading: near 1 close under the rim, 0 far below.
    clay_sigma_mm : float
        Standard deviation of that clay's thickness; what it makes of the level is part of `sigma_mm`. [mm]
    """

    level_mm: float
    sigma_mm: float
    drift_sigma_mm: float
    confidence: float = 1.0
    clay_mm: float = 0.0
    mm_per_clay_mm: float = 0.0
    rim_share: float = 0.0
    clay_sigma_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class HoleSighting:
    """One mould in one frame.

    `reading` is a level or the reason why not. `contents` is judged on its own: a hole can hold slip whose
    level is out of sight. `placement` counts how often this mould was found standing somewhere new: absolute
    levels of one placement share their pose error. `rim_rc` and `line_rc` are what to draw over the picture.
    """

    mould: str
    reading: LevelReading | Missed
    contents: Contents = Contents.UNKNOWN
    hand_near: bool = False
    placement: int = 0
    lost_below_mm: float | None = None  # from here the level is lost below this depth; None: not limited
    rim_rc: Pixels = ()
    line_rc: Pixels = ()


@dataclass(frozen=True, slots=True)
class Sighting:
    """Everything one frame told. `camera_moved`: the camera's pose changed against the last frame."""

    camera: str
    taken_s: float
    taken_at: datetime
    holes: tuple[HoleSighting, ...]
    camera_moved: bool = False
    camera_why: str = ""  # a plain sentence when the picture as a whole cannot be used; else empty
    frame_name: str = ""


@dataclass(frozen=True, slots=True)
class Expected:
    """What the bench expects to see in one hole: the memory that the eyes are given for the next look.

    Attributes
    ----------
    phase : str
        The cast's phase now (absent, empty, filling, casting, tipped).
    since_filled_s : float or None
        Age of the present filling. [s]
    level_mm, level_sigma_mm, speed_mm_per_s : float or None
        Where the level should be at the frame's moment, how surely, and how fast it sinks.
    cake_depths_mm, cake_mm : tuple of float
        Thickness of clay on the wall of the pour hole against depth below the rim, as the volume balance
        has it (cake below the level, film and cake left above it). Empty when nothing is known.
    cake_sigma_mm : float
        Standard deviation of that thickness, alike at all depths. [mm]
    """

    phase: str
    since_filled_s: float | None = None
    level_mm: float | None = None
    level_sigma_mm: float | None = None
    speed_mm_per_s: float | None = None
    cake_depths_mm: tuple[float, ...] = ()
    cake_mm: tuple[float, ...] = ()
    cake_sigma_mm: float = 0.0
