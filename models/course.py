"""The course of one cast for given unknowns: level, wall and water at any moment, with slopes for the fit."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.cavity import Cavity
from models.growth import Growth
from models.legs import (
    GAIN_STEP,
    GROWTH_STEP_MM2,
    LEVEL_STEP_MM,
    POUR_STEP,
    Leg,
    Story,
    TopUp,
    cavity_of,
    leg,
    near,
)
from models.mould import MouldProfile
from models.series import LevelSeries
from models.slip import Slip

Array = npt.NDArray[np.float64]

LOG_K, LOG_SKIN, LOG_BEND, GAIN, SHIFT, LOG_POUR, SEEP = range(7)
"""Places of the unknowns in their vector: ln K [mm2/s], ln r [mm], ln b [1/mm2], ln gain, shift of the moment
of the first filling [s], ln of the pour's duration [s], sinking without growth [mm/s]; then one start level
per filling [mm], then one offset per placement [mm]."""

FIRST_LEVEL = 7

ALL_ROWS, LEVEL_ROW = slice(0, 3), slice(0, 1)


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """A cast with its unknowns near one point.

    Attributes
    ----------
    mould : MouldProfile
    full_s : tuple of float
        Middle of the window of each filling. [s]
    paused_s : tuple of float
        Time before each filling that the mould had stood without slip. [s]
    legs : tuple of Leg
        Tables of each filling.
    """

    mould: MouldProfile
    full_s: tuple[float, ...]
    paused_s: tuple[float, ...]
    legs: tuple[Leg, ...]

    def which(self, times_s: Array) -> npt.NDArray[np.int64]:
        """Say which filling each moment belongs to (moments before the first: the first)."""
        return np.maximum(np.searchsorted(np.array(self.full_s), times_s, side="right") - 1, 0)

    def walls(self, unknowns: Array, times_s: Array, paused_s: Array) -> tuple[Array, Array]:
        """Wall of the places wetted first, shape (n,), and its slopes by the first six unknowns, (n, 6)."""
        law = growth_of(unknowns)
        pour = math.exp(unknowns[LOG_POUR])
        under = np.maximum(times_s - self.full_s[0] - unknowns[SHIFT] + pour - paused_s, 0.0)
        wall = law.wall_mm(under)
        steep = np.maximum(law.steepness(wall), 1e-9)
        slopes = np.zeros((len(wall), 6))
        slopes[:, LOG_K] = law.k_mm2_per_s * under / steep
        slopes[:, LOG_SKIN] = -law.skin_mm * wall / steep
        slopes[:, LOG_BEND] = -0.5 * law.bend_per_mm2 * wall**4 / steep
        slopes[:, SHIFT] = -law.k_mm2_per_s / steep
        slopes[:, LOG_POUR] = pour * law.k_mm2_per_s / steep
        return wall, slopes

    def predict(self, unknowns: Array, times_s: Array, rows: slice = ALL_ROWS) -> tuple[Array, Array]:
        """Level [mm], mean wall [mm] and water [mm3], or those rows of them, at n moments.

        Returns
        -------
        values : ndarray, shape (q, n)
        slopes : ndarray, shape (q, n, p)
            By the p unknowns; offsets of placements left out (zero).
        """
        j_of = self.which(times_s)
        parts = [
            self._on_leg(unknowns, j, times_s[j_of == j], rows)
            for j in range(len(self.legs))
            if np.any(j_of == j)
        ]
        if len(parts) == 1:
            return parts[0]
        order = np.argsort(np.argsort(j_of, kind="stable"), kind="stable")
        values = np.concatenate([part[0] for part in parts], axis=1)[:, order]
        return values, np.concatenate([part[1] for part in parts], axis=1)[:, order]

    def _on_leg(self, unknowns: Array, j: int, times: Array, rows: slice) -> tuple[Array, Array]:
        own, p = self.legs[j], len(unknowns)
        ends = np.append(
            times, [self.full_s[j] + (unknowns[SHIFT] if j == 0 else 0.0), self._first_s(unknowns)]
        )
        wall, by = self.walls(unknowns, ends, np.append(np.full(len(times) + 1, self.paused_s[j]), 0.0))
        growth = wall[:-2] ** 2 - wall[-2] ** 2
        by_growth = 2.0 * wall[:-2, None] * by[:-2] - 2.0 * wall[-2] * by[-2]
        if j == 0:  # the moment of full moves with the shift: the wall at full does not
            by_growth[:, SHIFT] = 2.0 * wall[:-2] * by[:-2, SHIFT]
        log_pour = 2.0 * math.log(wall[-1])
        weights = own.weights(unknowns[FIRST_LEVEL + j], unknowns[GAIN], log_pour)
        columns, along = own.columns(growth, rows)
        values = np.tensordot(weights, columns, 1)
        rise = np.tensordot(weights, along, 1) * (growth >= 0.0)
        slopes = np.zeros((len(values), len(times), p))
        slopes[:, :, :6] = rise[:, :, None] * by_growth
        by_pour = (columns[3] - columns[0]) / POUR_STEP
        slopes[:, :, :6] += by_pour[:, :, None] * (2.0 / wall[-1] * _without_shift(by[-1]))
        slopes[:, :, GAIN] += (columns[2] - columns[0]) / GAIN_STEP
        slopes[:, :, FIRST_LEVEL + j] = (columns[1] - columns[0]) / LEVEL_STEP_MM
        if rows.start == 0:
            since = times - self.full_s[j]
            values[0] += unknowns[SEEP] * since
            slopes[0, :, SEEP] = since
        return values, slopes

    def _first_s(self, unknowns: Array) -> float:
        return float(self.full_s[0] + unknowns[SHIFT])

    @property
    def cavity(self) -> Cavity:
        """The mould's cavity."""
        return cavity_of(self.mould)

    def growth_mm2(self, unknowns: Array, j: int, times_s: Array) -> Array:
        """How far the clock of covered places has run since filling j was full; same shape. [mm2]."""
        full = self.full_s[j] + (unknowns[SHIFT] if j == 0 else 0.0)
        wall, _ = self.walls(unknowns, np.append(times_s, full), np.full(len(times_s) + 1, self.paused_s[j]))
        return np.asarray(np.maximum(wall[:-1] ** 2 - wall[-1] ** 2, 0.0))

    def time_of_growth(self, unknowns: Array, j: int, growth_mm2: float) -> float:
        """Moment at which the clock has run so far since filling j was full. [s]."""
        full = self.full_s[j] + (unknowns[SHIFT] if j == 0 else 0.0)
        wall, _ = self.walls(unknowns, np.array([full]), np.array([self.paused_s[j]]))
        under = float(growth_of(unknowns).seconds(math.sqrt(growth_mm2 + wall[0] ** 2)))
        return under + self._first_s(unknowns) - math.exp(unknowns[LOG_POUR]) + self.paused_s[j]

    def shut_s(self, unknowns: Array) -> float | None:
        """Moment at which cake shuts a hole in the last filling; None: not within its tables. [s]."""
        shut = self.legs[-1].shut_mm2
        return None if math.isinf(shut) else self.time_of_growth(unknowns, len(self.legs) - 1, shut)

    def moment(self, unknowns: Array, row: int, wanted: float) -> float | None:
        """First moment at which wall (row 1) or water (row 2) reaches a value; None: never. [s]."""
        for j, own in enumerate(self.legs):
            wall, _ = self.walls(unknowns, np.array([self._first_s(unknowns)]), np.zeros(1))
            weights = own.weights(unknowns[FIRST_LEVEL + j], unknowns[GAIN], 2.0 * math.log(wall[0]))
            table = np.maximum.accumulate(weights @ own.tables[:, row, :])
            if table[-1] < wanted:
                continue
            place = float(np.interp(wanted, table, np.arange(len(table)))) / (len(table) - 1)
            at = self.time_of_growth(unknowns, j, place * place * own.most_mm2)
            if j + 1 == len(self.legs) or at <= self.full_s[j + 1]:
                return at
        return None


