"""What is believed of a cast's unknowns before its levels are looked at: spreads, and windows of moments."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from models.course import FIRST_LEVEL, GAIN, LOG_BEND, LOG_K, LOG_POUR, LOG_SKIN, LOG_SLOPE, SEEP, SHIFT
from models.legs import cavity_of
from models.mould import MouldProfile
from models.prior import POUR_POWER, AbsorptionPrior
from models.series import Filling, LevelSeries
from models.slip import Slip
from models.windows import EDGE_S, site_of_window, without_site

Array = npt.NDArray[np.float64]

FIRST_LEVEL_SD_MM = 10.0
"""Before any reading a pour may have stopped this far from where the first reading lies. [mm]"""

UNREAD_LEVEL_MM, UNREAD_LEVEL_SD_MM = 4.0, 3.0
"""Where casters stop pouring when nothing was read (common practice, no source). [mm]"""

LEAST_K_SD = 0.01
"""The law of growth is never better than this in ln K."""

UNEVEN, USUAL_WALL_MM = 0.03, 3.0
"""Cake in the pour hole against the piece's mean (guess: 3 %), and the wall where none is wanted. [mm]"""

TIMED_LOG_SD = 0.1
"""A pour that was timed is known to a tenth: who says when it began and was full?"""


HELD = 1e-4
"""Spread of an unknown that the levels shall not move."""


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment of the pour that lies in a window, and the normal factor that stands for it at present.

    All in seconds from the middle of the window in which the pour ended.
    """

    low_s: float
    high_s: float
    mean_s: float
    sd_s: float

    def learned(self, mean_s: float, sd_s: float) -> Moment:
        """Return the moment with the factor that is right beside all else that is known of it.

        `mean_s`, `sd_s` are of the answer, which the present factor has gone into.
        """
        others = without_site(mean_s, sd_s, self.mean_s, self.sd_s)
        site = site_of_window(*others, self.low_s - EDGE_S, self.high_s + EDGE_S)
        return replace(self, mean_s=site[0], sd_s=site[1])


def moment(low_s: float, high_s: float) -> Moment:
    """Return the moment as the window alone has it."""
    return Moment(low_s, high_s, 0.5 * (low_s + high_s), (high_s - low_s + 2.0 * EDGE_S) / math.sqrt(12.0))


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """Means and standard deviations of the p unknowns, and windows of the pour's end and beginning."""

    mean: Array
    sd: Array
    full: Moment
    began: Moment | None = None

    def pull(self, unknowns: Array) -> tuple[Array, Array]:
        """Give belief's part of the normal equations: right side, shape (p,), and matrix, (p, p)."""
        right, matrix = (self.mean - unknowns) / self.sd**2, np.diag(1.0 / self.sd**2)
        right[SHIFT] = (self.full.mean_s - unknowns[SHIFT]) / self.full.sd_s**2
        matrix[SHIFT, SHIFT] = 1.0 / self.full.sd_s**2
        if self.began is not None:
            row = began_row(unknowns)
            right += row * (self.began.mean_s - began_s(unknowns)) / self.began.sd_s**2
            matrix += np.outer(row, row) / self.began.sd_s**2
        return right, matrix

    def cost(self, unknowns: Array) -> float:
        """How far the unknowns lie from belief, in squares of standard deviations."""
        square = ((unknowns - self.mean) / self.sd) ** 2
        square[SHIFT] = ((unknowns[SHIFT] - self.full.mean_s) / self.full.sd_s) ** 2
        began = self.began
        late = 0.0 if began is None else ((began_s(unknowns) - began.mean_s) / began.sd_s) ** 2
        return float(square.sum()) + late

    def gain_held(self) -> Belief:
        """Return the belief with the gain held where it is believed (see `trust`)."""
        sd = self.sd.copy()
        sd[GAIN] = HELD
        return replace(self, sd=sd)

    def windows_of(self, other: Belief) -> Belief:
        """Return the belief with its windows weighed as another's, where they are the same windows."""
        same = (self.full.low_s, self.full.high_s) == (other.full.low_s, other.full.high_s)
        return replace(self, full=other.full, began=other.began) if same else self

    def learned(self, unknowns: Array, covariance: Array) -> Belief:
        """Return the belief with its windows weighed anew beside an answer."""
        full = self.full.learned(float(unknowns[SHIFT]), math.sqrt(float(covariance[SHIFT, SHIFT])))
        if self.began is None:
            return replace(self, full=full)
        row = began_row(unknowns)
        sd = math.sqrt(float(row @ covariance @ row))
        return replace(self, full=full, began=self.began.learned(began_s(unknowns), sd))


