"""What truly happens in a simulated mould: cake and level through its fillings, by this module's own sums.

The cake at a depth depends only on how long slip has stood against it (its clock): L^2 + r L = K g(clock),
where g lets K fade as the plaster fills up. The level is where the slip that is left fits into what the cake
leaves free. Neither the eyes nor the estimate take part in it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from models.mould import MouldProfile

Array = npt.NDArray[np.float64]

STEP_S = 2.0
CELL_MM = 0.5


@dataclass(frozen=True, slots=True)
class SimCast:
    """One filling of one mould.

    Attributes
    ----------
    fill_from_s, filled_s : float
        When the pour begins and ends. [s]
    k_mm2_per_min : float
        How fast the plaster drinks. [mm2/min]
    resistance_mm : float
        The plaster's own resistance, as cake. [mm]
    fading_s : float
        K falls to half after this long; infinite: never. [s]
    mark_mm : float
        Depth below the rim that is filled to: a short fill has a large one. [mm]
    top_ups : tuple of (from, to)
        Pours back up to the mark. [s]
    tip_s, clean_s : float or None
        When the slip is poured out, and when the piece is taken out. [s]
    stream : tuple of (time, x, y)
        Where the stream of the pour crosses the rim's level, from its beginning on, in mm from the rim's
        centre in the bench frame; straight between. Empty: no stream is drawn.
    lost_ml : tuple of (time, ml)
        Slip that leaves without being drunk: a ladle, a leak, a bubble let go.
    """

    fill_from_s: float
    filled_s: float
    k_mm2_per_min: float
    resistance_mm: float = 0.2
    fading_s: float = float("inf")
    mark_mm: float = 2.0
    top_ups: tuple[tuple[float, float], ...] = ()
    tip_s: float | None = None
    clean_s: float | None = None
    lost_ml: tuple[tuple[float, float], ...] = ()
    stream: tuple[tuple[float, float, float], ...] = ()

    def stream_at(self, time_s: float) -> tuple[float, float] | None:
        """Return where the stream falls at a moment, (x, y) from the rim's centre; None when none does."""
        if not self.stream or not self.fill_from_s <= time_s < self.filled_s:
            return None
        since, x, y = zip(*self.stream, strict=True)
        after = time_s - self.fill_from_s
        return float(np.interp(after, since, x)), float(np.interp(after, since, y))


@dataclass(frozen=True, slots=True)
class Inside:
    """A mould's inside at one moment.

    Attributes
    ----------
    phase : str
        empty, filling, casting, topping_up or tipped.
    level_mm : float or None
        The slip's depth below the rim; None: no slip stands there. [mm]
    mark_mm : float or None
        Highest that the slip has stood in this cast: the upper edge of the clay on the wall. [mm]
    wall_mm : float
        Mean cake over the piece below the neck, floor included. [mm]
    depths_mm, clay_mm : ndarray of float, shape (n,)
        Thickness of the clay on the wall, measured level, against depth below the rim. [mm]
    """

    phase: str
    level_mm: float | None
    mark_mm: float | None
    wall_mm: float
    depths_mm: Array
    clay_mm: Array


@dataclass(frozen=True, slots=True)
class Opening:
    """One opening in cells of depth: half its long and short axis (0 where it is not), its wall's lean."""

    half_long_mm: Array
    half_short_mm: Array
    lean: Array

    def free_mm2(self, cake_mm: Array) -> Array:
        """Return the area that cake of these thicknesses leaves open, per cell."""
        ring = cake_mm * self.lean
        sides = np.maximum(self.half_long_mm - ring, 0.0) * np.maximum(self.half_short_mm - ring, 0.0)
        return np.asarray(np.pi * sides, dtype=np.float64)

    def wall_mm2(self) -> Array:
        """Return the area of bare wall, per cell (the round of an oval as that of the mean circle)."""
        round_mm = np.pi * (self.half_long_mm + self.half_short_mm)
        return np.asarray(round_mm * CELL_MM * self.lean, dtype=np.float64)


