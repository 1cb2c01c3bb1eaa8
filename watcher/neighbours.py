"""What the other casts on this bench tell of one mould: same slip, same room, same plaster shop."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from models.fit import AbsorptionFit
from models.prior import AbsorptionPrior
from models.ranged import Z80
from watcher.records.bench import Cast

BETWEEN_MOULDS_SD = 0.25
"""Spread of ln K between moulds of one studio with one slip. Four dry moulds of one trade table cast 4 mm in
3, 4, 5 and 5 minutes: K 5.33, 4.00, 3.20 and 3.20 mm2/min, a spread of 0.24 in ln K [S3]."""

LEAST_READINGS = 6
"""A cast with fewer readings says too little of its own K to speak for others."""


def prior_from_neighbours(base: AbsorptionPrior, mould: str, casts: Iterable[Cast]) -> AbsorptionPrior:
    """Draw a mould's prior towards the casts of its neighbours.

    Parameters
    ----------
    base : AbsorptionPrior
        What is known without them.
    mould : str
        The mould in question; its own casts do not count here.
    casts : iterable of Cast
        Casts under way or over on this bench today.

    Returns
    -------
    AbsorptionPrior
        ln K of the bench is the base's mean sharpened by every neighbour's fit (each with its own spread and
        the spread between moulds); this mould's K scatters about it.
    """
    weight, total = 1.0 / base.log_k_sd**2, base.log_k / base.log_k_sd**2
    for cast in casts:
        fit = cast.fit
        if cast.mould == mould or not isinstance(fit, AbsorptionFit) or fit.readings_used < LEAST_READINGS:
            continue
        k = fit.k_mm2_per_min
        own_sd = (math.log(k.high) - math.log(k.low)) / (2.0 * Z80)
        by = 1.0 / (own_sd**2 + BETWEEN_MOULDS_SD**2)
        weight, total = weight + by, total + by * math.log(k.value)
    if weight * base.log_k_sd**2 <= 1.0 + 1e-9:
        return base
    sd = min(base.log_k_sd, math.sqrt(1.0 / weight + BETWEEN_MOULDS_SD**2))
    return replace(base, log_k=total / weight, log_k_sd=sd)
