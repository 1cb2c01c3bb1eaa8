"""What is known of a cast before its first reading."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from models.constants import LOG_K_MEAN, LOG_K_SD
from models.doors import BadValue

BETWEEN_CASTS_SD = 0.12
"""How much ln K of one mould varies from cast to cast beyond what is known of its dampness (practice)."""

BETWEEN_MOULDS_SD, BETWEEN_MOULDS_LOG_SD = 0.2, 0.5
"""How much ln K differs between moulds of one bench, and how surely that is known. Dry moulds of one trade
table cast 4 mm in 3, 4, 5 and 5 minutes, spread 0.24; they differ in make and size more than most [S3]."""

POUR_POWER = 1.0 / 3.0
"""A mould of eight times the volume is poured with a bigger jug and takes twice the time (practice)."""


@dataclass(frozen=True, slots=True)
class AbsorptionPrior:
    """Spreads of what the levels shall teach; normal in the logarithm unless said.

    Attributes
    ----------
    log_k, log_k_sd : float
        ln of K at the start in mm2/min. Dampness and temperature belong in the mean.
    skin_mm, skin_log_sd : float
        r of `growth.Growth`: median and spread. [mm]
    slope_per_mm, slope_log_sd : float
        a of `growth.Growth`: median and spread. [1/mm]
    bend_per_mm2, bend_log_sd : float
        b of `growth.Growth`: median and spread. [1/mm2]
    gain, gain_sd : float
        ln of the water given up per wall against what slip and profile say, and its spread on top of theirs:
        learned from cut tests and good casts of this mould.
    pour_s, pour_log_sd : float
        How long filling half a litre takes when it was not timed; other moulds by `POUR_POWER`. [s]
    evaporation_mm_per_h, evaporation_sd : float
        Sinking of an open surface without any plaster; normal. [mm/h]
    fastest_k_mm2_per_min : float or None
        The fastest this mould ever drank, where it has a history; sinking faster than that is no growth.
    """

    log_k: float = LOG_K_MEAN
    log_k_sd: float = LOG_K_SD
    skin_mm: float = 0.2
    skin_log_sd: float = 0.8
    slope_per_mm: float = 0.03
    slope_log_sd: float = 0.9
    bend_per_mm2: float = 0.008
    bend_log_sd: float = 0.8
    gain: float = 0.0
    gain_sd: float = 0.012
    pour_s: float = 40.0
    pour_log_sd: float = 0.35
    evaporation_mm_per_h: float = 0.25
    evaporation_sd: float = 0.15
    fastest_k_mm2_per_min: float | None = None


def prior_from_history(
    k_mm2_per_min: Sequence[float],
    *,
    slower: float = 1.0,
    slower_log_sd: float = 0.0,
    base: AbsorptionPrior | None = None,
) -> AbsorptionPrior:
    """Prior for the next cast of a mould whose earlier casts are known.

    Parameters
    ----------
    k_mm2_per_min : sequence of float
        K of its earlier casts, brought to a common dampness and temperature. Empty: the wide band.
    slower : float
        Factor on K for the dampness and temperature of this cast.
    slower_log_sd : float
        Standard deviation of ln of that factor.
    base : AbsorptionPrior, optional
        Where all the rest comes from.

    Returns
    -------
    AbsorptionPrior
        The mean of the casts in ln K, drawn to the wide band by one cast's worth; the spread is that of the
        mean and of one more cast, and never below `BETWEEN_CASTS_SD` (few casts tell little of a spread).
    """
    start = base or AbsorptionPrior()
    if not (math.isfinite(slower) and 0.01 <= slower <= 10.0):
        raise BadValue(f"slower is {slower}; give a factor on K from 0.01 to 10")
    for value in k_mm2_per_min:
        if not (math.isfinite(value) and 0.001 <= value <= 100.0):
            raise BadValue(f"k_mm2_per_min holds {value}; give mm2/min from 0.001 to 100")
    logs = np.log(np.asarray(k_mm2_per_min, dtype=np.float64))
    n = len(logs)
    scatter = (2.0 * BETWEEN_CASTS_SD**2 + float(((logs - logs.mean()) ** 2).sum() if n else 0.0)) / (2.0 + n)
    scatter = max(scatter, BETWEEN_CASTS_SD**2)
    weight = n / scatter
    pull = 1.0 / start.log_k_sd**2
    mean = (weight * float(logs.mean() if n else 0.0) + pull * start.log_k) / (weight + pull)
    variance = 1.0 / (weight + pull) + (scatter if n else 0.0) + slower_log_sd**2
    return replace(
        start,
        log_k=mean + math.log(slower),
        log_k_sd=min(math.sqrt(variance), math.hypot(start.log_k_sd, slower_log_sd)),
        fastest_k_mm2_per_min=float(np.exp(logs.max())) * slower if n else start.fastest_k_mm2_per_min,
    )


def prior_from_bench(
    neighbours: Sequence[tuple[float, float]], base: AbsorptionPrior | None = None
) -> AbsorptionPrior:
    """Prior for a mould from what the others on the bench drink today, out of the same bucket of slip.

    Parameters
    ----------
    neighbours : sequence of (log_k, log_k_sd)
        `AbsorptionFit.k_alone` of each other mould under cast: what its levels alone say. [ln mm2/min]
    base : AbsorptionPrior, optional
        What is known of this mould without them.

    Returns
    -------
    AbsorptionPrior
        This mould is one more draw from the spread that the neighbours are drawn from. How wide that is, the
        neighbours say themselves, beside `BETWEEN_MOULDS_SD`; where the bench lies at all, the base says.
    """
    start = base or AbsorptionPrior()
    if not neighbours:
        return start
    own = max(start.log_k_sd, 1e-3) ** 2
    seen = np.array([log_k for log_k, _ in neighbours])
    told = np.array([sd**2 for _, sd in neighbours])
    spreads = BETWEEN_MOULDS_SD * np.exp(BETWEEN_MOULDS_LOG_SD * np.linspace(-2.5, 2.5, 21))
    chance = -0.5 * np.linspace(-2.5, 2.5, 21) ** 2
    means, variances = np.empty(21), np.empty(21)
    for i, spread in enumerate(spreads):  # one level of spread after the other, weighed by how likely it is
        precision = 1.0 / (told + spread**2)
        total = float(precision.sum()) + 1.0 / own
        middle = (float(precision @ seen) + start.log_k / own) / total
        chance[i] += 0.5 * float(np.log(precision).sum()) - 0.5 * math.log(total * own)
        chance[i] -= 0.5 * float(precision @ (seen - middle) ** 2) + 0.5 * (middle - start.log_k) ** 2 / own
        means[i], variances[i] = middle, 1.0 / total + spread**2
    weights = np.exp(chance - chance.max())
    weights /= weights.sum()
    mean = float(weights @ means)
    variance = float(weights @ (variances + (means - mean) ** 2))
    return replace(start, log_k=mean, log_k_sd=min(math.sqrt(variance), math.sqrt(own)))
