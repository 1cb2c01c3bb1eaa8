"""Looks at a made-up cast as a camera would have them: noise, outliers, gaps, a fill that was missed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from models.series import Filling, LevelSeries, filling
from models.trial_truth import TrialCast, TrialRun

OUTLIER_SHARE = 0.05
"""Share of readings that are wrong by millimetres."""

SLOW_SHARE, SLOW_S = 0.7, 300.0
"""Part of the changing error (as standard deviation) that lasts for minutes, and how long it lasts. [s]"""

EMPTY, POURING = -1, 0


@dataclass(frozen=True, slots=True)
class Look:
    """One look that saw something.

    Attributes
    ----------
    at_s : float
        Seconds from full.
    filling : int
        -1 empty, 0 being poured, then the number of the filling that stands in the mould.
    level_mm, sigma_mm, drift_mm : float
        The level read, its whole standard deviation and the part that changes; 0 while it is not full. [mm]
    """

    at_s: float
    filling: int
    level_mm: float = 0.0
    sigma_mm: float = 0.0
    drift_mm: float = 0.0


def look_at_trial(
    run: TrialRun, cast: TrialCast, until_s: float, rng: np.random.Generator
) -> tuple[Look, ...]:
    """Look at a cast every few seconds, from before its pour until a moment; seconds from full."""
    every, drift = rng.uniform(8.0, 32.0), rng.uniform(0.08, 0.5)
    shared, hidden = rng.normal(0.0, 0.3), _gaps(cast, until_s, rng)
    slow, last = rng.normal(0.0, 1.0), -np.inf
    looks = []
    for at in np.arange(-cast.pour_s - 150.0 - rng.uniform(0.0, every), until_s, every):
        if any(low <= at <= high for low, high in hidden):
            continue
        if at < 0.0:
            looks.append(Look(float(at), EMPTY if at < -cast.pour_s else POURING))
            continue
        keeps = float(np.exp(-(at - last) / SLOW_S))
        slow, last = keeps * slow + rng.normal(0.0, np.sqrt(1.0 - keeps * keeps)), at
        noise = drift * (SLOW_SHARE * slow + np.sqrt(1.0 - SLOW_SHARE**2) * rng.normal())
        level = float(np.interp(at, run.seconds, run.level_mm)) + shared + noise
        if rng.random() < OUTLIER_SHARE:
            level += rng.choice([-1.0, 1.0]) * rng.uniform(1.0, 5.0)
        number = 1 + len([moment for moment, _ in cast.top_ups if at >= moment])
        looks.append(Look(float(at), number, level, float(np.hypot(0.3, drift)), drift))
    return tuple(looks)


def read_trial(looks: tuple[Look, ...], now_s: float) -> LevelSeries:
    """Series of what was read up to a moment, with the windows that the looks leave for every pour."""
    seen = [look for look in looks if look.at_s <= now_s]
    fillings = []
    for number in range(1, 1 + max((look.filling for look in seen), default=0)):
        own = [look for look in seen if look.filling == number]
        if own:
            fillings.append(_filling(own, [look for look in seen if look.filling < number], number == 1))
    if not fillings:
        began = [look.at_s for look in seen if look.filling < 1]
        fillings.append(filling(earliest_s=max(began, default=now_s - 60.0), latest_s=now_s))
    return LevelSeries(tuple(fillings))


def _gaps(cast: TrialCast, until_s: float, rng: np.random.Generator) -> tuple[tuple[float, float], ...]:
    gaps = []
    if rng.random() < 0.25:
        start = rng.uniform(0.0, until_s)
        gaps.append((start, start + rng.uniform(120.0, 480.0)))
    if rng.random() < 0.15:  # the fill was missed
        gaps.append((-cast.pour_s - rng.uniform(0.0, 120.0), rng.uniform(20.0, 150.0)))
    return tuple(gaps)


def _filling(own: list[Look], before: list[Look], first: bool) -> Filling:
    full = own[0].at_s
    empty = max((look.at_s for look in before if look.filling == EMPTY), default=full - 240.0)
    wet = [look.at_s for look in before if look.filling == POURING]
    return filling(
        earliest_s=max((look.at_s for look in before), default=full - 180.0),
        latest_s=full,
        times_s=[look.at_s for look in own],
        levels_mm=[look.level_mm for look in own],
        sigma_mm=[look.sigma_mm for look in own],
        drift_sigma_mm=[look.drift_mm for look in own],
        began_earliest_s=empty if first else None,
        began_latest_s=min([*wet, full]) if first else None,
    )
