"""Plain baselines for the time: last cast's time, and a fit of the level to the root of time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from models.cavity import cut
from models.mould import MouldProfile
from models.slip import Slip
from watcher.proof.cast_score import NO_LINE_SHARE
from watcher.proof.measured_lines import Lines
from watcher.proof.truth_tables import TrueCast, Truth, true_casts

FULL_LEVEL_MM = 3.0
"""Where a mould that is full stands, for the flat sum (common practice, no source). [mm]"""
LEAST_READINGS = 3


@dataclass(frozen=True, slots=True)
class PlainTimes:
    """Errors of the baselines, as shares of each cast's time.

    Attributes
    ----------
    root_half : tuple of float
        Moment foretold at half time by the root fit.
    root_calls : tuple of float
        Its call: the first picture at which it says the moment has come; a cast never called counts 1.
    last_time : tuple of float
        The same mould's cast before, where it had one.
    """

    root_half: tuple[float, ...]
    root_calls: tuple[float, ...]
    last_time: tuple[float, ...]


def plain_times(truth: Truth, lines: Lines, moulds: Sequence[MouldProfile], slip: Slip) -> PlainTimes:
    """Let the baselines guess on the levels that were read; the moment when full is given to them.

    Parameters
    ----------
    truth : Truth
    lines : mapping
        What was measured: only the levels that were seen are used.
    moulds : sequence of MouldProfile
    slip : Slip
    """
    profiles = {mould.name: mould for mould in moulds}
    last_s = max(row.time_s for row in truth.rows)
    half: list[float] = []
    calls: list[float] = []
    last_time: list[float] = []
    casts = true_casts(truth.events)
    for cast in casts:
        if cast.ready_s > min(last_s, cast.tipped_s):
            continue
        series = _levels(cast, lines, truth)
        drop_mm = flat_drop_mm(profiles[cast.mould], slip)
        if drop_mm is not None:
            half.append(_foretold(cast, series, drop_mm, cast.full_s + 0.5 * cast.lasts_s))
            calls.append(_called(cast, series, drop_mm))
        before = [c for c in casts if c.mould == cast.mould and c.number == cast.number - 1]
        if before and math.isfinite(before[0].ready_s):
            last_time.append((before[0].lasts_s - cast.lasts_s) / cast.lasts_s)
    return PlainTimes(tuple(half), tuple(calls), tuple(last_time))


def flat_drop_mm(mould: MouldProfile, slip: Slip) -> float | None:
    """Drop h = f L A / a at which a flat wall is there over an open hole that cake does not close. [mm]."""
    if mould.target_wall_mm is None:
        return None
    hole_mm2 = math.pi * float(mould.radius_mm(FULL_LEVEL_MM)) ** 2
    wetted_mm2 = cut(mould).wetted_mm2(FULL_LEVEL_MM)
    return slip.water_per_cake * mould.target_wall_mm[0] * wetted_mm2 / hole_mm2


def root_fit_s(levels: Sequence[tuple[float, float]], full_s: float, drop_mm: float) -> float | None:
    """Moment at which level = a + b sqrt(t - full) has dropped so far; None where no fit says so. [s].

    Parameters
    ----------
    levels : sequence of (float, float)
        Moment [s] and level [mm], at least three.
    full_s : float
    drop_mm : float
    """
    if len(levels) < LEAST_READINGS:
        return None
    times, depths = np.array(levels).T
    root = np.sqrt(np.maximum(times - full_s, 0.0))
    if float(np.ptp(root)) < 1e-6:
        return None
    slope = float(np.polyfit(root, depths, 1)[0])
    return full_s + (drop_mm / slope) ** 2 if slope > 0.0 else None


def _levels(cast: TrueCast, lines: Lines, truth: Truth) -> list[tuple[float, float]]:
    """Levels that were read in a cast up to its first top-up: the plain fit knows of none."""
    topped = [e.time_s for e in truth.events if e.mould == cast.mould and e.event == "topping_up"]
    end_s = min([cast.tipped_s, cast.next_s, *(at for at in topped if at > cast.full_s)])
    return sorted(
        (line.time_s, line.level_mm)
        for line in lines.values()
        if line.mould == cast.mould and line.seen and line.level_mm is not None
        and cast.full_s <= line.time_s < end_s
    )  # fmt: skip


def _foretold(cast: TrueCast, series: Sequence[tuple[float, float]], drop_mm: float, at_s: float) -> float:
    guess = root_fit_s([row for row in series if row[0] <= at_s], cast.full_s, drop_mm)
    return NO_LINE_SHARE if guess is None else (guess - cast.ready_s) / cast.lasts_s


def _called(cast: TrueCast, series: Sequence[tuple[float, float]], drop_mm: float) -> float:
    for n in range(LEAST_READINGS, len(series) + 1):
        guess = root_fit_s(series[:n], cast.full_s, drop_mm)
        if guess is not None and guess <= series[n - 1][0]:
            return (series[n - 1][0] - cast.ready_s) / cast.lasts_s
    return NO_LINE_SHARE