def growth_of(unknowns: Array) -> Growth:
    """Law of growth that the unknowns describe."""
    return Growth(math.exp(unknowns[LOG_K]), math.exp(unknowns[LOG_SKIN]), math.exp(unknowns[LOG_BEND]))


def course(series: LevelSeries, mould: MouldProfile, slip: Slip, unknowns: Array) -> Course:
    """Lay out the course of a cast with tables near the given unknowns."""
    full = tuple(filling.full_s for filling in series.fillings)
    paused, total = [], 0.0
    for filling in series.fillings:
        if filling.drained_from_s is not None:
            total += filling.full_s - filling.drained_from_s
        paused.append(total)
    bare = Course(mould, full, tuple(paused), ())
    ends = np.array([*full[1:], full[0]]) if len(full) > 1 else np.array([full[0]])
    ends[-1] += unknowns[SHIFT]
    walls, _ = bare.walls(unknowns, ends, np.array([*paused[1:], 0.0]))
    level, gain, log_pour = near(unknowns[FIRST_LEVEL], unknowns[GAIN], 2.0 * math.log(walls[-1]))
    story = Story(level, log_pour, gain, slip.water_per_cake)
    legs, before = [leg(mould, story)], walls[-1]
    for j in range(1, len(full)):
        growth = round(max(0.0, walls[j - 1] ** 2 - before**2) / GROWTH_STEP_MM2) * GROWTH_STEP_MM2
        f = (series.fillings[j].slip or slip).water_per_cake
        start = near(unknowns[FIRST_LEVEL + j], 0.0, 0.0)[0]
        story = Story(level, log_pour, gain, slip.water_per_cake, (*story.top_ups, TopUp(growth, start, f)))
        legs.append(leg(mould, story))
        before = walls[j - 1]
    return Course(mould, full, tuple(paused), tuple(legs))


def _without_shift(by: Array) -> Array:
    kept = by.copy()
    kept[SHIFT] = 0.0
    return kept
