"""What a wall measurement means: wet, leather-hard, dry or fired; and how to turn one into another."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from models.doors import number


class Basis(StrEnum):
    """State of the clay when its wall was measured."""

    WET = "wet"
    LEATHER_HARD = "leather_hard"
    DRY = "dry"
    FIRED = "fired"


@dataclass(frozen=True, slots=True)
class Shrinkage:
    """Linear shrinkage from wet, as shares of the wet length.

    Attributes
    ----------
    leather_hard, dry, fired : float
        0 to 0.3, growing in this order. Starting values are common practice and [S18]: a test bar gives a
        body's own.
    sigma : float
        Standard deviation of each, walls shrinking a little otherwise than lengths included.
    """

    leather_hard: float = 0.02
    dry: float = 0.06
    fired: float = 0.12
    sigma: float = 0.015

    def __post_init__(self) -> None:
        least = 0.0
        for field in ("leather_hard", "dry", "fired"):
            wanted = f"the linear shrinkage from wet as a share, {least:g} to 0.3"
            least = number(f"shrinkage {field}", getattr(self, field), wanted=wanted, least=least, most=0.3)
        number("shrinkage sigma", self.sigma, wanted="a share, 0 to 0.1", least=0, most=0.1)

    def share(self, basis: Basis) -> float:
        """Shrinkage from wet to a basis; 0 for wet."""
        return {
            Basis.WET: 0.0,
            Basis.LEATHER_HARD: self.leather_hard,
            Basis.DRY: self.dry,
            Basis.FIRED: self.fired,
        }[basis]


@dataclass(frozen=True, slots=True)
class WetWall:
    """A wall on the wet basis with its standard deviation, [mm]."""

    wall_mm: float
    sigma_mm: float


def wet_wall(wall_mm: float, sigma_mm: float, basis: Basis, shrinkage: Shrinkage) -> WetWall:
    """Turn a wall measured in any state into the wet wall that it was.

    Parameters
    ----------
    wall_mm, sigma_mm : float
        Measured wall, above 0 to 60, and its standard deviation. [mm]
    basis : Basis
    shrinkage : Shrinkage

    Notes
    -----
    wet = measured / (1 - s): 60 mm wet is 54 mm at s = 0.10.
    """
    wall = number("wall", wall_mm, wanted="the wall in mm, above 0 to 60", above=0, most=60)
    sigma = number("wall's spread", sigma_mm, wanted="mm, 0 to 10", least=0, most=10)
    left = 1.0 - shrinkage.share(basis)
    own = 0.0 if basis is Basis.WET else shrinkage.sigma * wall / left**2
    return WetWall(wall / left, math.hypot(sigma / left, own))


def wall_in(basis: Basis, wet_mm: float, shrinkage: Shrinkage) -> float:
    """Give a wet wall as it will measure in another state, [mm]."""
    wall = number("wall", wet_mm, wanted="the wall in mm, above 0 to 60", above=0, most=60)
    return wall * (1.0 - shrinkage.share(basis))
