"""From levels to growth: the fit of one cast, with ranges, or the reason why not."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.belief import believe, told_alone
from models.constants import K_HIGH_MM2_PER_MIN
from models.course import LEVEL_ROW, LOG_K, Course, growth_of
from models.evidence import evidence
from models.growth import Growth
from models.mould import MouldProfile
from models.prior import AbsorptionPrior
from models.ranged import Z80, Ranged, lognormal, normal
from models.series import LevelSeries
from models.slip import Slip
from models.solve import Solved, Start, solve, start_at
from models.trust import modest
from models.upsets import MOST_STEPS, Step, find_step, in_words, leak_found, leak_suspected, split, with_leak

Array = npt.NDArray[np.float64]

LEAST_GAIN = 12.0
"""A step is kept only if the fit with it is so much likelier (minus twice the logarithm)."""

FASTEST_K_MM2_PER_MIN = 1.5 * K_HIGH_MM2_PER_MIN
"""No mould without a history is taken to drink faster than this. [mm2/min]"""

FASTER = 1.3
"""A mould with a history is taken to drink no faster than its fastest cast by this factor (practice)."""

SET_ASIDE = 0.3
"""A reading with less weight than this is called set aside: it lies over 3.5 standard deviations off."""


@dataclass(frozen=True, slots=True)
class CannotFit:
    """No fit, and the plain reason."""

    why: str


@dataclass(frozen=True, slots=True)
class CastState:
    """One moment of a cast, past or to come; every value with its 80 % range.

    Attributes
    ----------
    level_mm : Ranged
        Slip below the rim. [mm]
    level_sigma_mm : float
        Standard deviation of the level (readings' own noise left out). [mm]
    wall_mm : Ranged
        Mean wall of the piece, below the neck. [mm]
    water_ml : Ranged
        Water given up since the pour began. [mL]
    """

    level_mm: Ranged
    level_sigma_mm: float
    wall_mm: Ranged
    water_ml: Ranged


@dataclass(frozen=True, slots=True, eq=False)
class AbsorptionFit:
    """What the levels of one cast have taught.

    Attributes
    ----------
    k_mm2_per_min : Ranged
        K at the start of the cast. [mm2/min]
    readings_used, readings_set_aside : int
        Levels that carry weight, and levels that do not fit the rest.
    misfit : float
        Root mean square of what is left, in standard deviations of the readings; about 1 when all is well.
    noise_factor : float
        By how much the readings scatter more (or less) than they said.
    leaking : bool
        It sinks faster than this mould can drink.
    why : str
        What the caster should know of this fit; empty when there is nothing.
    steps : tuple of Step
        Changes of the level at once that were left out of the growth.
    k_alone : tuple of float or None
        ln K in mm2/min and its standard deviation as the levels alone have it, without the prior: what may be
        passed on to a neighbour. None while the levels say less than the prior did.
    solved : Solved
        The answer itself: unknowns in the order of `models.course`, their covariance, and the tables.
    """

    k_mm2_per_min: Ranged
    readings_used: int
    readings_set_aside: int
    misfit: float
    noise_factor: float
    leaking: bool
    why: str
    steps: tuple[Step, ...]
    k_alone: tuple[float, float] | None
    solved: Solved

    @property
    def course(self) -> Course:
        """The course of the cast near the answer."""
        return self.solved.course

    @property
    def unknowns(self) -> Array:
        """The answer, shape (p,), in the order of `models.course`."""
        return self.solved.unknowns

    def at(self, time_s: float) -> CastState:
        """Level, wall and water at a moment, past or to come."""
        values, slopes = self.course.predict(self.unknowns, np.array([time_s]))
        spread = np.sqrt(np.einsum("qp,pr,qr->q", slopes[:, 0], self.solved.covariance, slopes[:, 0]))
        level, wall, water = (float(value) for value in values[:, 0])
        return CastState(
            normal(level, float(spread[0])),
            float(spread[0]),
            lognormal(max(wall, 1e-6), float(spread[1]) / max(wall, 1e-6)),
            lognormal(max(water, 1e-3) / 1000.0, float(spread[2]) / max(water, 1e-3)),
        )

    @property
    def growth(self) -> Growth:
        """The law of growth that was found (with K in mm2/s)."""
        return growth_of(self.unknowns)

    def level_at(self, time_s: float) -> tuple[float, float, float]:
        """Level [mm], its standard deviation [mm] and how fast it sinks [mm/s]: for every look."""
        values, slopes = self.course.predict(self.unknowns, np.array([time_s, time_s + 1.0]), LEVEL_ROW)
        by = slopes[0, 0]
        spread = math.sqrt(max(float(by @ self.solved.covariance @ by), 0.0))
        return float(values[0, 0]), spread, float(values[0, 1] - values[0, 0])

    def wall_sigma_mm(self, time_s: float) -> float:
        """Give the standard deviation of the mean wall at a moment. [mm]."""
        _, slopes = self.course.predict(self.unknowns, np.array([time_s]))
        by = slopes[1, 0]
        return math.sqrt(max(float(by @ self.solved.covariance @ by), 0.0))

    def speed_mm_per_s(self, time_s: float) -> float:
        """How fast the slip sinks at a moment. [mm/s]."""
        return self.level_at(time_s)[2]

    def moment_of_wall(self, wall_mm: float) -> Ranged | None:
        """When the piece's wall reaches a thickness (perhaps long ago); None: it never will. [s]."""
        return self._moment(1, wall_mm)

    def moment_of_water(self, water_ml: float) -> Ranged | None:
        """When so much water has been given up; None: it never will. [s]."""
        return self._moment(2, 1000.0 * water_ml)

    def moment_of_growth(self, wall_mm: float) -> Ranged:
        """When a wall that stays covered reaches a thickness, whatever the level does. [s]."""
        at, by = self.course.covered(self.unknowns, wall_mm)
        start = self.course.began_s(self.unknowns)
        wide = math.exp(Z80 * math.sqrt(float(by @ self.solved.covariance @ by)) / (at - start))
        return Ranged(at, start + (at - start) / wide, start + (at - start) * wide)

    def cake_on_wall(self, time_s: float, depths_mm: Array) -> Array:
        """Thickness of clay on the plaster at some depths below the rim, same shape. [mm].

        Below the level it is the growing cake, above it what was left there when the level sank past.
        """
        j = int(self.course.which(np.array([time_s]))[0])
        run = self.course.legs[j].run
        growth = float(self.course.growth_mm2(self.unknowns, j, np.array([time_s]))[0])
        clocks = run.clocks_at(growth)
        depths = self.course.cavity.depths_mm
        return np.asarray(np.sqrt(np.interp(depths_mm, depths, clocks)))

    @property
    def shut_s(self) -> float | None:
        """When the ring of cake shuts a pour hole; None: not as far as the course goes. [s]."""
        return self.course.shut_s(self.unknowns)

    def _moment(self, row: int, wanted: float) -> Ranged | None:
        at = self.course.moment(self.unknowns, row, wanted)
        if at is None:
            return None
        values, slopes = self.course.predict(self.unknowns, np.array([at, at + 1.0]))
        speed = float(values[row, 1] - values[row, 0])
        if speed <= 0.0:
            return None
        by = -slopes[row, 0] / speed
        start = self.course.began_s(self.unknowns)
        age, sigma = at - start, math.sqrt(float(by @ self.solved.covariance @ by))
        wide = math.exp(Z80 * sigma / age)
        return Ranged(at, start + age / wide, start + age * wide)


def fit_absorption(
    series: LevelSeries,
    mould: MouldProfile,
    slip: Slip,
    prior: AbsorptionPrior,
    *,
    start: AbsorptionFit | None = None,
) -> AbsorptionFit | CannotFit:
    """Fit one cast.

    Parameters
    ----------
    series : LevelSeries
        Its fillings with the levels read so far; none read at all gives the prior's own forecast.
    mould : MouldProfile
    slip : Slip
    prior : AbsorptionPrior
    start : AbsorptionFit, optional
        The fit of the same cast at the last look: saves time, never changes the answer beyond rounding.

    Returns
    -------
    AbsorptionFit or CannotFit
    """
    if not series.fillings:
        return CannotFit("nothing has been poured yet")
    steps = start.steps if start is not None else ()
    near = start_at(start.solved) if start is not None else None
    solved = _solved(split(series, steps), mould, slip, prior, near)
    if isinstance(solved, str):
        return CannotFit(solved)
    solved, steps = _with_steps(series, solved, steps, mould, slip, prior)
    solved, leaking = _with_leak(split(series, steps), solved, mould, slip, prior)
    return _told(modest(solved), steps, leaking)


def _solved(
    series: LevelSeries,
    mould: MouldProfile,
    slip: Slip,
    prior: AbsorptionPrior,
    near: Start | None,
    *,
    leak: bool = False,
) -> Solved | str:
    seen = evidence(series)
    belief = believe(series, seen.shared_mm, mould, slip, prior)
    return solve(series, seen, with_leak(belief) if leak else belief, mould, slip, near)


def _with_steps(
    series: LevelSeries,
    solved: Solved,
    steps: tuple[Step, ...],
    mould: MouldProfile,
    slip: Slip,
    prior: AbsorptionPrior,
) -> tuple[Solved, tuple[Step, ...]]:
    """Take steps of the level out of the growth, as long as each explains enough."""
    while len(steps) < MOST_STEPS:
        cut = split(series, steps)
        step = find_step(cut, evidence(cut), solved)
        if step is None:
            break
        parted = split(series, (*steps, step))
        trial = _solved(parted, mould, slip, prior, start_at(solved).parted(parted, step.earliest_s))
        if isinstance(trial, str) or solved.cost - trial.cost < LEAST_GAIN:
            break
        solved, steps = trial, (*steps, step)
    return solved, steps


def _with_leak(
    series: LevelSeries, solved: Solved, mould: MouldProfile, slip: Slip, prior: AbsorptionPrior
) -> tuple[Solved, bool]:
    """Allow for a leak where the levels want one, or where the plaster would have to drink too fast."""
    log_k, sigma = float(solved.unknowns[LOG_K]), math.sqrt(float(solved.covariance[LOG_K, LOG_K]))
    fastest = prior.fastest_k_mm2_per_min or FASTEST_K_MM2_PER_MIN
    too_fast = log_k + math.log(60.0) - Z80 * sigma > math.log(FASTER * fastest)
    if not too_fast and not leak_suspected(solved):
        return solved, False
    trial = _solved(series, mould, slip, prior, start_at(solved), leak=True)
    if isinstance(trial, str) or not (too_fast or leak_found(solved, trial)):
        return solved, False
    return trial, True


def _told(solved: Solved, steps: tuple[Step, ...], leaking: bool) -> AbsorptionFit:
    log_k, sigma = float(solved.unknowns[LOG_K]), math.sqrt(float(solved.covariance[LOG_K, LOG_K]))
    aside = int((solved.weights < SET_ASIDE).sum())
    belief = solved.belief
    return AbsorptionFit(
        lognormal(60.0 * math.exp(log_k), sigma),
        len(solved.weights) - aside,
        aside,
        solved.misfit,
        solved.noise_factor,
        leaking,
        in_words(steps, leaking),
        steps,
        told_alone(log_k, sigma, float(belief.mean[LOG_K]), float(belief.sd[LOG_K])),
        solved,
    )
