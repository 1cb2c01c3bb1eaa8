"""What the eyes of one camera carry from one look to the next. Nothing here is ever changed in place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from watcher.records.readings import Contents
from watcher.vision.gate import RingPlan
from watcher.vision.hmm import Belief
from watcher.vision.holes import HolePlace
from watcher.vision.likelihood import RegionPlan
from watcher.vision.pose import CameraPose
from watcher.vision.strip import StripPlan
from watcher.vision.tagcheck import CheckPlan
from watcher.vision.tags import Patch

Array = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class TagTrack:
    """A tag's averaged corners, in pixels and straightened (4, 2), over `count` looks."""

    corners_px: Array
    corners: Array
    count: int


@dataclass(frozen=True, slots=True)
class HolePlans:
    """All that is worked out once per pose for one pour hole."""

    strip: StripPlan
    regions: RegionPlan
    ring: RingPlan


@dataclass(frozen=True, slots=True)
class PastLook:
    """The hole's brightness (J, S), in hundredths of the ring's, when the slip stood at `level_mm`."""

    taken_s: float
    level_mm: float
    luma: Floats


@dataclass(frozen=True, slots=True)
class HoleLooks:
    """How one pour hole looked before, in its own coordinates.

    Attributes
    ----------
    ring : ndarray (3, N, 3) or None
        The accepted look of the plaster around it. [grey levels]
    empty : ndarray (J, S, 3) or None
        Sector profiles of the empty hole in hundredths of the ring's brightness.
    rim : ndarray (J, S, 3) or None
        What the rim's rounding and blur add to the empty wall right below it, same units; 0 further down.
    rim_mm : float or None
        Where the top is seen to end, below the drawn rim: a rounded rim ends lower. [mm]
    last : ndarray (J, S, 3) or None
        Profiles of the last clear look, in hundredths of the ring's brightness.
    past : tuple of PastLook
        Clear looks at the filling, oldest first.
    """

    ring: Floats | None = None
    empty: Floats | None = None
    rim: Floats | None = None
    rim_mm: float | None = None
    last: Floats | None = None
    past: tuple[PastLook, ...] = ()


@dataclass(frozen=True, slots=True)
class Over:
    """What lies over a hole: the picture across its rim (N, M, 3), and since when it has stayed so."""

    patch: Floats
    since_s: float


@dataclass(frozen=True, slots=True)
class MouldMemory:
    """What is known of one mould.

    Attributes
    ----------
    placement : int
        How often it was found standing somewhere new.
    places : tuple of HolePlace
        One per pour hole; empty while the mould is not found.
    plans, looks : tuple
        One per pour hole.
    contents : Contents
    filled_s : float or None
        When slip was seen to come in.
    belief : Belief or None
        Where the level is, over the depth rows of the first hole.
    level_mm : float or None
        The last level read. [mm]
    read_s : float or None
        When that was.
    top_mm : float or None
        The highest level of this filling. [mm]
    mark_mm : float or None
        The highest place that clay of this filling touched. [mm]
    light : tuple of float or None
        Brightness and colour of the ring at the last level read.
    light_mm : float
        By how much the line is seen lower in the present light than in the light of the first level. [mm]
    filling : bool
        Clay is on the wall but the slip may still be rising.
    rim_seen_mm : tuple of (float, float)
        Shifts at which the empty rim was seen so far, while its place is being checked. [mm]
    offset_mm : tuple of float
        How far (x, y) the rim was found from where the card or the settings say, in the bench frame. [mm]
    clear_s : float or None
        Moment of the last look with nothing in the way.
    disturbed_s : float or None
        Moment since when something has been in the way or the card missing.
    stirred_s : float or None
        Last moment at which a hand, a pour or a move was seen.
    poured_s : float or None
        Last moment at which the hole itself looked as if slip had come in.
    odd_since_s : float or None
        Since when something has been in the way, or the mould gone.
    tilt_deg : float or None
        The card's tilt against the level. [deg]
    returned : bool
        It was away and came back: then it is bare until slip is seen to come in.
    moved : bool
        It stands somewhere new, or its card was not seen, and it has not been looked into since.
    low : tuple of float or None
        Look of the hole's depth at the last clear look.
    still_mm, still_since_s : float or None
        The level that the readings have not left since then, and when that was. [mm, s]
    proven : bool
        False where slip was judged by eye alone, in a hole never seen empty, and has not sunk yet.
    beside : tuple of MouldMemory
        What the second and further pour holes know for themselves; what stands here is the first's.
    over : Over or None
        What lies over the hole just now.
    rim_usual, rim_looks : float or None, int
        Share of the rim in which an edge shows when nothing lies over it, and over how many looks.
    calm_looks : int
        How many looks since the last pour have shown the slip's surface smooth.
    calm_unrest : float or None
        How restless the slip's surface was when it lay smooth, against the plaster beside it.
    restless : bool
        The slip's surface was not smooth in the last look: froth, perhaps.
    off_mm, off_looks : float, int
        By how much this hole is read deeper than all holes together, and over how many looks. [mm]
    """

    placement: int = 0
    places: tuple[HolePlace, ...] = ()
    plans: tuple[HolePlans, ...] = ()
    looks: tuple[HoleLooks, ...] = ()
    contents: Contents = Contents.UNKNOWN
    filled_s: float | None = None
    belief: Belief | None = None
    level_mm: float | None = None
    top_mm: float | None = None
    read_s: float | None = None
    mark_mm: float | None = None
    light: tuple[float, float] | None = None
    light_mm: float = 0.0
    filling: bool = False
    rim_seen_mm: tuple[tuple[float, float], ...] = ()
    offset_mm: tuple[float, float] = (0.0, 0.0)
    clear_s: float | None = None
    disturbed_s: float | None = None
    stirred_s: float | None = None
    poured_s: float | None = None
    odd_since_s: float | None = None
    tilt_deg: float | None = None
    returned: bool = False
    moved: bool = False
    low: tuple[float, float, float] | None = None
    proven: bool = True
    jump_mm: float | None = None
    fill_mark_mm: float | None = None
    still_mm: float | None = None
    still_since_s: float | None = None
    beside: tuple[MouldMemory, ...] = ()
    off_mm: float = 0.0
    off_looks: int = 0
    over: Over | None = None
    rim_usual: float | None = None
    rim_looks: int = 0
    calm_looks: int = 0
    calm_unrest: float | None = None
    restless: bool = False


@dataclass(frozen=True, slots=True)
class Eyes:
    """Memory of one camera: its pose, its tags, its moulds by name.

    `tried` holds what lies where a missing tag was last, as it looked at the last search there.
    """

    camera: CameraPose | None = None
    tags: Mapping[int, TagTrack] = field(default_factory=lambda: MappingProxyType({}))
    check: CheckPlan | None = None
    moulds: Mapping[str, MouldMemory] = field(default_factory=lambda: MappingProxyType({}))
    looks: int = 0
    searched_look: int = -1000
    last_s: float | None = None
    first_s: float | None = None
    tried: Mapping[int, Patch] = field(default_factory=lambda: MappingProxyType({}))
