"""How cake grows with time: the root law, bent by what stands in series with it and by plaster filling up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

NEWTON_STEPS = 5
"""The equation of `wall_mm` is convex and started from above: five steps reach 1e-9 mm for any K and time."""


@dataclass(frozen=True, slots=True)
class Growth:
    """Growth of one cast's wall, where slip has covered it since the pour began.

    (2 L + r + 2 b L^3) dL/dt = K, which integrates to L^2 + r L + b L^4 / 2 = K t. Without r and b this is
    L^2 = K t [S26]. r stands for a layer that was there before the cake; b for the plaster behind it: the
    first water finds dry plaster to spread into, so the slowing grows with the square of what was drunk, K
    falling as 1 / (1 + b L^2).

    Attributes
    ----------
    k_mm2_per_s : float
        K at the start, above 0. [mm2/s]
    skin_mm : float
        r, 0 or more. [mm]
    bend_per_mm2 : float
        b, 0 or more. [1/mm2]
    """

    k_mm2_per_s: float
    skin_mm: float = 0.0
    bend_per_mm2: float = 0.0

    def seconds(self, wall_mm: Array | float) -> Array:
        """Time under slip that a wall takes; same shape. [s]."""
        wall = np.asarray(wall_mm, dtype=np.float64)
        return np.asarray(self._drive(wall) / self.k_mm2_per_s)

    def wall_mm(self, seconds: Array | float) -> Array:
        """Wall after a time under slip (not negative); same shape. [mm]."""
        goal = self.k_mm2_per_s * np.asarray(seconds, dtype=np.float64)
        # root of L^2 + b L^4 / 2 = goal, written so that b = 0 does no harm; never below the answer
        wall = np.sqrt(2.0 * goal / (1.0 + np.sqrt(1.0 + 2.0 * self.bend_per_mm2 * goal)))
        if self.skin_mm == 0.0:
            return np.asarray(wall)
        for _ in range(NEWTON_STEPS):
            wall = wall - (self._drive(wall) - goal) / self.steepness(wall)
        return np.asarray(wall)

    def steepness(self, wall_mm: Array) -> Array:
        """K dt/dL = 2 L + r + 2 b L^3; same shape. [mm]."""
        return np.asarray(self.skin_mm + wall_mm * (2.0 + 2.0 * self.bend_per_mm2 * wall_mm * wall_mm))

    def _drive(self, wall: Array) -> Array:
        return np.asarray(wall * (self.skin_mm + wall * (1.0 + 0.5 * self.bend_per_mm2 * wall * wall)))
