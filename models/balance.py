"""The book-keeping of volume: how far the slip sinks while cake of a given growth forms."""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.cavity import Cavity

Array = npt.NDArray[np.float64]

STEPS = 96
"""Steps of a forward run. A step is even in wall, so early minutes get the finest time steps."""

PARTS = 16
"""A step in which the level passes a corner of the bore is taken in so many parts."""


@dataclass(frozen=True, slots=True)
class Sinking:
    """One filling, from the moment it was full: everything against the growth since then, m + 1 rows.

    It holds no time: the level is a function of the growth alone [S28], whatever K, dampness or temperature
    made of the minutes.

    Attributes
    ----------
    growth_mm2 : ndarray, shape (m + 1,)
        How far the clock of a covered place has run since full. [mm2]
    level_mm : ndarray, shape (m + 1,)
        Slip below the rim. [mm]
    wall_mm : ndarray, shape (m + 1,)
        Mean thickness over the piece's wall (below the neck, floor included). [mm]
    cake_mm3 : ndarray, shape (m + 1,)
        Volume of cake in the whole cavity, that left above the level included. [mm3]
    clocks_mm2 : ndarray, shape (n + 1,)
        What the clock of each depth of the cavity showed when full. [mm2]
    passed_mm2 : ndarray, shape (n + 1,)
        Growth at which the level sank past each depth: there that place stopped growing. [mm2]
    shut_mm2 : float
        Growth at which cake shuts the way from the level to the widest part (infinite: nowhere). [mm2]
    """

    growth_mm2: Array
    level_mm: Array
    wall_mm: Array
    cake_mm3: Array
    clocks_mm2: Array
    passed_mm2: Array
    shut_mm2: float

    def clocks_at(self, growth_mm2: float) -> Array:
        """Clock of each depth after some growth since full, shape (n + 1,): where the next filling starts."""
        return np.asarray(self.clocks_mm2 + np.minimum(growth_mm2, self.passed_mm2))


def clocks_when_poured(cavity: Cavity, level_mm: float, pour_mm2: float) -> Array:
    """Clock of each depth when a steady pour reaches `level_mm`, shape (n + 1,). [mm2].

    The floor has been wet for the whole pour (clock `pour_mm2` = K times its duration), the level just now.
    """
    covered = cavity.slices_of_water_mm3() * cavity.share_below(level_mm)
    above = np.concatenate([[0.0], np.cumsum(covered)])
    return np.asarray(pour_mm2 * above / above[-1])


def sink(
    cavity: Cavity,
    *,
    level_mm: float,
    clocks_mm2: Array,
    water_per_cake: float,
    most_mm2: float,
) -> Sinking:
    """Run one filling forward from full.

    Parameters
    ----------
    cavity : Cavity
    level_mm : float
        Slip below the rim when full. [mm]
    clocks_mm2 : ndarray, shape (n + 1,)
        Clock of each depth at that moment, cake left by earlier fillings included. [mm2]
    water_per_cake : float
        f, volume of water given up per volume of cake.
    most_mm2 : float
        Growth to run to; the run ends earlier where the hole shuts or runs empty. [mm2]

    Returns
    -------
    Sinking
        Free surface times sinking equals f times new cake at every step: A dz = f dV [S28].
    """
    growth = most_mm2 * (np.arange(STEPS + 1) / STEPS) ** 2
    clocks = 0.5 * (clocks_mm2[:-1] + clocks_mm2[1:])
    walls = np.sqrt(growth[:, None] + clocks[None, :])
    floor = cavity.floor_cake_mm3(np.sqrt(growth + clocks_mm2[-1]))
    new = np.diff(cavity.cake_mm3(walls), axis=0)
    below = np.zeros((STEPS, len(clocks) + 1))
    below[:, :-1] = np.cumsum(new[:, ::-1], axis=1)[:, ::-1]
    below += np.diff(floor)[:, None]
    levels = np.array(_march(cavity, level_mm, clocks_mm2, growth, water_per_cake * below))
    m = len(levels)
    growth = growth[:m]
    passed = np.interp(cavity.depths_mm, levels, growth, left=0.0, right=math.inf)
    passed = np.where(cavity.depths_mm > levels[-1], math.inf, passed)
    shut_mm2 = min(_shut(cavity, clocks_mm2, passed), float(growth[-1]) if m < STEPS + 1 else math.inf)
    wall, cake = _sums(cavity, growth, clocks, clocks_mm2[-1], passed)
    return Sinking(growth, levels, wall, cake, clocks_mm2, passed, shut_mm2)


