"""What a mould's own casts teach: its K when dry, how damp slows it, how fast it dries, how it ages."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from models.constants import LOG_K_MEAN, LOG_K_SD
from models.constants_desk import DRYING_SIGMA_LOG, SLOWING_PER_FREE_WATER, SLOWING_SIGMA_LOG
from models.diary import REFERENCE_C, Diary, check_diary, drying_by_air, water_track
from models.drying import Drying
from models.water import speed_ratio

Array = npt.NDArray[np.float64]

SCATTER_LOG = 0.06
"""Spread of log K between casts that nothing here explains (guess: about 6 %)."""

AGEING_SIGMA = 0.10
"""How much log K may change over 100 casts (guess; moulds live 80-200 casts [S21])."""

_PRIOR_MEAN = np.array(
    [
        LOG_K_MEAN,
        math.log(SLOWING_PER_FREE_WATER),
        0.0,
        0.0,
    ]
)
_PRIOR_SIGMA = np.array(
    [
        LOG_K_SD,
        SLOWING_SIGMA_LOG,
        DRYING_SIGMA_LOG,
        AGEING_SIGMA,
    ]
)


@dataclass(frozen=True, slots=True)
class MouldMemory:
    """What was learned, as a normal posterior in four numbers.

    Attributes
    ----------
    mean : ndarray, shape (4,)
        log K of the dry mould at 20 C [mm2/min], log of slowing per free water, log of the drying factor,
        change of log K per 100 casts.
    covariance : ndarray, shape (4, 4)
    scatter_log : float
        Spread of log K from cast to cast that is left unexplained.
    casts_used : int
    """

    mean: Array
    covariance: Array
    scatter_log: float
    casts_used: int


def learn(diary: Diary) -> MouldMemory:
    """Learn a mould from its diary; with an empty one the prior comes back.

    Parameters
    ----------
    diary : Diary
        Times in order; checked.

    Returns
    -------
    MouldMemory

    Raises
    ------
    BadValue
        A value of the diary is absurd or out of order.

    Notes
    -----
    K = K_dry / (1 + s m) x age x viscosity / f: 1/K grows in step with the free water m, as the n-th cast of
    [S3] does; the cake's share of 1/K goes with f [S27]. Posterior by Gauss-Newton with a pseudo-Huber loss
    at 2 sigma, so that one odd cast does not bend a mould's history.
    """
    check_diary(diary)
    drying = drying_by_air(diary)

    def misfits(params: Array) -> Array:
        return _misfits(params, diary, drying)

    fit = least_squares(misfits, _PRIOR_MEAN, x_scale=_PRIOR_SIGMA, max_nfev=60)
    slopes = np.asarray(fit.jac, dtype=np.float64)
    covariance = np.asarray(np.linalg.inv(slopes.T @ slopes), dtype=np.float64)
    used = sum(c.k_mm2_per_min is not None for c in diary.casts)
    return MouldMemory(fit.x, covariance, SCATTER_LOG, used)


def log_k(
    params: Array, *, free_water: float, casts_so_far: int, temperature_c: float, f_ratio: float = 1.0
) -> float:
    """Logarithm of the K to expect. [mm2/min] Parameters as in `MouldMemory.mean`."""
    return float(
        params[0]
        - math.log1p(math.exp(params[1]) * free_water)
        + params[3] * casts_so_far / 100.0
        + math.log(speed_ratio(REFERENCE_C, temperature_c))
        - math.log(f_ratio)
    )


def _misfits(params: Array, diary: Diary, drying: Sequence[Drying]) -> Array:
    until = max([c.at_h for c in diary.casts] + [w.at_h for w in diary.weighings], default=0.0)
    water = water_track(diary, drying, math.exp(params[2]), until)
    rows = []
    for i, cast in enumerate(diary.casts):
        if cast.k_mm2_per_min is None:
            continue
        expected = log_k(
            params,
            free_water=diary.plaster.free_water(water.before_casts_ml[i]),
            casts_so_far=diary.casts_before + i,
            temperature_c=cast.temperature_c,
            f_ratio=cast.f_ratio,
        )
        rows.append((math.log(cast.k_mm2_per_min) - expected) / math.hypot(cast.k_sigma_log, SCATTER_LOG))
    for w, held_ml in zip(diary.weighings, water.weighed_ml, strict=True):
        rows.append((1000.0 * (w.weight_kg - diary.plaster.dry_kg) - held_ml) / (1000.0 * w.sigma_kg))
    data = np.array(rows)
    robust = np.sign(data) * np.sqrt(8.0 * (np.sqrt(1.0 + (data / 2.0) ** 2) - 1.0))
    return np.concatenate([robust, (params - _PRIOR_MEAN) / _PRIOR_SIGMA])
