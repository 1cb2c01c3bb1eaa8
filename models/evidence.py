"""The readings of a cast in one piece, with the errors that they share with one another."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.series import Filling, LevelSeries

Array = npt.NDArray[np.float64]

WANDER_S = 240.0
"""Readings a few minutes apart err alike: light, film and edge change slowly. Knots of that error. [s]"""

WANDER_SHARE = 0.7
"""Standard deviation of the slow error as a share of what readings are said to vary by: half the variance."""

LAW_ERROR = 0.005
"""Laws of growth and measured bores foretell a drop to half a per cent at best (guess)."""

MOST_KNOTS = 15
"""Longer casts have knots further apart, so that a look never takes longer."""

LEAST_SHARED_MM = 0.01

RIM_PULL_MM = 0.8
"""An edge close under the rim is pulled by the rim's own edge, towards it or away, the same way as long as
the light stays (seen on rendered benches: half a millimetre at 3 px below the rim, a tenth at 8 px). Of 0.8,
1.6 and 3.0, tried on the five bench recordings and the sample session, none was best on all. [mm]"""

UNSETTLED_MM, SETTLING_S = 0.3, 20.0
"""Right after a pour the surface swings, bubbles rise and the wall above it is wet: a reading may be so much
worse than it says, and soon no more (guess). [mm, s]"""


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """All n levels of a cast.

    Attributes
    ----------
    times_s, levels_mm, drift_mm : ndarray, shape (n,)
        Moments, levels and the part of each error that changes from reading to reading. [s, mm]
    shares : ndarray, shape (n, q)
        How much of each shared error is in each reading: one column per placement, one for the pull of the
        rim, then the knots in time of the slow error, between which it is straight.
    shared_mm : ndarray, shape (q,)
        Standard deviation of each shared error. [mm]
    clay_mm, mm_per_clay_mm : ndarray, shape (n,)
        Clay that each level was read with, and by how much a millimetre more makes it shallower. [mm, 1]
    """

    times_s: Array
    levels_mm: Array
    drift_mm: Array
    shares: Array
    shared_mm: Array
    clay_mm: Array
    mm_per_clay_mm: Array

    @property
    def on_a_ring(self) -> bool:
        """Whether any level was read off a ring of cake."""
        return bool(np.any(self.mm_per_clay_mm))


def evidence(series: LevelSeries) -> Evidence:
    """Gather the readings of all fillings."""
    parts = series.fillings
    times = np.concatenate([part.times_s for part in parts])
    drift = np.concatenate([np.hypot(part.drift_sigma_mm, _unsettled(part)) for part in parts])
    sigma = np.concatenate([part.sigma_mm for part in parts])
    levels = np.concatenate([part.levels_mm for part in parts])
    names, place = np.unique(np.concatenate([part.placement for part in parts]), return_inverse=True)
    rest = np.sqrt(np.maximum(sigma**2 - drift**2, LEAST_SHARED_MM**2))
    placements = (place[:, None] == np.arange(len(names))[None, :]).astype(np.float64)
    shared = [float(np.median(rest[place == i])) for i in range(len(names))]
    at, knots = _knots(times, parts[0].full_s)
    wander = _wander_mm(at, times, levels, drift) if len(times) else np.empty(0)
    rim = np.concatenate([_or_none(part.rim_share, part) for part in parts])[:, None]
    shares = np.hstack([placements, rim, knots])  # knots last: their number grows from look to look
    spreads = np.concatenate([shared, [RIM_PULL_MM], wander])
    clay = np.concatenate([_or_none(part.clay_mm, part) for part in parts])
    per_clay = np.concatenate([_or_none(part.mm_per_clay_mm, part) for part in parts])
    return Evidence(times, levels, drift, shares, spreads, clay, per_clay)


def _or_none(column: Array | None, part: Filling) -> Array:
    return np.zeros(len(part.times_s)) if column is None else column


def _wander_mm(at: Array, times: Array, levels: Array, drift: Array) -> Array:
    """Give the standard deviation of the slow error at each knot, shape (knots,). [mm]."""
    fallen = np.abs(np.interp(at, times, levels) - levels[0])
    return np.asarray(np.hypot(WANDER_SHARE * float(np.median(drift)), LAW_ERROR * fallen))


def _unsettled(part: Filling) -> Array:
    """Extra standard deviation of readings taken right after a pour, shape (n,). [mm]."""
    return np.asarray(UNSETTLED_MM * np.exp(-np.maximum(part.times_s - part.latest_s, 0.0) / SETTLING_S))


def _knots(times: Array, from_s: float) -> tuple[Array, Array]:
    """Moments of the knots, shape (knots,), and their hat functions of time, (n, knots)."""
    if not len(times):
        return np.empty(0), np.empty((0, 0))
    span = max(float(times[-1]) - from_s, 1.0)
    every = max(WANDER_S, span / (MOST_KNOTS - 1))
    places = np.arange(math.ceil(span / every) + 1)
    hats = np.maximum(0.0, 1.0 - np.abs((times[:, None] - from_s) / every - places[None, :]))
    return np.asarray(from_s + every * places, dtype=np.float64), np.asarray(hats)