def _march(cavity: Cavity, level_mm: float, clocks: Array, growth: Array, drunk: Array) -> list[float]:
    """Step the level down; drunk[j] is the water of step j if all below each depth grows. Midpoint rule."""
    depths, clock, rows = cavity.depths_mm.tolist(), clocks.tolist(), drunk.tolist()
    steps, last = growth.tolist(), len(cavity.depths_mm) - 2
    openings, corners = cavity.openings(), cavity.corners_mm()

    def place(level: float) -> tuple[int, float]:
        if level < depths[0]:  # heaped above the rim, or read so: the hole there is as wide as at the rim
            return 0, 0.0
        i = min(max(bisect_right(depths, level) - 1, 0), last)
        return i, (level - depths[i]) / (depths[i + 1] - depths[i])

    def free(i: int, part: float, x: float) -> float:
        wall = math.sqrt(x + clock[i] + part * (clock[i + 1] - clock[i]))
        return sum(opening.free_mm2(i, part, wall) for opening in openings)

    def advance(z: float, row: list[float], x: float, share: float) -> float | None:
        i, part = place(z)
        area = free(i, part, x)
        if area <= 0.0:
            return None
        middle = z + 0.5 * share * (row[i] + part * (row[i + 1] - row[i])) / area
        i, part = place(middle)
        area = free(i, part, x) if middle < depths[-1] else 0.0
        return z + share * (row[i] + part * (row[i + 1] - row[i])) / area if area > 0.0 else None

    levels = [level_mm]
    for j, row in enumerate(rows):
        z = advance(levels[-1], row, 0.5 * (steps[j] + steps[j + 1]), 1.0)
        if z is not None and bisect_right(corners, levels[-1]) != bisect_right(corners, z):
            z = levels[-1]
            for k in range(PARTS):
                if z is not None:
                    z = advance(z, row, steps[j] + (k + 0.5) / PARTS * (steps[j + 1] - steps[j]), 1.0 / PARTS)
        if z is None or z >= depths[-1]:
            break
        levels.append(z)
    return levels


def _shut(cavity: Cavity, clocks: Array, passed: Array) -> float:
    """Growth at which cake first shuts the way down to the widest part of the piece.

    Each place of the axis is as far from the wall as the nearest wall, leaning or not: the narrowest radius
    on the way decides.
    """
    widest = int(np.argmax(cavity.area_mm2.sum(axis=0) * (cavity.depths_mm >= cavity.neck_mm)))
    lean = np.concatenate([cavity.lean, cavity.lean[:, -1:]], axis=1)
    room = np.where(lean > 0.0, cavity.closes_mm, 0.0).max(axis=0)
    needed = room**2 - clocks
    on_the_way = (np.arange(len(needed)) < widest) & (needed < passed)
    return float(needed[on_the_way].min()) if np.any(on_the_way) else math.inf


def _sums(
    cavity: Cavity, growth: Array, clocks: Array, floor_clock: float, passed: Array
) -> tuple[Array, Array]:
    """Mean wall of the piece and volume of cake at each row, places left dry keeping what they had."""
    stop = 0.5 * (np.minimum(passed[:-1], 1e9) + np.minimum(passed[1:], 1e9))
    stop = np.where(np.isinf(passed[1:]) & np.isfinite(passed[:-1]), passed[:-1], stop)
    walls = np.sqrt(np.minimum(growth[:, None], stop[None, :]) + clocks[None, :])
    floor = np.sqrt(growth + floor_clock)
    area = cavity.wall_mm2 * (cavity.depths_mm[:-1] >= cavity.neck_mm)
    floor_area = cavity.floor_mm2 * cavity.floor_gain
    mean = (walls @ area + floor * floor_area) / (area.sum() + floor_area)
    cake = cavity.cake_mm3(walls).sum(axis=1) + cavity.floor_cake_mm3(floor)
    return np.asarray(mean), np.asarray(cake)
