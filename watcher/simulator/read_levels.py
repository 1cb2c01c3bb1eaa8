"""Sightings of a simulated day without pictures: the truth with the errors that the reader of pictures makes.

The figures are what the eyes gave on drawn benches of six moulds (1280x720, two seeds, 783 looks at casts
whose line could be seen), held against the drawing's own truth. They stand in for the eyes where a hundred
days of pictures would take too long; they cannot show what the eyes get wrong in a way nobody has seen yet.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np

from watcher.records.frames import NoFrame
from watcher.records.readings import Contents, HoleSighting, LevelReading, Missed, Sighting
from watcher.simulator.bench import Seat, SimMould
from watcher.simulator.sight import seen_share
from watcher.simulator.true_cast import TrueCast
from watcher.simulator.truth import Inside
from watcher.simulator.working_day import WorkingDay

PLACING_MM = (-0.2, 0.27)
"""Mean and spread of the error that all readings of one placement share. [mm]"""
WANDER_MM, WANDER_S = 0.06, 300.0
"""Spread of the part that wanders, and in what time. [mm, s]"""
NOISE_MM = 0.036
"""Spread from picture to picture. [mm]"""
RIM_MM, RIM_REACH_MM = -0.2, 3.0
"""Pull of the rim's edge on a line close under it, and how fast it fades with depth. [mm]"""
UNREAD = 0.01
"""Share of looks at a line in view that gave none."""
GROSS, GROSS_MM = 0.002, (3.0, 12.0)
"""Share of readings off by millimetres, and by how many: none was seen in 783; the share aimed at."""
SIGMA_MM = 0.26
"""What the reader says of its own error. [mm]"""
NOTICED_S = 25.0
"""A mould taken away is noticed after about so long. [s]"""
SETTLES_S = 20.0
"""After a lamp was switched, a bump or a nudge, nothing is read for so long. [s]"""
LEAST_SHARE = 0.15


