"""How cake grows with time: the root law, bent by what stands in series with it and by plaster filling up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

NEWTON_STEPS = 6
"""The equation of `wall_mm` is convex and started from above: six steps reach rounding for any K and time."""


@dataclass(frozen=True, slots=True)
class Growth:
    """Growth of one cast's wall, where slip has covered it since the pour began.

    dL/dt = K / (2 L + r) with K = K0 / (1 + b L) taken on the thick term: 2 L (1 + b L) + r = K0 / (dL/dt),
    which integrates to L^2 + r L + (2/3) b L^3 = K0 t. Without r and b this is L^2 = K t [S26]; r stands for
    a layer that was there before the cake, b for the plaster behind it drinking itself full [S27].

    Attributes
    ----------
    k_mm2_per_s : float
        K at the start, above 0. [mm2/s]
    skin_mm : float
        r, 0 or more. [mm]
    bend_per_mm : float
        b, 0 or more. [1/mm]
    """

    k_mm2_per_s: float
    skin_mm: float = 0.0
    bend_per_mm: float = 0.0

    def seconds(self, wall_mm: Array | float) -> Array:
        """Time under slip that a wall takes; same shape. [s]."""
        wall = np.asarray(wall_mm, dtype=np.float64)
        return np.asarray(self._drive(wall) / self.k_mm2_per_s)

    def wall_mm(self, seconds: Array | float) -> Array:
        """Wall after a time under slip (not negative); same shape. [mm]."""
        goal = self.k_mm2_per_s * np.asarray(seconds, dtype=np.float64)
        wall = np.sqrt(goal)
        if self.skin_mm == 0.0 and self.bend_per_mm == 0.0:
            return np.asarray(wall)
        for _ in range(NEWTON_STEPS):
            steep = self.steepness(wall)
            wall = wall - np.divide(
                self._drive(wall) - goal, steep, out=np.zeros_like(wall), where=steep > 0.0
            )
        return np.asarray(wall)

    def steepness(self, wall_mm: Array) -> Array:
        """K0 dt/dL = 2 L + r + 2 b L^2; same shape. [mm]."""
        return np.asarray(2.0 * wall_mm + self.skin_mm + 2.0 * self.bend_per_mm * wall_mm**2)

    def _drive(self, wall: Array) -> Array:
        return np.asarray(wall**2 + self.skin_mm * wall + (2.0 / 3.0) * self.bend_per_mm * wall**3)
