"""One cast worked out from its pour to its tip before anybody looks: levels, walls, and when it is ready."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from models.mould import MouldProfile
from watcher.simulator.truth import CastingMould, SimCast

Array = npt.NDArray[np.float64]

GRID_S = 10.0
LONGEST_S = 3.0 * 3600.0
"""A cast that is not ready by then was drawn badly. [s]"""


@dataclass(frozen=True, slots=True)
class TrueCast:
    """What truly happens in one mould from its pour to its tip.

    Attributes
    ----------
    mould : str
    wanted_mm : float
        Thin end of the wall wanted. [mm]
    cast : SimCast
        With its tip; seconds of the simulation.
    ready_s, late_s : float or None
        When the wall reaches the thin and the thick end of what is wanted; None: tipped before. [s]
    times_s, levels_mm, walls_mm : ndarray of float, shape (n,)
        From the end of the pour to the tip; levels are NaN while slip is being poured on top. [s, mm, mm]
    pour_seen : bool
        A camera had a picture when the pour ended.
    """

    mould: str
    wanted_mm: float
    cast: SimCast
    ready_s: float | None
    late_s: float | None
    times_s: Array
    levels_mm: Array
    walls_mm: Array
    pour_seen: bool = True

    @property
    def tip_s(self) -> float:
        """When it is tipped. [s]."""
        assert self.cast.tip_s is not None
        return self.cast.tip_s

    def level_mm(self, at_s: float) -> float | None:
        """Return the level at a moment between fill and tip, or None while slip is poured."""
        pouring = any(start <= at_s < end for start, end in self.cast.top_ups)
        if pouring or not self.cast.filled_s <= at_s < self.tip_s:
            return None
        return float(np.interp(at_s, self.times_s, self.levels_mm))

    def wall_mm(self, at_s: float) -> float:
        """Return the mean wall at a moment. [mm]."""
        return float(np.interp(at_s, self.times_s, self.walls_mm))


def cast_through(
    profile: MouldProfile,
    cast: SimCast,
    slip_per_cake: float,
    *,
    longer: float,
    after_s: float,
    refill: float | None = None,
) -> TrueCast:
    """Let a cast go until the caster comes.

    Parameters
    ----------
    profile : MouldProfile
        With a target.
    cast : SimCast
        Without a tip.
    slip_per_cake : float
        As for `CastingMould`.
    longer, after_s : float
        The caster comes `after_s` after that multiple of the time from full to ready (1.2: a fifth late;
        below 1: too soon). [-, s]
    refill : float, optional
        Share of the time to ready at which slip is topped up, in half a minute.

    Raises
    ------
    ValueError
        The wall wanted is not reached within three hours.
    """
    assert profile.target_wall_mm is not None
    thin_mm, thick_mm = profile.target_wall_mm
    run = _Run(profile, cast, slip_per_cake)
    run.until(thin_mm)
    ready_s = run.reached(thin_mm)
    if ready_s is None:
        raise ValueError(f"{profile.name} does not reach {thin_mm} mm within {LONGEST_S / 3600:.0f} h")
    if refill is not None:
        start_s = round(cast.filled_s + refill * (ready_s - cast.filled_s))
        cast = replace(cast, top_ups=((start_s, start_s + 30.0),))
        run = _Run(profile, cast, slip_per_cake)
    tip_s = cast.filled_s + longer * (ready_s - cast.filled_s) + after_s
    run.until(0.0, least_s=tip_s)
    ready_s, late_s = run.reached(thin_mm), run.reached(thick_mm)
    return TrueCast(
        profile.name,
        thin_mm,
        replace(cast, tip_s=tip_s),
        ready_s if ready_s is not None and ready_s < tip_s else None,
        late_s if late_s is not None and late_s < tip_s else None,
        np.array(run.times),
        np.array(run.levels),
        np.array(run.walls),
    )


class _Run:
    """One cast stepped on a grid, as far as is asked for."""

    def __init__(self, profile: MouldProfile, cast: SimCast, slip_per_cake: float) -> None:
        start = cast.fill_from_s
        pours = tuple((a - start, b - start) for a, b in cast.top_ups)
        own = replace(cast, fill_from_s=0.0, filled_s=cast.filled_s - start, top_ups=pours)
        self._mould = CastingMould(profile, (own,), slip_per_cake)
        self._cast = cast
        self.times: list[float] = []
        self.levels: list[float] = []
        self.walls: list[float] = []

    def until(self, wall_mm: float, *, least_s: float = 0.0) -> None:
        """Go on until a wall is reached and a moment is past."""
        at_s = self.times[-1] + GRID_S if self.times else self._cast.filled_s
        while at_s < self._cast.filled_s + LONGEST_S:
            inside = self._mould.at(at_s - self._cast.fill_from_s)
            self.times.append(at_s)
            self.levels.append(np.nan if inside.level_mm is None else inside.level_mm)
            self.walls.append(inside.wall_mm)
            if inside.wall_mm >= wall_mm and at_s > least_s:
                break
            at_s += GRID_S

    def reached(self, wall_mm: float) -> float | None:
        """Return when a wall was reached, or None: not yet. [s]."""
        if self.walls[-1] < wall_mm:
            return None
        return float(np.interp(wall_mm, self.walls, self.times))