@dataclass(slots=True)
class Reader:
    """Looks at one day; asked for moments in growing order.

    Parameters
    ----------
    day : WorkingDay
    seed : int
        Fixes the errors.
    """

    day: WorkingDay
    seed: int
    _rng: np.random.Generator = field(init=False)
    _placed: dict[str, tuple[Seat, int, float]] = field(init=False, default_factory=dict)
    _wander: dict[str, tuple[float, float]] = field(init=False, default_factory=dict)
    _lost: dict[tuple[str, int], float] = field(init=False, default_factory=dict)
    _casts: Mapping[str, tuple[TrueCast, ...]] = field(init=False)

    def __post_init__(self) -> None:
        self._rng = np.random.default_rng(self.seed)
        names = [mould.name for mould in self.day.bench.moulds]
        self._casts = {name: tuple(c for c in self.day.casts if c.mould == name) for name in names}

    def look(self, time_s: float, taken_s: float, taken_at: datetime) -> Sighting | NoFrame:
        """Return what the eyes would say of a moment of the day, or why there is no picture."""
        camera, why = self.day.bench.camera, self.day.faults.outage(time_s)
        if why is not None:
            return NoFrame(camera, taken_s, taken_at, why, "simulated")
        seats = self.day.faults.seats(self.day.bench, time_s)
        pairs = zip(self.day.bench.moulds, seats, strict=True)
        holes = tuple(self._hole(mould, seat, time_s) for mould, seat in pairs)
        return Sighting(camera, taken_s, taken_at, holes, frame_name=f"simulated {time_s:.1f} s")

    def _hole(self, mould: SimMould, seat: Seat, time_s: float) -> HoleSighting:
        _, placement, offset = self._place(mould.name, seat)
        cast = self._cast(mould.name, time_s)
        standing = cast is not None and cast.cast.fill_from_s <= time_s < cast.tip_s
        contents = Contents.SLIP if standing else Contents.EMPTY
        hand = any(_over(mould, h.palm_mm) for h in self.day.faults.hands_now(time_s))
        if hand:
            return HoleSighting(mould.name, Missed.HAND, contents, hand_near=True, placement=placement)
        if not seat.there:
            gone_s = time_s - self._gone_since(mould.name, time_s)
            away = Contents.AWAY if gone_s > NOTICED_S else Contents.UNKNOWN
            return HoleSighting(mould.name, Missed.HAND, away, hand_near=True, placement=placement)
        if not standing or cast is None:
            return HoleSighting(mould.name, Missed.UNCERTAIN, contents, placement=placement)
        return self._level(mould, seat, cast, time_s, placement, offset)

    def _level(
        self, mould: SimMould, seat: Seat, cast: TrueCast, time_s: float, placement: int, offset: float
    ) -> HoleSighting:
        level_mm = cast.level_mm(time_s)
        lost_mm = self._lost_below(mould, seat, placement)
        said = None if lost_mm > mould.profile.depth_mm - 5.0 else lost_mm
        if level_mm is None or self._unsettled(mould.name, time_s) or self._rng.random() < UNREAD:
            why = Missed.UNCERTAIN
        elif level_mm > lost_mm:
            why = Missed.OUT_OF_SIGHT
        else:
            reading = self._reading(mould.name, level_mm, time_s, offset)
            return HoleSighting(mould.name, reading, Contents.SLIP, placement=placement, lost_below_mm=said)
        return HoleSighting(mould.name, why, Contents.SLIP, placement=placement, lost_below_mm=said)

    def _reading(self, name: str, level_mm: float, time_s: float, offset: float) -> LevelReading:
        before_s, wander = self._wander.get(name, (-1e9, 0.0))
        kept = float(np.exp(-(time_s - before_s) / WANDER_S))
        wander = kept * wander + float(self._rng.normal(0.0, WANDER_MM * np.sqrt(1.0 - kept * kept)))
        self._wander[name] = (time_s, wander)
        rim = RIM_MM * float(np.exp(-level_mm / RIM_REACH_MM))
        error = offset + wander + rim + float(self._rng.normal(0.0, NOISE_MM))
        if self._rng.random() < GROSS:
            error += float(self._rng.choice([-1.0, 1.0]) * self._rng.uniform(*GROSS_MM))
        drift = 0.055 + 0.33 * float(np.exp(-level_mm / 3.2))
        share = float(np.exp(-level_mm / 2.9))
        return LevelReading(max(level_mm + error, 0.1), SIGMA_MM, drift, rim_share=share)

    def _place(self, name: str, seat: Seat) -> tuple[Seat, int, float]:
        """Return seat, number of the placement, and the error that it brings along."""
        known = self._placed.get(name)
        if known is None or (seat.there and replace_there(known[0]) != seat):
            number = 0 if known is None else known[1] + 1
            known = (seat, number, float(self._rng.normal(*PLACING_MM)))
            self._placed[name] = known
        return known

    def _cast(self, name: str, time_s: float) -> TrueCast | None:
        begun = [cast for cast in self._casts[name] if cast.cast.fill_from_s <= time_s]
        return begun[-1] if begun else None

    def _gone_since(self, name: str, time_s: float) -> float:
        moves = [
            n.at_s for n in self.day.faults.nudges if n.mould == name and n.at_s <= time_s and not n.there
        ]
        return max(moves, default=time_s)

    def _unsettled(self, name: str, time_s: float) -> bool:
        faults = self.day.faults
        moments = [light.from_s for light in faults.lights] + [light.to_s for light in faults.lights]
        moments += [bump.at_s for bump in faults.bumps]
        moments += [nudge.at_s for nudge in faults.nudges if nudge.mould == name]
        return any(0.0 <= time_s - moment < SETTLES_S for moment in moments)

    def _lost_below(self, mould: SimMould, seat: Seat, placement: int) -> float:
        """Return the depth below which less than the least share of the slip's edge is in view. [mm]."""
        key = (mould.name, 0)
        if key not in self._lost:
            depths = np.arange(2.0, mould.profile.depth_mm, 3.0)
            bare = np.zeros(1)
            seen = [
                seen_share(
                    self.day.bench.view, mould, seat, Inside("casting", float(d), None, 0.0, bare, bare), ()
                )
                for d in depths
            ]
            lost = [float(d) for d, share in zip(depths, seen, strict=True) if share < LEAST_SHARE]
            self._lost[key] = lost[0] if lost else float("inf")
        return self._lost[key]


def replace_there(seat: Seat) -> Seat:
    """Return the same seat with the mould standing in it."""
    return Seat(seat.x_mm, seat.y_mm, seat.yaw_deg, True)


def _over(mould: SimMould, palm_mm: tuple[float, float, float]) -> bool:
    return abs(palm_mm[0] - mould.seat.x_mm) < 90.0 and abs(palm_mm[1] - mould.seat.y_mm) < 90.0
