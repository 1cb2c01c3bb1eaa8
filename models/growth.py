"""How cake grows with time: the root law, bent by what stands in series with it and by plaster filling up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

NEWTON_STEPS = 6
"""The equation of `wall_mm` is convex and started from above: six steps reach 1e-9 mm for any K and time."""

NEWTON_MM = 1e-6
"""A step smaller than this is the last: the error left goes with its square. [mm]"""

TINY = 1e-30
"""Keeps nought over nought from becoming anything but nought."""


@dataclass(frozen=True, slots=True)
class Growth:
    """Growth of one cast's wall, where slip has covered it since the pour began.

    (2 L (1 + a L + b L^2) + r) dL/dt = K, which integrates to L^2 + r L + (2/3) a L^3 + b L^4 / 2 = K t.
    Without r, a and b this is L^2 = K t [S26]. r stands for a layer that was there before the cake; a and b
    for the plaster behind it, which drinks itself full: this is the very form that `resistance` derives for
    cake in series with such plaster [S27].

    Attributes
    ----------
    k_mm2_per_s : float
        K at the start, above 0. [mm2/s]
    skin_mm : float
        r, 0 or more. [mm]
    bend_per_mm2 : float
        b, 0 or more. [1/mm2]
    slope_per_mm : float
        a, 0 or more. [1/mm]
    """

    k_mm2_per_s: float
    skin_mm: float = 0.0
    bend_per_mm2: float = 0.0
    slope_per_mm: float = 0.0

    def seconds(self, wall_mm: Array | float) -> Array:
        """Time under slip that a wall takes; same shape. [s]."""
        wall = np.asarray(wall_mm, dtype=np.float64)
        return np.asarray(self._drive(wall) / self.k_mm2_per_s)

    def wall_mm(self, seconds: Array | float) -> Array:
        """Wall after a time under slip (not negative); same shape. [mm]."""
        goal = self.k_mm2_per_s * np.asarray(seconds, dtype=np.float64)
        # root of L^2 + b L^4 / 2 = goal, written so that b = 0 does no harm; never below the answer
        wall = np.sqrt(2.0 * goal / (1.0 + np.sqrt(1.0 + 2.0 * self.bend_per_mm2 * goal)))
        if self.skin_mm == 0.0 and self.slope_per_mm == 0.0:
            return np.asarray(wall)
        # root of L^2 + r L = goal, never below the answer either
        half = 0.5 * self.skin_mm
        wall = np.minimum(wall, goal / (half + np.sqrt(half * half + goal) + TINY))
        for _ in range(NEWTON_STEPS):
            step = (self._drive(wall) - goal) / (self.steepness(wall) + TINY)
            wall = wall - step
            if wall.size and float(np.abs(step).max()) < NEWTON_MM:
                break
        return np.asarray(wall)

    def steepness(self, wall_mm: Array) -> Array:
        """K dt/dL = 2 L (1 + a L + b L^2) + r; same shape. [mm]."""
        plaster = wall_mm * (self.slope_per_mm + self.bend_per_mm2 * wall_mm)
        return np.asarray(self.skin_mm + 2.0 * wall_mm * (1.0 + plaster))

    def _drive(self, wall: Array) -> Array:
        plaster = wall * (2.0 / 3.0 * self.slope_per_mm + 0.5 * self.bend_per_mm2 * wall)
        return np.asarray(wall * (self.skin_mm + wall * (1.0 + plaster)))