def hole_halves(profile: MouldProfile, k: int, depths_mm: Array) -> tuple[Array, Array]:
    """Half the long and the short axis of pour hole `k` at depths below the rim, in mm."""
    hole = profile.holes[k]
    depth, diameter = zip(*(hole.bore or profile.bore), strict=True)
    half = np.interp(depths_mm, depth, diameter) / 2.0
    if hole.axes_mm is None:
        return half, half
    narrowing = half / (diameter[0] / 2.0)
    return narrowing * hole.axes_mm[0] / 2.0, narrowing * hole.axes_mm[1] / 2.0


def openings(profile: MouldProfile, depths_mm: Array) -> list[Opening]:
    """Cut the cavity: its pour holes down to where they join, and the body below, if they are set apart."""
    apart = len(profile.holes) > 1 or bool(profile.holes[0].bore)
    ends = [hole.bore[-1][0] for hole in profile.holes if hole.bore]
    join_mm = (max(ends) if ends else profile.neck_mm) if apart else np.inf
    pairs = [(*hole_halves(profile, k, depths_mm), depths_mm < join_mm) for k in range(len(profile.holes))]
    if apart:
        body = profile.radius_mm(depths_mm)
        pairs.append((body, body, depths_mm >= join_mm))
    made = []
    for long_mm, short_mm, there in pairs:
        lean = np.minimum(np.hypot(1.0, np.gradient((long_mm + short_mm) / 2.0, CELL_MM)), 2.0)
        made.append(Opening(np.where(there, long_mm, 0.0), np.where(there, short_mm, 0.0), lean))
    return made


