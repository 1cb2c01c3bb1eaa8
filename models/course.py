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

LOG_K, LOG_SKIN, LOG_SLOPE, LOG_BEND, GAIN, SHIFT, LOG_POUR, SEEP = range(8)
"""Places of the unknowns in their vector: ln K [mm2/s], ln r [mm], ln a [1/mm], ln b [1/mm2], ln gain, shift
of the moment of the first filling [s], ln of the pour's duration [s], sinking without growth [mm/s]; then one
start level per filling [mm], then the errors that readings share [mm]."""

FIRST_LEVEL = 8

OF_GROWTH = 7
"""So many of the first unknowns bear on the growth."""

LEAST_RING_MM = 0.2
"""A ring thinner than this hardly shifts a reading; its slope would grow without bound. [mm]"""

CLIMB_MM = 0.5
"""How far above its level the slip's edge is seen: half the rise at a wall that it wets, or less. [mm]"""

MOST_PASSED_MM2 = 1e4
"""Stands for "never" where places are interpolated that the level does not sink past. [mm2]"""

FURTHER = np.array([[-1.0, 1.0, 0.0, 0.0], [-1.0, 0.0, 1.0, 0.0], [-1.0, 0.0, 0.0, 1.0]])
"""Mixtures of a leg's tables: how far the second, third and fourth lie from the first."""

