"""Most likely unknowns of a cast: Gauss-Newton on readings and prior, with outliers losing their weight."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from models.belief import Belief
from models.course import FIRST_LEVEL, GAIN, LEVEL_ROW, LOG_K, Course, course
from models.evidence import Evidence
from models.legs import LEVEL_STEP_MM
from models.mould import MouldProfile
from models.series import LevelSeries
from models.slip import Slip

Array = npt.NDArray[np.float64]

TAILS = 4.0
"""Degrees of freedom of Student's t that the readings' errors are taken from: 5 % of outliers do no harm."""

STATED_WORTH = 8.0
"""The readings' own word on their noise counts as much as so many readings' scatter."""

NOISE_SETTLED = 0.8
"""While the noise falls by more than this from round to round, the answer is still on its way."""

ROUNDS, STEPS = 8, 12
"""Times that tables and windows are moved to the answer, and steps between; a fit always ends."""

K_MOVED, K_MOVED_LATER = 0.3, 0.06
"""Change of ln K after which tables are made anew; the second where later fillings' tables begin at a growth
that K has decided."""

ENOUGH = 0.05
"""A step smaller than this in standard deviations of the answer ends the search."""


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """The answer with its spread, and how the readings lie about it."""

    course: Course
    unknowns: Array
    covariance: Array
    weights: Array
    residuals: Array
    slopes: Array
    misfit: float
    noise_factor: float
    cost: float
    belief: Belief


@dataclass(frozen=True, slots=True, eq=False)
class Start:
    """Where a search begins: unknowns for so many fillings, noise, and windows as they were weighed."""

    unknowns: Array
    noise_factor: float
    belief: Belief
    fillings: int

    def parted(self, series: LevelSeries, at_s: float) -> Start | None:
        """Return the start for a series in which one filling more begins at a moment; None: none does."""
        begins = [filling.earliest_s for filling in series.fillings]
        if len(begins) != self.fillings + 1 or at_s not in begins:
            return None
        j = begins.index(at_s)
        level = float(np.median(series.fillings[j].levels_mm[:3]))
        unknowns = np.insert(self.unknowns, FIRST_LEVEL + j, level)
        return replace(self, unknowns=unknowns, fillings=self.fillings + 1)


def start_at(solved: Solved) -> Start:
    """Begin where another answer lies."""
    return Start(solved.unknowns, solved.noise_factor, solved.belief, len(solved.course.legs))


def solve(
    series: LevelSeries,
    seen: Evidence,
    belief: Belief,
    mould: MouldProfile,
    slip: Slip,
    start: Start | None,
) -> Solved | str:
    """Find the unknowns that readings and belief together make most likely; or say why that fails."""
    unknowns = belief.mean.copy()
    noise = 1.0
    if start is not None and start.fillings == len(series.fillings):
        known = min(len(unknowns), len(start.unknowns))
        unknowns[:known], noise = start.unknowns[:known], start.noise_factor
        belief = belief.windows_of(start.belief)
    elif len(seen.times_s) and _starts_above_floor(belief.mean, series, mould):
        unknowns, noise = _scan(series, seen, belief, mould, slip)
    for _ in range(ROUNDS):
        if not _starts_above_floor(unknowns, series, mould):
            return f"the levels lie too deep for a mould {mould.depth_mm:.0f} mm deep"
        path = course(series, mould, slip, unknowns)
        before = noise
        unknowns, noise, met, moved = _descend(path, seen, belief.gain_held(), unknowns, before)
        if not np.all(np.isfinite(unknowns)):
            return "the levels make no sense for this mould"
        solved = _conclude(path, seen, belief, unknowns, noise, met)
        belief = belief.learned(unknowns, solved.covariance)
        if not moved and noise > NOISE_SETTLED * before and _settled(belief, solved):
            break
    return solved


def _starts_above_floor(unknowns: Array, series: LevelSeries, mould: MouldProfile) -> bool:
    """Whether every filling starts with slip in the mould."""
    starts = unknowns[FIRST_LEVEL : FIRST_LEVEL + len(series.fillings)]
    return bool(np.all(starts + 2.0 * LEVEL_STEP_MM < mould.depth_mm))


def _settled(belief: Belief, solved: Solved) -> bool:
    """Whether the windows, weighed anew, would leave the answer where it is."""
    pull, _ = belief.pull(solved.unknowns)
    told, _ = solved.belief.pull(solved.unknowns)
    step = solved.covariance @ (pull - told)
    return bool(np.all(np.abs(step) < 0.1 * np.sqrt(np.diag(solved.covariance))))


def _scan(
    series: LevelSeries, seen: Evidence, belief: Belief, mould: MouldProfile, slip: Slip
) -> tuple[Array, float]:
    """Start from the best of a row of K over the prior's width, then of a finer row about that.

    Start levels are set to the medians. What is left over then says how far the readings' noise must be
    stretched at first, so that good readings are not taken for outliers while the start is still poor.
    """
    path = course(series, mould, slip, belief.mean)
    best, least, scale = belief.mean, np.inf, 1.0
    for row in (np.linspace(-2.4, 2.4, 9), np.linspace(-0.45, 0.45, 7)):
        middle_k = best[LOG_K]
        for step in row * belief.sd[LOG_K]:
            trial = best.copy()
            trial[LOG_K] = middle_k + step
            left = _levelled(path, seen, trial) / seen.drift_mm
            away = (trial[LOG_K] - belief.mean[LOG_K]) / belief.sd[LOG_K]
            cost = float(np.abs(left).sum()) + 0.5 * away**2
            if cost < least:
                best, least = trial, cost
                scale = max(1.0, 1.5 * float(np.median(np.abs(left))))
    return best, scale


def _levelled(path: Course, seen: Evidence, trial: Array) -> Array:
    """Set the start levels of a trial so that the median leaves nothing over; give what is left, (n,)."""
    values, _ = path.predict(trial, seen.times_s, LEVEL_ROW)
    left = seen.levels_mm - values[0]
    if seen.on_a_ring:
        ring, _ = path.ring_mm(trial, seen.times_s, values[0])
        left += seen.mm_per_clay_mm * (seen.clay_mm - ring)
    which = path.which(seen.times_s)
    for j in np.unique(which):
        middle = float(np.median(left[which == j]))
        trial[FIRST_LEVEL + j] += middle
        left[which == j] -= middle
    return np.asarray(left)


def _left(path: Course, seen: Evidence, unknowns: Array) -> tuple[Array, Array]:
    """Give what the readings leave over, shape (n,), and the slopes of the predicted level, (n, p)."""
    if not len(seen.times_s):
        return np.empty(0), np.empty((0, len(unknowns)))
    values, slopes = path.predict(unknowns, seen.times_s, LEVEL_ROW)
    shared = FIRST_LEVEL + len(path.legs)
    by, left = slopes[0], seen.levels_mm - values[0] - seen.shares @ unknowns[shared:]
    if seen.on_a_ring:
        ring, by_ring = path.ring_mm(unknowns, seen.times_s, values[0])
        by = by + seen.mm_per_clay_mm[:, None] * by_ring
        left += seen.mm_per_clay_mm * (seen.clay_mm - ring)
    by[:, shared:] = seen.shares
    return left, by


def _weights(left: Array, sigma: Array) -> Array:
    return np.asarray((TAILS + 1.0) / (TAILS + (left / sigma) ** 2))


def _cost(left: Array, sigma: Array, belief: Belief, unknowns: Array) -> float:
    spread = (TAILS + 1.0) * float(np.log1p((left / sigma) ** 2 / TAILS).sum())
    return spread + belief.cost(unknowns)


def _descend(
    path: Course, seen: Evidence, belief: Belief, unknowns: Array, noise: float
) -> tuple[Array, float, tuple[Array, Array], bool]:
    """Step down on one set of tables. Says what the readings leave over, and whether the tables were left."""
    first, damping = unknowns, 1e-3
    left, by = _left(path, seen, unknowns)
    for _ in range(STEPS):
        sigma = noise * seen.drift_mm
        cost = _cost(left, sigma, belief, unknowns)
        weight = _weights(left, sigma) / sigma**2
        right, matrix = belief.pull(unknowns)
        told = by.T @ (by * weight[:, None])
        normal, pull = told + matrix, right + by.T @ (weight * left)
        for _ in range(6):
            step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), pull)
            trial = unknowns + step
            left_there, by_there = _left(path, seen, trial)
            if _cost(left_there, sigma, belief, trial) <= cost + 1e-9:
                damping = max(damping / 10.0, 1e-6)
                unknowns, left, by = trial, left_there, by_there
                break
            damping *= 10.0
        else:
            break
        if float(step @ normal @ step) < ENOUGH**2:
            break
    noise = _noise(left, seen, float(np.trace(np.linalg.solve(normal, told))))
    moved = np.abs(unknowns - first)
    levels = moved[FIRST_LEVEL : FIRST_LEVEL + len(path.legs)]
    far = K_MOVED_LATER if len(path.legs) > 1 else K_MOVED
    left_tables = moved[GAIN] > 0.03 or moved[LOG_K] > far or np.any(levels > 0.7)
    return unknowns, noise, (left, by), bool(left_tables)


def _noise(left: Array, seen: Evidence, bent: float) -> float:
    """Factor on the readings' stated noise, from their own scatter (robust: a trimmed mean square).

    `bent` is how many of the readings the curve has bent itself to: so many fewer are left to scatter.
    """
    if not len(left):
        return 1.0
    square = np.minimum((left / seen.drift_mm) ** 2, 25.0)
    kept = np.sort(square)[: max(1, round(0.9 * len(square)))]
    scale = float(kept.mean()) / 0.623  # mean of the smaller 90 % of the squares of a normal spread
    n = len(left)
    free = max(n - bent, 0.1 * n)
    return float(np.sqrt((STATED_WORTH + n * scale) / (STATED_WORTH + free)))


def _conclude(
    path: Course,
    seen: Evidence,
    belief: Belief,
    unknowns: Array,
    noise: float,
    met: tuple[Array, Array],
) -> Solved:
    left, by = met
    sigma = noise * seen.drift_mm
    weights: Array = _weights(left, sigma)
    weight = weights / sigma**2
    normal = by.T @ (by * weight[:, None]) + belief.pull(unknowns)[1]
    covariance = np.asarray(np.linalg.inv(normal), dtype=np.float64)
    misfit = float(np.sqrt(np.mean((left / seen.drift_mm) ** 2))) if len(left) else 0.0
    cost = _cost(left, sigma, belief, unknowns) + 2.0 * len(left) * float(np.log(noise))
    return Solved(path, unknowns, covariance, weights, left, by, misfit, noise, cost, belief)
