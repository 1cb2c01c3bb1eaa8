"""What happens inside a mould, by plain integration in time: the truth the pictures are drawn from.

Nothing here is shared with the product. Cake grows on every wetted patch of wall and floor by
dL/dt = K (1 - fall L/L_ref) / (2 L + r); the slip's volume pays for it, and the level is where the slip
that is left fits into the cavity less its cake.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

STEP_S = 0.5
CELL_MM = 0.25
SOLIDS_GRAVITY = 2.6


@dataclass(frozen=True, slots=True)
class Cavity:
    """Inside of a mould: (depth below the rim, diameter) pairs, and where the piece begins; all mm."""

    bore: tuple[tuple[float, float], ...]
    neck_mm: float

    @property
    def floor_mm(self) -> float:
        """Depth of the floor."""
        return self.bore[-1][0]

    def radius(self, depth_mm):
        """Radius of the bare wall at a depth (or an array of depths)."""
        depths, diameters = np.array(self.bore).T
        return np.interp(depth_mm, depths, diameters) / 2.0


@dataclass(frozen=True, slots=True)
class Slip:
    """Density of the slip and solids share (by volume) of the cake it leaves."""

    specific_gravity: float
    cake_solids_fraction: float

    @property
    def slip_per_cake(self) -> float:
        """Volume of slip used up by one volume of cake."""
        solids = (self.specific_gravity - 1.0) / (SOLIDS_GRAVITY - 1.0)
        return self.cake_solids_fraction / solids


@dataclass(frozen=True, slots=True)
class Cast:
    """One filling of one mould: when, how fast it drinks, what is done to it."""

    fill_from_s: float
    filled_s: float
    k_mm2_per_min: float
    resistance_mm: float = 0.2
    fall: float = 0.12
    mark_mm: float = 2.0
    top_ups: tuple[tuple[float, float], ...] = ()
    tip_s: float | None = None
    clean_s: float | None = None


@dataclass(slots=True)
class Moment:
    """State of one mould at one moment. `cake_mm` is per cell; `level_mm` None when there is no slip."""

    phase: str
    level_mm: float | None
    wall_mm: float
    cake_mm: np.ndarray | None = None
    mark_mm: float | None = None
    free_radius_mm: float | None = None


@dataclass(slots=True)
class Run:
    """All moments of one mould, one every `STEP_S`, and its events."""

    moments: list[Moment] = field(default_factory=list)
    events: list[tuple[float, str]] = field(default_factory=list)

    def at(self, time_s: float) -> Moment:
        """Return the state at a moment."""
        return self.moments[min(len(self.moments) - 1, round(time_s / STEP_S))]


class Mould:
    """Cells of one cavity and the slip in it, stepped through time."""

    def __init__(self, cavity: Cavity, slip: Slip, target_mm: float, uneven: float = 0.0):
        self.cavity, self.slip, self.target = cavity, slip, target_mm
        self.wanted = target_mm
        self.z = np.arange(CELL_MM / 2, cavity.floor_mm, CELL_MM)
        self.r = cavity.radius(self.z)
        slope = np.gradient(self.r, CELL_MM)
        self.sec = np.minimum(np.sqrt(1 + slope**2), 2.0)
        self.area = 2 * np.pi * self.r * CELL_MM * np.sqrt(1 + slope**2)
        self.floor_area = np.pi * self.r[-1] ** 2
        self.k_here = 1 + uneven * np.sin(2 * np.pi * self.z / cavity.floor_mm * 1.3 + 0.7)
        self.below = self.z > cavity.neck_mm
        self.empty()

    def empty(self) -> None:
        """Start from a clean mould."""
        self.cake = np.zeros_like(self.z)
        self.floor_cake = 0.0
        self.liquid = 0.0
        self.level = self.cavity.floor_mm

    def wall(self) -> float:
        """Area-weighted mean cake over the piece (below the neck), floor included."""
        area = np.append(self.area[self.below], self.floor_area)
        return float(np.average(np.append(self.cake[self.below], self.floor_cake), weights=area))

    def free_radius(self) -> np.ndarray:
        """Radius left open by the cake, per cell."""
        return np.maximum(self.r - self.cake * self.sec, 0.0)

    def room_below(self) -> np.ndarray:
        """Return the free volume below the top of each cell, mm3."""
        free = np.pi * self.free_radius() ** 2 * CELL_MM
        room = np.cumsum(free[::-1])[::-1]
        return np.maximum(room - self.floor_cake * np.pi * self.free_radius()[-1] ** 2, 0.0)

    def settle(self) -> None:
        """Find the level at which the liquid fits."""
        room = self.room_below()
        tops = self.z - CELL_MM / 2
        self.level = float(
            np.interp(-self.liquid, -np.append(room, 0.0), np.append(tops, self.cavity.floor_mm))
        )

    def grow(self, cast: Cast) -> None:
        """Grow cake for one step wherever slip stands against the wall."""
        before = self.room_below()[0]
        wet = self.z > self.level
        k = cast.k_mm2_per_min / 60.0 * STEP_S

        def more(cake):
            return np.maximum(k * (1 - cast.fall * cake / self.target), 0) / (2 * cake + cast.resistance_mm)

        # midpoint rule
        half = self.cake + 0.5 * more(self.cake) * self.k_here
        self.cake = self.cake + np.where(wet, more(half) * self.k_here, 0.0)
        if self.liquid > 0:
            self.floor_cake += float(more(self.floor_cake + 0.5 * more(self.floor_cake)))
        made = before - self.room_below()[0]
        self.liquid = max(self.liquid - made * self.slip.slip_per_cake, 0.0)
        self.settle()

    def fill_towards(self, mark_mm: float, steps_left: int) -> None:
        """Pour so that the mark is reached when no steps are left."""
        room = float(np.interp(mark_mm, self.z - CELL_MM / 2, self.room_below()))
        self.liquid += max(room - self.liquid, 0.0) / max(steps_left, 1)
        self.settle()


def run_mould(mould: Mould, casts: list[Cast], end_s: float) -> Run:
    """Integrate all casts of one mould from 0 to `end_s`."""
    run, queue = Run(), sorted(casts, key=lambda c: c.fill_from_s)
    now: Cast | None = None
    phase, ready_said, mark = "empty", False, None
    for step in range(int(end_s / STEP_S) + 2):
        t = step * STEP_S
        if queue and t >= queue[0].fill_from_s:
            now = queue.pop(0)
            mould.empty()
            phase, ready_said, mark = "filling", False, now.mark_mm
            run.events.append((t, "filling"))
        if now and now.clean_s is not None and t >= now.clean_s and phase == "tipped":
            mould.empty()
            run.events.append((t, "demoulded"))
            now, phase, mark = None, "empty", None
        if now and phase != "tipped":
            phase = step_cast(mould, now, t, phase, run)
            if phase == "tipped":
                mould.liquid, mould.level = 0.0, mould.cavity.floor_mm
            elif not ready_said and phase != "filling" and mould.wall() >= mould.wanted:
                ready_said = True
                run.events.append((t, "ready"))
        run.moments.append(snapshot(mould, phase, mark))
    return run


def step_cast(mould: Mould, cast: Cast, t: float, phase: str, run: Run) -> str:
    """One step of a running cast; returns its phase."""
    if cast.tip_s is not None and t >= cast.tip_s:
        run.events.append((t, "tipped"))
        return "tipped"
    mould.grow(cast)
    if t <= cast.filled_s:
        mould.fill_towards(cast.mark_mm, round((cast.filled_s - t) / STEP_S) + 1)
        if t + STEP_S > cast.filled_s:
            run.events.append((t, "filled"))
            return "casting"
        return "filling"
    for start, end in cast.top_ups:
        if start <= t <= end:
            if t - STEP_S < start:
                run.events.append((t, "topping_up"))
            mould.fill_towards(cast.mark_mm, round((end - t) / STEP_S) + 1)
            if t + STEP_S > end:
                run.events.append((t, "topped_up"))
                return "casting"
            return "topping_up"
    return "casting"


def snapshot(mould: Mould, phase: str, mark: float | None) -> Moment:
    """Freeze the state for the record."""
    if phase == "empty":
        return Moment("empty", None, 0.0)
    cake = mould.cake.astype(np.float32)
    if phase == "tipped":
        return Moment(phase, None, mould.wall(), cake, mark)
    free = float(np.interp(mould.level, mould.z, mould.free_radius()))
    return Moment(phase, mould.level, mould.wall(), cake, mark, free)
