"""The slip in the moulds: how much water a volume of cake gives up."""

from __future__ import annotations

import math
from dataclasses import dataclass

from models.constants import SOLIDS_SPECIFIC_GRAVITY, WATER_SPECIFIC_GRAVITY
from models.doors import BadValue


class SlipError(BadValue):
    """A value of the slip cannot be right; the message names the field, the value and what is wanted."""


@dataclass(frozen=True, slots=True)
class Slip:
    """One batch of casting slip. Make it with `checked_slip` where the values come from outside.

    Attributes
    ----------
    specific_gravity : float
        Density of the slip over that of water, 1.2 to 2.2.
    cake_solids_fraction : float
        Volume of solids in a volume of fresh cake, 0.4 to 0.75.
    solids_specific_gravity : float
        Density of the dry body's grains over that of water, 2.2 to 3.2.
    sg_sigma, cake_sigma : float
        Standard deviations of the first two. Values that were given without a word on how they were got
        count as good (0.001 and 0.0015: weighed litre, dried trimmings); a guess is 0.01 and 0.02.
    """

    specific_gravity: float
    cake_solids_fraction: float
    solids_specific_gravity: float = SOLIDS_SPECIFIC_GRAVITY
    sg_sigma: float = 0.001
    cake_sigma: float = 0.0015

    @property
    def solids_fraction(self) -> float:
        """Volume of solids in a volume of slip (phi_s) [S28]."""
        return (self.specific_gravity - WATER_SPECIFIC_GRAVITY) / (
            self.solids_specific_gravity - WATER_SPECIFIC_GRAVITY
        )

    @property
    def water_per_cake(self) -> float:
        """Volume of water given up per volume of cake, f = phi_c/phi_s - 1 [S28]."""
        return self.cake_solids_fraction / self.solids_fraction - 1.0

    @property
    def water_per_cake_rel_sigma(self) -> float:
        """Relative standard deviation of f from those of the two weighings (independent, first order)."""
        ratio = self.cake_solids_fraction / self.solids_fraction
        by_slip = ratio * self.sg_sigma / (self.specific_gravity - WATER_SPECIFIC_GRAVITY)
        by_cake = self.cake_sigma / self.solids_fraction
        return math.hypot(by_slip, by_cake) / self.water_per_cake


def cake_solids_fraction(*, moisture_dry_basis: float, solids_specific_gravity: float) -> float:
    """Solids fraction of a cake whose pores are full of water, phi_c = 1/(1 + w G) [S28].

    Parameters
    ----------
    moisture_dry_basis : float
        Mass of water per mass of dry body (w), 0.1 to 0.5.
    solids_specific_gravity : float
        Density of the grains over that of water.
    """
    return 1.0 / (1.0 + moisture_dry_basis * solids_specific_gravity)


def checked_slip(
    *,
    specific_gravity: float,
    cake_solids_fraction: float,
    solids_specific_gravity: float = SOLIDS_SPECIFIC_GRAVITY,
    sg_sigma: float = 0.001,
    cake_sigma: float = 0.0015,
) -> Slip:
    """Return the slip, or raise SlipError with one sentence on the first value that cannot be right."""
    _within("specific_gravity", specific_gravity, 1.2, 2.2)
    _within("solids_specific_gravity", solids_specific_gravity, 2.2, 3.2)
    _within("cake_solids_fraction", cake_solids_fraction, 0.4, 0.75)
    _within("sg_sigma", sg_sigma, 0.0, 0.1)
    _within("cake_sigma", cake_sigma, 0.0, 0.1)
    slip = Slip(specific_gravity, cake_solids_fraction, solids_specific_gravity, sg_sigma, cake_sigma)
    if slip.water_per_cake < 0.02:
        raise SlipError(
            f"cake_solids_fraction is {cake_solids_fraction:g} beside {slip.solids_fraction:.3f} in the "
            "slip; the cake must hold clearly more solids than the slip it comes from"
        )
    return slip


def _within(field: str, value: float, low: float, high: float) -> None:
    if not (isinstance(value, int | float) and low <= value <= high):
        raise SlipError(f"{field} is {value}; give a number from {low:g} to {high:g}")
