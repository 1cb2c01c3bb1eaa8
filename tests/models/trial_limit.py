"""How near anybody could come on a drawn cast who knew the law and the spreads it was drawn from.

The Bayesian Cramer-Rao bound: the inverse of what readings and spreads tell together, to first order about
the truth. It shares nothing with the fit: levels are those of the drawn cast's own small steps, run anew with
each unknown a little off. Readings that are wrong by millimetres are left out, as if somebody had named
them.
"""

from dataclasses import replace

import numpy as np
from scipy.special import ndtr, ndtri

from models.constants import LOG_K_SD
from models.trial_readings import SLOW_S, SLOW_SHARE, read_trial
from models.trial_truth import run_trial

STEP = 0.2
"""Each unknown is moved so far, in units in which its spread is standard normal."""

SHARED_MM, POUR_LOG_SD, UNEVEN = 0.3, 0.35, 0.05
EVEN = {"plaster_share": (0.03, 0.35), "room_mm": (6, 25), "skin_mm": (0, 0.4), "level_mm": (1, 6)}
EVEN |= {"evaporation_mm_per_h": (0.05, 0.4), "corner": (0.0, 0.5)}
"""As `models.trials` draws them."""


def moved(low, high, at, by):
    """Move a value within its even spread by so many standard deviations of a normal one."""
    place = min(max((at - low) / (high - low), 0.005), 0.995)
    return low + (high - low) * float(ndtr(ndtri(place) + by)) - (low + (high - low) * place - at)


def variants(cast, window_s, began_s):
    """Give the cast with each unknown moved, and the moment when it was full, then."""
    yield replace(cast, k_mm2_per_min=cast.k_mm2_per_min * np.exp(STEP * LOG_K_SD)), 0.0
    for name, (low, high) in EVEN.items():
        yield replace(cast, **{name: moved(low, high, getattr(cast, name), STEP)}), 0.0
    rim, middle, foot = cast.unevenness
    yield replace(cast, unevenness=(rim + STEP * UNEVEN, middle, foot)), 0.0
    yield replace(cast, unevenness=(rim, middle, foot + STEP * UNEVEN)), 0.0
    full = moved(*window_s, 0.0, STEP)
    yield replace(cast, pour_s=cast.pour_s + full), full
    yield replace(cast, pour_s=max(cast.pour_s - moved(*began_s, -cast.pour_s, STEP) - cast.pour_s, 2.0)), 0.0


def least_sigma(trial, share):
    """Standard deviation of ready that nobody can beat on average, as a share of the cast's time."""
    cast, now = trial.cast, share * trial.ready_s
    first = read_trial(trial.looks, now).fillings[0]
    if first.began_earliest_s is None:
        return None
    wanted = trial.mould.target_wall_mm[0]

    def run(one):
        return run_trial(one, until_wall_mm=1.25 * wanted, slices=100, steps=350)

    base = run(cast)
    read = [look for look in trial.looks if look.filling >= 1 and look.at_s <= now]
    true = np.interp([look.at_s for look in read], trial.run.seconds, trial.run.level_mm)
    kept = [
        i for i, look in enumerate(read) if abs(look.level_mm - true[i]) < 4.0 * np.hypot(0.3, look.drift_mm)
    ]
    times, drift = np.array([read[i].at_s for i in kept]), read[0].drift_mm
    apart = np.abs(times[:, None] - times[None, :])
    noise = SHARED_MM**2 + (SLOW_SHARE * drift) ** 2 * np.exp(-apart / SLOW_S)
    noise += (1.0 - SLOW_SHARE**2) * drift**2 * np.eye(len(times))
    levels, ready = np.interp(times, base.seconds, base.level_mm), base.time_of(wanted)
    by, ready_by, pour_by = [], [], []
    windows = (first.earliest_s, first.latest_s), (first.began_earliest_s, first.began_latest_s)
    for one, full_s in variants(cast, *windows):
        other = run(one)
        by.append((np.interp(times - full_s, other.seconds, other.level_mm) - levels) / STEP)
        ready_by.append((full_s + other.time_of(wanted) - ready) / STEP)
        pour_by.append(np.log(one.pour_s / cast.pour_s) / STEP / POUR_LOG_SD)
    slopes = np.array(by)
    told = slopes @ np.linalg.solve(noise, slopes.T) + np.eye(len(by)) + np.outer(pour_by, pour_by)
    return float(np.sqrt(np.array(ready_by) @ np.linalg.solve(told, np.array(ready_by)))) / trial.ready_s