ALL_ROWS, LEVEL_ROW = slice(0, 3), slice(0, 1)


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """A cast with its unknowns near one point.

    Growth is counted on one clock for the whole cast, from the moment when the mould was first full; each
    filling's tables begin at a growth of their own.

    Attributes
    ----------
    mould : MouldProfile
    full_s : tuple of float
        Middle of the window of each filling. [s]
    paused_s : tuple of float
        Time up to each filling that the mould had stood without slip. [s]
    legs : tuple of Leg
        Tables of each filling.
    begins_mm2 : tuple of float
        Growth at which each filling's tables begin. [mm2]
    """

    mould: MouldProfile
    full_s: tuple[float, ...]
    paused_s: tuple[float, ...]
    legs: tuple[Leg, ...]
    begins_mm2: tuple[float, ...]

    @property
    def cavity(self) -> Cavity:
        """The mould's cavity."""
        return cavity_of(self.mould)

    def which(self, times_s: Array) -> npt.NDArray[np.int64]:
        """Say which filling each moment belongs to (moments before the first: the first)."""
        return np.maximum(np.searchsorted(np.array(self.full_s), times_s, side="right") - 1, 0)

    def predict(self, unknowns: Array, times_s: Array, rows: slice = ALL_ROWS) -> tuple[Array, Array]:
        """Level [mm], mean wall [mm] and water [mm3], or those rows of them, at n moments.

        Returns
        -------
        values : ndarray, shape (q, n)
        slopes : ndarray, shape (q, n, p)
            By the p unknowns; shared errors of readings left out (zero).
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

    def growth_mm2(self, unknowns: Array, j: int, times_s: Array) -> Array:
        """How far growth has run in the tables of filling j; same shape. [mm2]."""
        wall, _ = _walls(unknowns, self._under(unknowns, j, times_s))
        return np.asarray(np.maximum(wall**2 - self._first(unknowns)[0] ** 2 - self.begins_mm2[j], 0.0))

    def ring_mm(self, unknowns: Array, times_s: Array, levels_mm: Array) -> tuple[Array, Array]:
        """Thickness of the ring of cake at the slip's edge at n moments, and its slopes, (n,), (n, p). [mm].

        The edge that is seen lies where the slip climbs the wall: on clay that the level sank past some time
        ago, and which has not grown since.

        Parameters
        ----------
        unknowns : ndarray, shape (p,)
        times_s, levels_mm : ndarray, shape (n,)
            Moments, and where the slip stands then. [s, mm]
        """
        rings, slopes = np.zeros(len(times_s)), np.zeros((len(times_s), len(unknowns)))
        j_of = self.which(times_s)
        for j in np.unique(j_of):
            of = j_of == j
            under = np.append(self._under(unknowns, int(j), times_s[of]), math.exp(unknowns[LOG_POUR]))
            wall, by = _walls(unknowns, under)
            by[-1, SHIFT] = 0.0
            first, by_first = wall[-1], by[-1]
            wall, by = wall[:-1], by[:-1]
            growth = np.maximum(wall**2 - first**2 - self.begins_mm2[j], 0.0)
            run, own = self.legs[j].run, unknowns[FIRST_LEVEL + j] - self.legs[j].start_level_mm
            edge = levels_mm[of] - CLIMB_MM - own
            before = np.interp(edge, self.cavity.depths_mm, run.clocks_mm2)
            passed = np.interp(edge, self.cavity.depths_mm, np.minimum(run.passed_mm2, MOST_PASSED_MM2))
            grown = np.minimum(growth, passed)
            rings[of] = np.sqrt(before + grown)
            steep = np.maximum(rings[of], LEAST_RING_MM) * np.maximum(growth, 1e-9) / np.maximum(grown, 1e-9)
            slopes[of, :OF_GROWTH] = (wall[:, None] * by - first * by_first) / steep[:, None]
        return rings, slopes

    def time_of_growth(self, unknowns: Array, j: int, growth_mm2: float) -> float:
        """Moment at which growth has run so far in the tables of filling j. [s]."""
        wall = math.sqrt(growth_mm2 + self.begins_mm2[j] + float(self._first(unknowns)[0]) ** 2)
        return float(growth_of(unknowns).seconds(wall)) + self.began_s(unknowns) + self.paused_s[j]

    def covered(self, unknowns: Array, wall_mm: float) -> tuple[float, Array]:
        """When the places wetted first, always covered, reach a wall [s], and the slopes of that, (p,)."""
        under = float(growth_of(unknowns).seconds(wall_mm))
        at = under + self.began_s(unknowns) + self.paused_s[-1]
        _, by = _walls(unknowns, np.array([under]))
        speed = math.exp(unknowns[LOG_K]) / float(growth_of(unknowns).steepness(np.array(wall_mm)))
        slopes = np.zeros(len(unknowns))
        slopes[:OF_GROWTH] = -by[0] / speed
        return at, slopes

    def shut_s(self, unknowns: Array) -> float | None:
        """Moment at which cake shuts a hole in the last filling; None: not within its tables. [s]."""
        shut = self.legs[-1].shut_mm2
        return None if math.isinf(shut) else self.time_of_growth(unknowns, len(self.legs) - 1, shut)

    def moment(self, unknowns: Array, row: int, wanted: float) -> float | None:
        """First moment at which wall (row 1) or water (row 2) reaches a value; None: never. [s]."""
        for j, own in enumerate(self.legs):
            table = np.maximum.accumulate(self._weights(unknowns, j) @ own.tables[:, row, :])
            if table[-1] < wanted:
                continue
            place = float(np.interp(wanted, table, np.arange(len(table)))) / (len(table) - 1)
            at = self.time_of_growth(unknowns, j, place * place * own.most_mm2)
            if j + 1 == len(self.legs) or at <= self.full_s[j + 1]:
                return at
        return None

    def _on_leg(self, unknowns: Array, j: int, times: Array, rows: slice) -> tuple[Array, Array]:
        own, n = self.legs[j], len(times)
        full_s = self.full_s[j] + (unknowns[SHIFT] if j == 0 else 0.0)
        under = np.append(self._under(unknowns, j, np.append(times, full_s)), math.exp(unknowns[LOG_POUR]))
        wall, by = _walls(unknowns, under)
        by[-1, SHIFT] = 0.0
        first, by_first = wall[-1], by[-1]
        wall, by = wall[:-1], by[:-1]
        if j == 0:  # when full, its growth is none, whatever the moment
            by[n] = by_first
        growth = wall**2 - first**2 - self.begins_mm2[j]
        by_growth = 2.0 * (wall[:, None] * by - first * by_first)
        weights = own.weights(unknowns[FIRST_LEVEL + j], unknowns[GAIN], 2.0 * math.log(float(first)))
        columns, along = own.columns(np.vstack([weights, FURTHER]), growth, rows)
        values = columns[0]
        slopes = np.zeros((len(values), n + 1, len(unknowns)))
        if j == 0:  # before it was full nothing had sunk
            along = along * (growth >= 0.0)
        slopes[:, :, :OF_GROWTH] = along[:, :, None] * by_growth
        slopes[:, :, :OF_GROWTH] += columns[3][:, :, None] * (2.0 / (POUR_STEP * first) * by_first)
        slopes[:, :, GAIN] += columns[2] / GAIN_STEP
        slopes[:, :, FIRST_LEVEL + j] = columns[1] / LEVEL_STEP_MM
        if rows.start == 0:  # the level starts where it was filled to, wherever the tables begin
            values[0] += (
                unknowns[FIRST_LEVEL + j] - values[0, n] + unknowns[SEEP] * np.append(times - full_s, 0.0)
            )
            slopes[0] -= slopes[0, n]
            slopes[0, :, FIRST_LEVEL + j] += 1.0
            slopes[0, :n, SEEP] = times - full_s
        return values[:, :n], slopes[:, :n]

    def _weights(self, unknowns: Array, j: int) -> Array:
        log_pour = 2.0 * math.log(float(self._first(unknowns)[0]))
        return self.legs[j].weights(unknowns[FIRST_LEVEL + j], unknowns[GAIN], log_pour)

    def began_s(self, unknowns: Array) -> float:
        """When the pour began. [s]."""
        return float(self.full_s[0] + unknowns[SHIFT] - math.exp(unknowns[LOG_POUR]))

    def _under(self, unknowns: Array, j: int, times: Array) -> Array:
        return np.asarray(np.maximum(times - self.began_s(unknowns) - self.paused_s[j], 0.0))

    def _first(self, unknowns: Array) -> tuple[Array, Array]:
        """Wall of the places wetted first when the mould was first full, and its slopes."""
        wall, by = _walls(unknowns, np.array([math.exp(unknowns[LOG_POUR])]))
        by[0, SHIFT] = 0.0
        return wall[0], by[0]


def growth_of(unknowns: Array) -> Growth:
    """Law of growth that the unknowns describe."""
    k, skin, slope, bend = (math.exp(value) for value in unknowns[: LOG_BEND + 1])
    return Growth(k, skin, bend, slope)


def course(series: LevelSeries, mould: MouldProfile, slip: Slip, unknowns: Array) -> Course:
    """Lay out the course of a cast with tables near the given unknowns."""
    full = tuple(filling.full_s for filling in series.fillings)
    bare = Course(mould, full, _pauses(series), (), (0.0,) * len(full))
    first = float(bare._first(unknowns)[0])
    level, gain, log_pour = near(unknowns[FIRST_LEVEL], unknowns[GAIN], 2.0 * math.log(first))
    story = Story(level, log_pour, gain, slip.water_per_cake)
    legs, begins = [leg(mould, story)], [0.0]
    for j in range(1, len(full)):
        growth = float(bare.growth_mm2(unknowns, j, np.array([full[j]]))[0]) - begins[-1]
        steps = max(0, math.floor(growth / GROWTH_STEP_MM2) - 1)  # a little early: tables never run backwards
        f = (series.fillings[j].slip or slip).water_per_cake
        start = near(unknowns[FIRST_LEVEL + j], 0.0, 0.0)[0]
        top_up = TopUp(steps * GROWTH_STEP_MM2, start, f)
        story = Story(level, log_pour, gain, slip.water_per_cake, (*story.top_ups, top_up))
        legs.append(leg(mould, story))
        begins.append(begins[-1] + top_up.growth_mm2)
    return Course(mould, full, bare.paused_s, tuple(legs), tuple(begins))


def _pauses(series: LevelSeries) -> tuple[float, ...]:
    paused, total = [], 0.0
    for filling in series.fillings:
        if filling.drained_from_s is not None:
            total += filling.full_s - filling.drained_from_s
        paused.append(total)
    return tuple(paused)


def _walls(unknowns: Array, under_s: Array) -> tuple[Array, Array]:
    """Wall of the places wetted first after times under slip, and its slopes, (n, `OF_GROWTH`)."""
    law = growth_of(unknowns)
    wall = law.wall_mm(under_s)
    steep = np.maximum(law.steepness(wall), 1e-9)
    slopes = np.zeros((len(wall), OF_GROWTH))
    slopes[:, LOG_K] = law.k_mm2_per_s * under_s / steep
    slopes[:, LOG_SKIN] = -law.skin_mm * wall / steep
    slopes[:, LOG_SLOPE] = -2.0 / 3.0 * law.slope_per_mm * wall**3 / steep
    slopes[:, LOG_BEND] = -0.5 * law.bend_per_mm2 * wall**4 / steep
    slopes[:, SHIFT] = -law.k_mm2_per_s / steep
    slopes[:, LOG_POUR] = math.exp(unknowns[LOG_POUR]) * law.k_mm2_per_s / steep
    return wall, slopes