def began_s(unknowns: Array) -> float:
    """When the pour began, from the middle of the window in which it ended. [s]."""
    return float(unknowns[SHIFT] - math.exp(unknowns[LOG_POUR]))


def began_row(unknowns: Array) -> Array:
    """Slopes of `began_s` by the unknowns, shape (p,)."""
    row = np.zeros(len(unknowns))
    row[SHIFT], row[LOG_POUR] = 1.0, -math.exp(unknowns[LOG_POUR])
    return row


def believe(
    series: LevelSeries, shared_mm: Array, mould: MouldProfile, slip: Slip, prior: AbsorptionPrior
) -> Belief:
    """Put together what is believed before the levels.

    Parameters
    ----------
    series : LevelSeries
    shared_mm : ndarray, shape (q,)
        Standard deviation of each error that readings share (see `evidence`). [mm]
    mould, slip, prior
        As for the fit.
    """
    p = FIRST_LEVEL + len(series.fillings) + len(shared_mm)
    mean, sd = np.zeros(p), np.ones(p)
    first = series.fillings[0]
    mean[LOG_K], sd[LOG_K] = prior.log_k - math.log(60.0), max(prior.log_k_sd, LEAST_K_SD)
    mean[LOG_SKIN], sd[LOG_SKIN] = math.log(prior.skin_mm), prior.skin_log_sd
    mean[LOG_SLOPE], sd[LOG_SLOPE] = math.log(prior.slope_per_mm), prior.slope_log_sd
    mean[LOG_BEND], sd[LOG_BEND] = math.log(prior.bend_per_mm2), prior.bend_log_sd
    mean[GAIN] = prior.gain
    known = prior.gain_sd**2 + slip.water_per_cake_rel_sigma**2 + mould.area_rel_sigma**2
    sd[GAIN] = math.sqrt(known + _ring_error(mould) ** 2)
    mean[LOG_POUR], sd[LOG_POUR] = _pour(first, mould, prior)
    mean[SEEP], sd[SEEP] = prior.evaporation_mm_per_h / 3600.0, prior.evaporation_sd / 3600.0
    for j, filling in enumerate(series.fillings):
        read = len(filling.levels_mm) > 0
        mean[FIRST_LEVEL + j] = float(np.median(filling.levels_mm[:3])) if read else UNREAD_LEVEL_MM
        sd[FIRST_LEVEL + j] = FIRST_LEVEL_SD_MM if read else UNREAD_LEVEL_SD_MM
    sd[FIRST_LEVEL + len(series.fillings) :] = shared_mm
    half = 0.5 * (first.latest_s - first.earliest_s)
    return Belief(mean, sd, moment(-half, half), _beginning(first))


def _ring_error(mould: MouldProfile) -> float:
    """Relative error of the free surface for cake that is not as thick at the hole as on the piece."""
    wall = mould.target_wall_mm[0] if mould.target_wall_mm is not None else USUAL_WALL_MM
    hole = float(mould.radius_mm(0.5 * mould.neck_mm))
    return 2.0 * UNEVEN * wall / max(hole - wall, 0.25 * hole)


def _pour(first: Filling, mould: MouldProfile, prior: AbsorptionPrior) -> tuple[float, float]:
    if first.pour_s is not None:
        return math.log(first.pour_s), TIMED_LOG_SD
    litres = float(cavity_of(mould).slices_of_water_mm3().sum()) / 1e6
    return math.log(prior.pour_s * (litres / 0.5) ** POUR_POWER), prior.pour_log_sd


def _beginning(first: Filling) -> Moment | None:
    if first.began_earliest_s is None or first.began_latest_s is None:
        return None
    return moment(first.began_earliest_s - first.full_s, first.began_latest_s - first.full_s)


def told_alone(log_k: float, sigma: float, believed: float, believed_sd: float) -> tuple[float, float] | None:
    """Take the prior out of an answer in ln K [mm2/s]: both are normal, precisions subtract.

    Gives mean and standard deviation in ln K [mm2/min]; None while the answer says less than the prior did.
    """
    told = 1.0 / sigma**2 - 1.0 / believed_sd**2
    if told < 1.0 / believed_sd**2:
        return None
    return (log_k / sigma**2 - believed / believed_sd**2) / told + math.log(60.0), told**-0.5
