"""Between a mould's memory and the fit of one cast: K of a whole cast there, K at its start here."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from models.damp_forecast import CastForecast
from models.doors import number
from models.growth import Growth
from models.prior import AbsorptionPrior, prior_from_history

SLOWER_PER_CAST = 1.0 / 6.0
"""Rise of casting time with each cast of a day over that of the dry mould: 3, 3.5, 4 min for the first three
casts of a small mould; other moulds of the same table go from 4 to 4.5 and from 5 to 6 min [S3]."""

SLOWER_LOG_SD = 0.5
"""How surely that rise is known for one mould, as a share of its logarithm (guess from the same table)."""

CASTS_FOR_FASTEST = 3
"""Only a mould that was cast so often is known well enough to be told that it never drank so fast (guess)."""


@dataclass(frozen=True, slots=True)
class PastSpeed:
    """How fast one earlier cast of a mould drank.

    Attributes
    ----------
    cast_id : str
    k_mm2_per_min : float
        L2/t of the whole cast. [mm2/min]
    sigma_log : float
        Standard deviation of its logarithm.
    wall_mm : float
        Wall at its tip, 0.3 to 60. [mm]
    number_today : int
        Which cast of its day it was, from 1.
    """

    cast_id: str
    k_mm2_per_min: float
    sigma_log: float
    wall_mm: float
    number_today: int


def slower(number_today: int) -> float:
    """Return how much longer the n-th cast of a day takes than the first, where nothing more is known."""
    return 1.0 + SLOWER_PER_CAST * (number_today - 1)


def prior_from_casts(
    past: Sequence[PastSpeed], *, number_today: int, base: AbsorptionPrior | None = None
) -> AbsorptionPrior:
    """Prior for a mould's next cast from its earlier ones, by the number that it has today.

    Parameters
    ----------
    past : sequence of PastSpeed
        Empty: the base comes back.
    number_today : int
        Of the cast to come, from 1.
    base : AbsorptionPrior, optional
        Where all the rest comes from.

    Notes
    -----
    Each K is brought to the dry mould and to the start of its cast, so that the law of the base passes
    through the wall that was there at the tip. How surely the earlier casts were known is part of the spread.
    """
    start = base or AbsorptionPrior()
    if not past:
        return start
    dry = [
        one.k_mm2_per_min * slower(one.number_today) * math.exp(_start_over_whole(one.wall_mm, start))
        for one in past
    ]
    known = math.sqrt(sum(one.sigma_log**2 for one in past)) / len(past)
    longer = slower(number_today)
    spread = math.hypot(known, SLOWER_LOG_SD * math.log(longer))
    prior = prior_from_history(dry, slower=1.0 / longer, slower_log_sd=spread, base=start)
    if len(past) < CASTS_FOR_FASTEST:
        return replace(prior, fastest_k_mm2_per_min=start.fastest_k_mm2_per_min)
    return prior


def told_by_both(own: AbsorptionPrior, bench: AbsorptionPrior) -> AbsorptionPrior:
    """Join what a mould's own casts tell of K with what the rest of the bench tells today.

    Parameters
    ----------
    own : AbsorptionPrior
        From `prior_from_casts`; all but K comes from here.
    bench : AbsorptionPrior
        From `models.prior.prior_from_bench`, with nothing of this mould in it.

    Notes
    -----
    Two normal beliefs about one number, taken as independent: weighed by their precision.
    """
    ours, theirs = own.log_k_sd**-2, bench.log_k_sd**-2
    total = ours + theirs
    return replace(own, log_k=(ours * own.log_k + theirs * bench.log_k) / total, log_k_sd=total**-0.5)


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
