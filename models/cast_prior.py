"""Between a mould's memory and the fit of one cast: K of a whole cast there, K at its start here."""

from __future__ import annotations

import math
from dataclasses import replace

from models.damp_forecast import CastForecast
from models.doors import number
from models.growth import Growth
from models.prior import AbsorptionPrior


def prior_for_cast(
    forecast: CastForecast, *, wall_mm: float, base: AbsorptionPrior | None = None
) -> AbsorptionPrior:
    """Give the fit of the next cast what the mould's memory foretells of it.

    Parameters
    ----------
    forecast : CastForecast
        From `models.damp_forecast.next_cast`: dampness, warmth, slip and age are in it.
    wall_mm : float
        Wall that the forecast is for. [mm]
    base : AbsorptionPrior, optional
        Where all the rest comes from.

    Notes
    -----
    The K at the start is the one with which the base's law reaches the wall in the forecast's time.
    """
    start = base or AbsorptionPrior()
    log_k = math.log(forecast.k_mm2_per_min.value) + _start_over_whole(wall_mm, start)
    return replace(start, log_k=log_k, log_k_sd=forecast.sigma_log)


def whole_cast_k(
    log_k_start: float, *, wall_mm: float, skin_mm: float, bend_per_mm2: float, slope_per_mm: float = 0.0
) -> float:
    """L2/t of a cast to a wall, for `models.diary.PastCast`, from what its fit found, [mm2/min].

    Parameters
    ----------
    log_k_start : float
        ln of K at the start, -7 to 5. [mm2/min]
    wall_mm : float
        Wall at the tip, 0.3 to 60. [mm]
    skin_mm, bend_per_mm2, slope_per_mm : float
        r, b and a of the fit, 0 or more. [mm], [1/mm2], [1/mm]
    """
    start = number("ln K", log_k_start, wanted="of mm2/min, -7 to 5", least=-7, most=5)
    number("skin", skin_mm, wanted="mm, 0 to 20", least=0, most=20)
    number("bend", bend_per_mm2, wanted="1/mm2, 0 to 10", least=0, most=10)
    number("slope", slope_per_mm, wanted="1/mm, 0 to 10", least=0, most=10)
    law = AbsorptionPrior(skin_mm=skin_mm, bend_per_mm2=bend_per_mm2, slope_per_mm=slope_per_mm)
    return math.exp(start - _start_over_whole(wall_mm, law))


def _start_over_whole(wall_mm: float, law: AbsorptionPrior) -> float:
    """Log of K at the start over L2/t at a wall: time times K0 over L2."""
    wall = number("wall", wall_mm, wanted="the wall in mm, 0.3 to 60", least=0.3, most=60)
    growth = Growth(1.0, law.skin_mm, law.bend_per_mm2, law.slope_per_mm)
    return math.log(float(growth.seconds(wall)) / wall**2)
