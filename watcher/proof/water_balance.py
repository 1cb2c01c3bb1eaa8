"""What a level's error costs: in wall, by the book-keeping of volume, and in minutes, by the true fall."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from models.balance import clocks_when_poured, sink
from models.cavity import cut
from models.mould import MouldProfile
from models.slip import Slip
from watcher.proof.truth_tables import TrueCast, Truth

LEVEL_ERROR_MM = 0.1
"""The error whose cost is told. [mm]"""
POUR_MM2 = 0.2
"""Growth during a pour: a fifth of a square millimetre, as 12 s at 1 mm2/min. [mm2]"""


@dataclass(frozen=True, slots=True)
class ErrorCost:
    """What 0.1 mm of level costs one cast when it is ready.

    Attributes
    ----------
    mould : str
    drop_mm : float
        How far the slip has sunk by then, by the volume balance. [mm]
    wall_mm : float
        Error of the wall. [mm]
    minutes : float or None
        How much later or sooner the same fall comes; None: the truth does not tell the fall there. [min]
    share : float or None
        The same as a share of the cast's time.
    half_share : float
        The same for a forecast at half time, where the root law is taken on trust: 2 x error / drop so far.
    """

    mould: str
    drop_mm: float
    wall_mm: float
    minutes: float | None
    share: float | None
    half_share: float


def error_cost(mould: MouldProfile, slip: Slip, cast: TrueCast, truth: Truth) -> ErrorCost | None:
    """Work out what 0.1 mm of level costs at the end of a cast; None: no wall is wanted, or none comes.

    Parameters
    ----------
    mould : MouldProfile
    slip : Slip
    cast : TrueCast
        One that truly became ready.
    truth : Truth
    """
    if mould.target_wall_mm is None or not math.isfinite(cast.ready_s):
        return None
    start_mm = _first_level_mm(cast, truth)
    fall = drop_and_slope(mould, slip, mould.target_wall_mm[0], start_mm)
    if fall is None:
        return None
    drop_mm, wall_per_drop = fall
    speed = _true_speed_mm_per_min(cast, truth)
    minutes = None if speed is None or speed <= 0.0 else LEVEL_ERROR_MM / speed
    half = drop_and_slope(mould, slip, mould.target_wall_mm[0] / math.sqrt(2.0), start_mm)
    half_share = 2.0 * LEVEL_ERROR_MM / half[0] if half is not None else math.nan
    share = None if minutes is None else minutes * 60.0 / cast.lasts_s
    return ErrorCost(mould.name, drop_mm, LEVEL_ERROR_MM * wall_per_drop, minutes, share, half_share)


def drop_and_slope(
    mould: MouldProfile, slip: Slip, wall_mm: float, start_mm: float
) -> tuple[float, float] | None:
    """Drop at which a wall is there, and wall grown for each mm of fall there; None: it never comes to it.

    For an open hole of area a over plaster A the slope is a / (f A): what a ruler, a scale and a sink give.
    """
    cavity = cut(mould)
    run = sink(
        cavity,
        level_mm=start_mm,
        clocks_mm2=clocks_when_poured(cavity, start_mm, POUR_MM2),
        water_per_cake=slip.water_per_cake,
        most_mm2=(1.3 * wall_mm) ** 2,
    )
    if len(run.wall_mm) < 4 or not run.wall_mm[0] < wall_mm < run.wall_mm[-1]:
        return None
    slope = np.gradient(run.wall_mm, run.level_mm)
    at = float(np.interp(wall_mm, run.wall_mm, run.level_mm))
    return at - start_mm, float(np.interp(at, run.level_mm, slope))


def _first_level_mm(cast: TrueCast, truth: Truth) -> float:
    levels = [
        row.level_mm
        for row in truth.rows
        if row.mould == cast.mould and row.level_mm is not None and row.time_s >= cast.full_s
    ]
    return levels[0] if levels else 3.0


def _true_speed_mm_per_min(cast: TrueCast, truth: Truth) -> float | None:
    """Speed of the true fall about the true moment, by a straight line through the rows next to it."""
    end_s = min(cast.tipped_s, cast.next_s)
    near = [
        (row.time_s / 60.0, row.level_mm)
        for row in truth.rows
        if row.mould == cast.mould and row.level_mm is not None and row.phase == "casting"
        and cast.full_s <= row.time_s < end_s and abs(row.time_s - cast.ready_s) < 0.25 * cast.lasts_s
    ]  # fmt: skip
    return _slope(near) if len(near) >= 3 else None


def _slope(points: Sequence[tuple[float, float]]) -> float:
    x, y = np.array(points).T
    return float(np.polyfit(x, y, 1)[0])
