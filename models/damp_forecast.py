"""From a mould's memory to the caster's questions: the next cast's time, casts left today, dry when."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from models.diary import REFERENCE_C, Air, Diary, PastCast, drying_by_air, water_track
from models.doors import number
from models.drying import Drying, hours_until
from models.mould_memory import MouldMemory, log_k
from models.ranged import Z80, Ranged, lognormal

Array = npt.NDArray[np.float64]

MOST_CASTS_AHEAD = 30
"""Casts that a forecast looks ahead at most; more in a day is no plan."""


@dataclass(frozen=True, slots=True)
class CastForecast:
    """What the next cast of a mould will be like.

    Attributes
    ----------
    k_mm2_per_min : Ranged
        L2/t over the cast.
    sigma_log : float
        Standard deviation of log K (and of the log of the time): a prior for the fit.
    minutes : Ranged
        Time from full to the wall asked for. [min]
    free_water : Ranged
        In the plaster when poured, over its dry mass.
    """

    k_mm2_per_min: Ranged
    sigma_log: float
    minutes: Ranged
    free_water: Ranged


def next_cast(
    memory: MouldMemory,
    diary: Diary,
    *,
    at_h: float,
    wall_mm: float,
    temperature_c: float = REFERENCE_C,
    f_ratio: float = 1.0,
) -> CastForecast:
    """Forecast a cast poured at `at_h` to a wall of `wall_mm`.

    Parameters
    ----------
    memory : MouldMemory
        From `learn` on this diary.
    diary : Diary
    at_h : float
        Not before the diary's last entry. [h]
    wall_mm : float
        Above 0 to 60. [mm]
    temperature_c : float
        Of slip and mould. [C]
    f_ratio : float
        This slip's f over the reference slip's.

    Notes
    -----
    The memory's spread is carried by its slopes (first order), the scatter between casts is added.
    """
    wall = number("wall", wall_mm, wanted="the wall in mm, above 0 to 60", above=0, most=60)
    _not_before_the_last(diary, at_h)
    drying = drying_by_air(diary)

    def free(params: Array) -> float:
        end_ml = water_track(diary, drying, math.exp(params[2]), at_h).end_ml
        return diary.plaster.free_water(end_ml)

    def log_rate(params: Array) -> float:
        return log_k(
            params,
            free_water=free(params),
            casts_so_far=diary.casts_before + len(diary.casts),
            temperature_c=temperature_c,
            f_ratio=f_ratio,
        )

    centre, spread = _carried(memory, log_rate)
    sigma = math.hypot(spread, memory.scatter_log)
    k = lognormal(math.exp(centre), sigma)
    damp, damp_sigma = _carried(memory, free)
    return CastForecast(
        k_mm2_per_min=k,
        sigma_log=sigma,
        minutes=lognormal(wall * wall / k.value, sigma),
        free_water=_share(damp, damp_sigma, diary.plaster.free_water(diary.plaster.capacity_ml)),
    )


def coming_casts(
    memory: MouldMemory,
    diary: Diary,
    *,
    first_h: float,
    every_h: float,
    count: int,
    wall_mm: float,
    water_ml: float,
    temperature_c: float = REFERENCE_C,
) -> tuple[CastForecast, ...]:
    """Forecast a row of equal casts, each giving `water_ml` to the plaster, `every_h` hours apart."""
    number("hours between casts", every_h, wanted="hours, above 0 to 1000", above=0, most=1000)
    number("water per cast", water_ml, wanted="mL, 0 to 100000", least=0, most=1e5)
    number("number of casts", count, wanted=f"1 to {MOST_CASTS_AHEAD}", least=1, most=MOST_CASTS_AHEAD)
    said = []
    for n in range(count):
        at_h = first_h + n * every_h
        said.append(next_cast(memory, diary, at_h=at_h, wall_mm=wall_mm, temperature_c=temperature_c))
        cast = PastCast(at_h, None, 1.0, water_ml, temperature_c)
        diary = replace(diary, casts=(*diary.casts, cast))
    return tuple(said)


@dataclass(frozen=True, slots=True)
class CastsLeft:
    """How many more casts a mould takes, and how many if it is better or worse than thought (80 %)."""

    expected: int
    at_least: int
    at_most: int


def casts_left(casts: tuple[CastForecast, ...], *, longest_min: float, dampest: float) -> CastsLeft:
    """Count the coming casts that stay within what the caster allows.

    Parameters
    ----------
    casts : tuple of CastForecast
        From `coming_casts`.
    longest_min : float
        The longest cast that the caster will wait for, above 0. [min]
    dampest : float
        The most free water that a cast may start with: 0.05 is good practice, many run to 0.15 [S13].
    """
    number("longest cast", longest_min, wanted="minutes, above 0", above=0, most=1e5)
    number("dampest", dampest, wanted="free water over dry plaster, above 0 to 0.4", above=0, most=0.4)

    def run(pick: Callable[[Ranged], float]) -> int:
        for n, cast in enumerate(casts):
            if pick(cast.minutes) > longest_min or pick(cast.free_water) > dampest:
                return n
        return len(casts)

    return CastsLeft(run(lambda r: r.value), run(lambda r: r.high), run(lambda r: r.low))


def dry_again_h(memory: MouldMemory, diary: Diary, *, at_h: float, air: Air, down_to: float) -> Ranged:
    """Hours from `at_h` until the plaster is down to `down_to` free water in this air; 0 if it is already.

    Parameters
    ----------
    memory, diary
        As in `next_cast`.
    at_h : float
        Not before the diary's last entry. [h]
    air : Air
        Where the mould stands from now on.
    down_to : float
        Free water over dry plaster, above 0: 0.05 is good practice [S13].
    """
    goal = number("wanted free water", down_to, wanted="over dry plaster, above 0 to 0.4", above=0, most=0.4)
    _not_before_the_last(diary, at_h)
    drying = drying_by_air(diary)
    by_rule = drying_by_air(replace(diary, air=(air,)))[0]
    goal_ml = diary.plaster.water_ml(goal)
    spread = math.sqrt(float(memory.covariance[2, 2]))

    def wait(shift: float) -> float:
        factor = math.exp(float(memory.mean[2]) + shift)
        held = water_track(diary, drying, factor, at_h).end_ml
        return hours_until(Drying(by_rule.full_ml_h * factor, by_rule.critical_ml), held, goal_ml)

    return Ranged(wait(0.0), wait(Z80 * spread), wait(-Z80 * spread))


def _carried(memory: MouldMemory, of: Callable[[Array], float]) -> tuple[float, float]:
    """Value at the memory's mean and its standard deviation, by central differences of half a sigma."""
    centre = of(memory.mean)
    steps = 0.5 * np.sqrt(np.diag(memory.covariance))
    slope = np.empty(len(steps))
    for i, step in enumerate(steps):
        there = np.zeros(len(steps))
        there[i] = step
        slope[i] = (of(memory.mean + there) - of(memory.mean - there)) / (2.0 * step)
    return centre, float(np.sqrt(slope @ memory.covariance @ slope))


def _share(value: float, sigma: float, most: float) -> Ranged:
    """Stop the range of a share at 0 and at `most`: it cannot leave them."""
    return Ranged(value, max(value - Z80 * sigma, 0.0), min(value + Z80 * sigma, most))


def _not_before_the_last(diary: Diary, at_h: float) -> None:
    last = max([c.at_h for c in diary.casts] + [w.at_h for w in diary.weighings], default=-math.inf)
    wanted = f"hours, not before the diary's last entry at {last:g} h"
    number("time of forecast", at_h, wanted=wanted, least=last)