@dataclass(slots=True)
class CastingMould:
    """One mould that is stepped through its casts; asked for moments in growing order.

    Parameters
    ----------
    profile : MouldProfile
        Its bore and neck.
    casts : tuple of SimCast
        In order of time.
    slip_per_cake : float
        Volume of slip used up by one volume of cake, above 1.
    """

    profile: MouldProfile
    casts: tuple[SimCast, ...]
    slip_per_cake: float
    _depths: Array = field(init=False)
    _openings: list[Opening] = field(init=False)
    _clock: Array = field(init=False)
    _bare_mm2: Array = field(init=False)
    _layers: tuple[Array, SimCast, Array, Array] | None = field(init=False, default=None)
    _slip_mm3: float = field(init=False, default=0.0)
    _level: float = field(init=False, default=0.0)
    _mark: float = field(init=False, default=0.0)
    _now: SimCast | None = field(init=False, default=None)
    _phase: str = field(init=False, default="empty")
    _next: int = field(init=False, default=0)
    _step: int = field(init=False, default=-1)

    def __post_init__(self) -> None:
        self._depths = np.arange(CELL_MM / 2, self.profile.depth_mm, CELL_MM)
        self._openings = openings(self.profile, self._depths)
        self._bare_mm2 = self._free_of(np.zeros(len(self._depths)))
        self._clean()

    def at(self, time_s: float) -> Inside:
        """Return the inside at a moment not before the last one asked for, to within one step."""
        wanted = int(time_s // STEP_S)
        if wanted < self._step:
            raise ValueError(f"moments come in growing order; {time_s} s lies before the last one")
        while self._step < wanted:
            self._step += 1
            self._advance(self._step * STEP_S)
        return self._shown()

    def _clean(self) -> None:
        self._clock = np.zeros(len(self._depths) + 1)
        self._slip_mm3, self._level, self._phase = 0.0, self.profile.depth_mm, "empty"
        self._mark = self._level

    def _advance(self, t: float) -> None:
        if self._next < len(self.casts) and t >= self.casts[self._next].fill_from_s:
            self._clean()
            self._now, self._phase = self.casts[self._next], "filling"
            self._next += 1
        cast = self._now
        if cast is None:
            return
        if cast.clean_s is not None and t >= cast.clean_s:
            self._clean()
            self._now = None
        elif cast.tip_s is not None and t >= cast.tip_s:
            self._phase, self._slip_mm3 = "tipped", 0.0
        else:
            self._drink(cast)
            self._pour(cast, t)

    def _drink(self, cast: SimCast) -> None:
        before = self._clay_mm3(cast)
        wet = np.append(self._depths > self._level, self._slip_mm3 > 0.0)
        self._clock = self._clock + np.where(wet, STEP_S, 0.0)
        made = self._clay_mm3(cast) - before
        self._slip_mm3 = max(self._slip_mm3 - made * self.slip_per_cake, 0.0)
        self._settle(cast)

    def _pour(self, cast: SimCast, t: float) -> None:
        for lost_s, ml in cast.lost_ml:
            if t - STEP_S < lost_s <= t:
                self._slip_mm3 = max(self._slip_mm3 - ml * 1000.0, 0.0)
        pours = ((cast.fill_from_s, cast.filled_s), *cast.top_ups)
        now = [(start, end) for start, end in pours if start <= t < end]
        if not now:
            self._phase = "casting" if t >= cast.filled_s else "filling"
        else:
            start, end = now[0]
            room = self._free_mm3(cast, cast.mark_mm) - self._slip_mm3
            self._slip_mm3 += max(room, 0.0) * min(STEP_S / max(end - t, STEP_S), 1.0)
            self._phase = "filling" if start == cast.fill_from_s else "topping_up"
        self._settle(cast)

    def _grown(self, cast: SimCast) -> tuple[Array, Array]:
        """Return cake and open area at the present clock; worked out once, as several ask at every step."""
        kept = self._layers
        if kept is None or kept[0] is not self._clock or kept[1] is not cast:
            cake = self._cake(cast)
            kept = self._layers = (self._clock, cast, cake, self._free_of(cake[:-1]))
        return kept[2], kept[3]

    def _cake(self, cast: SimCast) -> Array:
        """Return the cake on every cell of the wall, and last on the floor, in mm."""
        if np.isinf(cast.fading_s):
            drunk = self._clock
        else:
            drunk = cast.fading_s * np.log1p(self._clock / cast.fading_s)
        r = cast.resistance_mm
        grown = (np.sqrt(r * r + 4.0 * cast.k_mm2_per_min / 60.0 * drunk) - r) / 2.0
        return np.asarray(grown, dtype=np.float64)

    def _free_of(self, cake_mm: Array) -> Array:
        return np.asarray(sum(opening.free_mm2(cake_mm) for opening in self._openings), dtype=np.float64)

    def _clay_mm3(self, cast: SimCast) -> float:
        cake, free = self._grown(cast)
        return float((self._bare_mm2 - free).sum() * CELL_MM + cake[-1] * free[-1])

    def _room(self, cast: SimCast) -> Array:
        """Return the free volume below the top of each cell, then zero, in mm3."""
        cake, open_mm2 = self._grown(cast)
        below = np.append(np.cumsum(open_mm2[::-1])[::-1], 0.0) * CELL_MM
        room = np.maximum(below - cake[-1] * open_mm2[-1], 0.0)
        return np.asarray(room, dtype=np.float64)

    def _free_mm3(self, cast: SimCast, depth_mm: float) -> float:
        return float(np.interp(depth_mm, self._edges(), self._room(cast)))

    def _edges(self) -> Array:
        return np.asarray(np.arange(len(self._depths) + 1) * CELL_MM, dtype=np.float64)

    def _settle(self, cast: SimCast) -> None:
        room = self._room(cast)
        self._level = float(np.interp(self._slip_mm3, room[::-1], self._edges()[::-1]))
        self._mark = min(self._mark, self._level)

    def _shown(self) -> Inside:
        cast = self._now
        if cast is None:
            return Inside("empty", None, None, 0.0, self._depths, np.zeros_like(self._depths))
        cake, _ = self._grown(cast)
        piece = np.append(self._depths > self.profile.neck_mm, True)
        wall_mm2 = sum(opening.wall_mm2() for opening in self._openings)
        floor_mm2 = self._bare_mm2[-1]
        area = np.append(wall_mm2, floor_mm2)
        wall = float(np.average(cake[piece], weights=area[piece]))
        standing = self._phase != "tipped" and self._slip_mm3 > 0.0
        level = self._level if standing else None
        return Inside(self._phase, level, self._mark, wall, self._depths, cake[:-1] * self._openings[0].lean)
