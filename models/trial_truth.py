"""A made-up cast that knows nothing of the fit: small steps, a law of growth of its own, place by place.

It shares no code with cavity, growth, balance or fit, so that it can judge them: own slices, own steps, and
plaster that fills up by another law than the fit believes in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TrialCast:
    """All that decides how a made-up cast runs; what the watcher never gets to know.

    Attributes
    ----------
    bore : tuple of (depth_mm, diameter_mm)
    neck_mm : float
        Depth from which the wall is the piece's. [mm]
    water_per_cake : float
        f, the true one.
    k_mm2_per_min : float
        Cake alone. [mm2/min]
    plaster_share, room_mm : float
        Share of the plaster in the resistance at the start, and the wall at which it would be full. [mm]
    skin_mm : float
        Layer before the cake. [mm]
    pour_s, level_mm : float
        Duration of the pour, and where it stops. [s, mm]
    evaporation_mm_per_h : float
    unevenness : tuple of float
        K at rim, middle and floor over its mean.
    corner : float
        How much of the overlap of floor and wall is lost, 1 for a sharp corner.
    top_ups : tuple of (seconds after full, level_mm)
    """

    bore: tuple[tuple[float, float], ...]
    neck_mm: float
    water_per_cake: float
    k_mm2_per_min: float
    plaster_share: float
    room_mm: float
    skin_mm: float
    pour_s: float
    level_mm: float
    evaporation_mm_per_h: float
    unevenness: tuple[float, float, float] = (1.0, 1.0, 1.0)
    corner: float = 1.0
    top_ups: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class TrialRun:
    """What truly happened, against time since the pour was over: m moments. [s, mm, mm]."""

    seconds: Array
    level_mm: Array
    wall_mm: Array

    def wall_at(self, seconds: float) -> float:
        """Mean wall of the piece at a moment. [mm]."""
        return float(np.interp(seconds, self.seconds, self.wall_mm))

    def time_of(self, wall_mm: float) -> float | None:
        """When the piece's wall truly reaches a thickness; None: not in this run. [s]."""
        if wall_mm >= self.wall_mm[-1]:
            return None
        return float(np.interp(wall_mm, self.wall_mm, self.seconds))


def run_trial(cast: TrialCast, *, until_wall_mm: float, slices: int = 160, steps: int = 700) -> TrialRun:
    """Run a made-up cast until its wall is reached, or a hole shuts, or it runs empty."""
    depth = np.linspace(0.0, cast.bore[-1][0], slices + 1)
    middle, dz = 0.5 * (depth[1:] + depth[:-1]), depth[1] - depth[0]
    radius = np.interp(middle, [row[0] for row in cast.bore], [row[1] / 2.0 for row in cast.bore])
    slope = np.gradient(radius, dz)
    lean = np.sqrt(1.0 + slope * slope)
    k = cast.k_mm2_per_min / 60.0 * np.interp(middle / depth[-1], [0.0, 0.5, 1.0], cast.unevenness)
    floor_radius = cast.bore[-1][1] / 2.0
    area = np.append(2.0 * math.pi * radius * lean * dz, math.pi * floor_radius**2)
    piece = np.append(middle >= cast.neck_mm, True)
    k = np.append(k, k[-1])
    wall = np.zeros(slices + 1)
    _pour(cast, wall, k, middle, radius)
    level, rows, now = cast.level_mm, [], 0.0
    waiting = list(cast.top_ups)
    guess_s = until_wall_mm**2 / (cast.k_mm2_per_min / 60.0) * 3.0
    for step in range(steps):
        rows.append((now, level, float((wall * area * piece).sum() / (area * piece).sum())))
        if rows[-1][2] > until_wall_mm:
            break
        dt = guess_s * (2.0 * step + 1.0) / steps**2 + 0.05
        if waiting and now + dt >= waiting[0][0]:
            level = waiting.pop(0)[1]
        before = wall.copy()
        wet = np.append(np.clip((middle - level) / dz + 0.5, 0.0, 1.0), 1.0)
        wall = wall + _rate(cast, wall + 0.5 * dt * _rate(cast, wall, k, wet), k, wet) * dt
        grown = _volume(cast, wall, radius, lean, dz) - _volume(cast, before, radius, lean, dz)
        here = min(max(round(level / dz - 0.5), 0), slices - 1)
        ring = 0.5 * (wall[here] + before[here]) * lean[here]
        r = float(np.interp(level, middle, radius))
        if ring >= r - 0.3:
            break
        level += cast.water_per_cake * grown / (math.pi * (r - ring) ** 2)
        level += cast.evaporation_mm_per_h / 3600.0 * dt
        now += dt
        if level > depth[-1] - 3.0 * dz:
            break
    data = np.array(rows)
    return TrialRun(data[:, 0], data[:, 1], data[:, 2])


def _pour(cast: TrialCast, wall: Array, k: Array, middle: Array, radius: Array) -> None:
    """Grow what grows during a steady pour, in 60 steps; fills `wall` in place."""
    volume = np.cumsum((radius**2)[::-1])[::-1]
    full = float(volume[middle >= cast.level_mm][0])
    for step in range(60):
        wet = np.append(
            np.where((volume <= full * (step + 1) / 60.0) & (middle >= cast.level_mm), 1.0, 0.0), 1.0
        )
        dt = cast.pour_s / 60.0
        slope = _rate(cast, wall + 0.5 * dt * _rate(cast, wall, k, wet), k, wet)
        wall += slope * dt


def _rate(cast: TrialCast, wall: Array, k: Array, wet: Array) -> Array:
    """dL/dt of each place: cake, plaster that fills up, and skin in series. [mm/s]."""
    full = np.minimum(wall / cast.room_mm, 0.97)
    plaster = cast.plaster_share / (1.0 - cast.plaster_share) / (1.0 - full) ** 2
    thick = np.maximum(wall, 0.02)  # the first hundredths, where the law of the root would be infinite
    return np.asarray(wet * k / (2.0 * thick * (1.0 + plaster) + cast.skin_mm))


def _volume(cast: TrialCast, wall: Array, radius: Array, lean: Array, dz: float) -> float:
    ring = np.minimum(wall[:-1] * lean, radius)
    floor = cast.bore[-1][1] / 2.0
    overlap = floor**2 - max(floor - float(ring[-1]), 0.0) ** 2
    rings = float((radius**2 - (radius - ring) ** 2).sum()) * dz
    return math.pi * (rings + (floor**2 - cast.corner * overlap) * float(wall[-1]))
