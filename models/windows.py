"""Moments known only to lie in a window: what a hard-edged window does to a normal spread."""

from __future__ import annotations

import math

from scipy.special import log_ndtr

EDGE_S = 1.5
"""Windows are taken this much wider on both sides: eyes may be late by a blink. [s]"""

EVEN = 0.01
"""A window narrower than this, in standard deviations, sees an even spread; formulas lose figures there."""

LEAST_GAP = 1e-6


def cut_to_window(mean: float, sd: float, low: float, high: float) -> tuple[float, float]:
    """Mean and standard deviation of a normal spread that is cut off outside a window.

    Parameters
    ----------
    mean, sd : float
        Of the spread before it is cut; sd above 0.
    low, high : float
        The window, `low` below `high`.

    Returns
    -------
    tuple of float
        By the formulas of the doubly truncated normal distribution (textbook; checked by scipy in the tests).
    """
    a, b = (low - mean) / sd, (high - mean) / sd
    if b - a < EVEN and abs(a) * (b - a) < EVEN:  # the spread is as good as even over the window
        return 0.5 * (low + high), (high - low) / math.sqrt(12.0)
    if a > 0.0:  # far tails are exact on the left only
        mirrored = cut_to_window(-mean, sd, -high, -low)
        return -mirrored[0], mirrored[1]
    log_mass = _log_mass(a, b)
    at_a, at_b = _share(a, log_mass), _share(b, log_mass)
    shift = at_a - at_b
    variance = 1.0 + a * at_a - b * at_b - shift * shift
    return mean + sd * shift, sd * math.sqrt(max(variance, LEAST_GAP))


def site_of_window(mean: float, sd: float, low: float, high: float) -> tuple[float, float]:
    """Find the normal factor whose product with a spread has the moments of the spread cut to a window."""
    cut_mean, cut_sd = cut_to_window(mean, sd, low, high)
    precision = max(1.0 / cut_sd**2 - 1.0 / sd**2, 1e-9 / sd**2)
    return (cut_mean / cut_sd**2 - mean / sd**2) / precision, precision**-0.5


def without_site(mean: float, sd: float, site_mean: float, site_sd: float) -> tuple[float, float]:
    """Take a normal factor out of a spread again; a spread that was all factor becomes very wide."""
    precision = max(1.0 / sd**2 - 1.0 / site_sd**2, 1e-4 / sd**2)
    return (mean / sd**2 - site_mean / site_sd**2) / precision, precision**-0.5


def _log_mass(a: float, b: float) -> float:
    left, right = float(log_ndtr(a)), float(log_ndtr(b))
    return right + math.log1p(-math.exp(left - right)) if left < right else -math.inf


def _share(x: float, log_mass: float) -> float:
    if math.isinf(x):
        return 0.0
    return math.exp(-0.5 * x * x - 0.5 * math.log(2.0 * math.pi) - log_mass)
