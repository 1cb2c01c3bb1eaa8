"""A figure with its 80 % range: what every answer here is made of."""

from __future__ import annotations

import math
from dataclasses import dataclass

Z80 = 1.2815515655446004
"""Half width of the central 80 % of a normal spread, in standard deviations (exact: ppf(0.9))."""


@dataclass(frozen=True, slots=True)
class Ranged:
    """A figure with its 80 % range: the truth should lie within in four cases of five.

    Attributes
    ----------
    value : float
        Best single figure, in the unit that the holder's name says.
    low, high : float
        The central 80 %: one case in ten lies below `low`, one in ten above `high`.
    """

    value: float
    low: float
    high: float


def normal(value: float, sigma: float) -> Ranged:
    """Return the 80 % range of a normal spread about `value`."""
    return Ranged(value, value - Z80 * sigma, value + Z80 * sigma)


def lognormal(median: float, sigma_log: float) -> Ranged:
    """Return the 80 % range of a spread that is normal in the logarithm; `median` is above zero."""
    factor = math.exp(Z80 * sigma_log)
    return Ranged(median, median / factor, median * factor)
