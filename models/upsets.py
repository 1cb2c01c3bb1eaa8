"""What sinks without plaster drinking: a step (bubble let go, mould knocked) or a steady leak."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from models.belief import Belief
from models.course import SEEP
from models.evidence import Evidence
from models.series import Filling, LevelSeries
from models.solve import Solved

Array = npt.NDArray[np.float64]

LEAST_BEFORE, LEAST_AFTER = 2, 3
"""Readings that must stand on either side of a step: fewer may be outliers."""

STEP_GAIN = 25.0
"""A step must take this much out of the squares: five standard deviations."""

LEAST_STEP_MM = 0.4
"""Smaller steps are left to the readings' noise. [mm]"""

MOST_STEPS = 3

LEAK_SIGMAS = 3.5
"""So many standard deviations of steady sinking beyond growth raise the question of a leak."""

LEAST_LEAK_MM_PER_H = 2.0
"""Slower sinking is an open surface drying, not a leak. [mm/h]"""

LEAK_GAIN = 9.0
"""Allowing for a leak must take this much out of the squares before it is believed."""

LEAK_SD_MM_PER_H = 30.0
"""How fast seams leak: half a millimetre a minute (practice). [mm/h]"""


@dataclass(frozen=True, slots=True)
class Step:
    """The level changed at once between two readings, by other means than a pour. Down is positive."""

    earliest_s: float
    latest_s: float
    size_mm: float


def find_step(series: LevelSeries, seen: Evidence, solved: Solved) -> Step | None:
    """Look for the step that explains most of what the fit leaves over; None if none is worth it.

    A step at a moment is one more column in the linear problem. Its gain is judged without solving anew:
    (u' e)^2 / (u' M u), M being what weight the fit leaves to a new column.
    """
    n = len(seen.times_s)
    if n < LEAST_BEFORE + LEAST_AFTER:
        return None
    weight = 1.0 / seen.drift_mm**2
    by = solved.slopes
    taken = by.T * weight
    inverse: Array = np.asarray(
        np.linalg.inv(taken @ by + solved.belief.pull(solved.unknowns)[1]), dtype=np.float64
    )
    free = np.diag(weight) - taken.T @ inverse @ taken
    after = np.tril(np.ones((n, n)))[:, 1:]  # column m: all readings later than reading m
    pull = after.T @ (free @ _plain(solved, taken, inverse))
    stiff = np.einsum("im,ij,jm->m", after, free, after)
    gain = np.where(stiff > 1e-12, pull**2 / np.maximum(stiff, 1e-12), 0.0)
    gain[~_allowed(series, n)] = 0.0
    m = int(np.argmax(gain))
    size = float(pull[m] / stiff[m]) if stiff[m] > 1e-12 else 0.0
    if gain[m] < STEP_GAIN or abs(size) < max(LEAST_STEP_MM, 3.0 * float(seen.drift_mm[m])):
        return None
    return Step(float(seen.times_s[m]), float(seen.times_s[m + 1]), size)


def split(series: LevelSeries, steps: tuple[Step, ...]) -> LevelSeries:
    """Cut the fillings at the steps, so that the level starts afresh while the cake goes on."""
    parts: list[Filling] = []
    for filling in series.fillings:
        rest = filling
        for step in sorted(steps, key=lambda each: each.earliest_s):
            cut = int(np.searchsorted(rest.times_s, step.earliest_s, side="right"))
            if 0 < cut < len(rest.times_s) and rest.times_s[0] <= step.earliest_s <= rest.times_s[-1]:
                parts.append(_part(rest, slice(None, cut)))
                rest = replace(
                    _part(rest, slice(cut, None)),
                    earliest_s=step.earliest_s,
                    latest_s=step.latest_s,
                    drained_from_s=None,
                )
        parts.append(rest)
    return LevelSeries(tuple(parts))


def leak_suspected(solved: Solved) -> bool:
    """Whether the levels, on their own, want steady sinking well beyond growth and drying."""
    believed, own = float(solved.belief.mean[SEEP]), float(solved.belief.sd[SEEP])
    mean, variance = float(solved.unknowns[SEEP]), float(solved.covariance[SEEP, SEEP])
    told = 1.0 / variance - 1.0 / own**2
    if told <= 1e-9 / own**2:
        return False
    wanted = (mean / variance - believed / own**2) / told - believed
    return wanted > LEAK_SIGMAS * told**-0.5 and wanted * 3600.0 > LEAST_LEAK_MM_PER_H


def with_leak(belief: Belief) -> Belief:
    """Return the same belief with a leak allowed for."""
    sd = belief.sd.copy()
    sd[SEEP] = LEAK_SD_MM_PER_H / 3600.0
    return replace(belief, sd=sd)


def leak_found(without: Solved, with_it: Solved) -> bool:
    """Whether allowing for a leak has explained enough."""
    rate = float(with_it.unknowns[SEEP] - with_it.belief.mean[SEEP]) * 3600.0
    sigma = math.sqrt(float(with_it.covariance[SEEP, SEEP])) * 3600.0
    return without.cost - with_it.cost > LEAK_GAIN and rate > max(LEAST_LEAK_MM_PER_H, 2.0 * sigma)


def in_words(steps: tuple[Step, ...], leaking: bool) -> str:
    """Say what the caster should know of it; empty when there is nothing."""
    if leaking:
        return "leaking? check the seam: it sinks faster than this mould can drink"
    if not steps:
        return ""
    way = "fell" if steps[-1].size_mm > 0.0 else "rose"
    return f"the level {way} {abs(steps[-1].size_mm):.1f} mm at once: not counted as growth"


def _plain(solved: Solved, taken: Array, inverse: Array) -> Array:
    """Residuals as an even-handed fit would leave them, shape (n,): outliers' weights taken back."""
    right = taken @ solved.residuals + solved.belief.pull(solved.unknowns)[0]
    return np.asarray(solved.residuals - solved.slopes @ (inverse @ right))


def _allowed(series: LevelSeries, n: int) -> npt.NDArray[np.bool_]:
    """Places where a step may lie, shape (n - 1,): inside one filling, with enough readings on both sides."""
    allowed = np.zeros(n - 1, dtype=bool)
    start = 0
    for filling in series.fillings:
        count = len(filling.times_s)
        allowed[start + LEAST_BEFORE - 1 : max(start, start + count - LEAST_AFTER)] = True
        start += count
    return allowed


def _part(filling: Filling, rows: slice) -> Filling:
    return replace(
        filling,
        times_s=filling.times_s[rows],
        levels_mm=filling.levels_mm[rows],
        sigma_mm=filling.sigma_mm[rows],
        drift_sigma_mm=filling.drift_sigma_mm[rows],
        placement=filling.placement[rows],
        clay_mm=None if filling.clay_mm is None else filling.clay_mm[rows],
        rim_share=None if filling.rim_share is None else filling.rim_share[rows],
        mm_per_clay_mm=None if filling.mm_per_clay_mm is None else filling.mm_per_clay_mm[rows],
    )
