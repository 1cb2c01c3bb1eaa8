"""One filling's forward runs as tables: level, wall and water against growth, and their slopes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from models.balance import STEPS, Sinking, clocks_when_poured, sink
from models.cavity import Cavity, cut
from models.mould import MouldProfile

Array = npt.NDArray[np.float64]

LEVEL_STEP_MM = 1.0
GAIN_STEP = 0.05
POUR_STEP = 0.4
"""Spacing of the tables in start level [mm], ln of gain and ln of the growth during the pour: between two of
them everything is straight to better than the 0.02 mm that a level is ever read to."""

GROWTH_STEP_MM2 = 0.02
"""Moments of top-ups are rounded to this much growth, so that their tables can be used again. [mm2]"""

EARLY = 6
"""Column up to which a later filling's first steepness is taken: wall wetted anew above the old level drinks
fast for a moment, and that must not be drawn out backwards."""

LEAST_WALL_MM = 10.0
MOST_WALLS = 3.0
"""Runs go to at least this wall, or to so many times the wanted one, unless the cavity is too narrow."""


@dataclass(frozen=True, slots=True)
class TopUp:
    """A later filling in a mould's story: growth of its predecessor when it came, level that it came to."""

    growth_mm2: float
    level_mm: float
    water_per_cake: float


@dataclass(frozen=True, slots=True)
class Story:
    """What lies before a filling, rounded so that equal stories share their tables.

    Attributes
    ----------
    level_mm : float
        Level when first full. [mm]
    log_pour : float
        ln of the growth during the pour in mm2.
    gain : float
        ln of the factor on water given up.
    water_per_cake : float
        f of the first slip.
    top_ups : tuple of TopUp
    """

    level_mm: float
    log_pour: float
    gain: float
    water_per_cake: float
    top_ups: tuple[TopUp, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Leg:
    """Tables of one filling.

    Attributes
    ----------
    story : Story
        The point they were made for.
    tables : ndarray, shape (4, 3, m + 1)
        Level [mm], mean wall [mm] and water since the pour began [mm3] over steps of equal sqrt(growth):
        at the story's point, with the start level, the gain and the pour one step further.
    most_mm2 : float
        Growth at the last column. [mm2]
    shut_mm2 : float
        Growth at which a hole shuts (infinite: it does not). [mm2]
    run : Sinking
        The run at the story's point.
    """

    story: Story
    tables: Array
    most_mm2: float
    shut_mm2: float
    run: Sinking

    def columns(self, mix: Array, growth_mm2: Array, rows: slice) -> tuple[Array, Array]:
        """Rows of mixtures of the four tables at some growths.

        A first filling starts on bare plaster, as the root of growth; later ones run straight in growth. A
        cast that grew less before a top-up than its tables took it to lies before their first column: there
        they go on straight.

        Parameters
        ----------
        mix : ndarray, shape (k, 4)
            Weights of the tables.
        growth_mm2 : ndarray, shape (n,)
        rows : slice
            Of level, wall, water: q of them.

        Returns
        -------
        values : ndarray, shape (k, q, n)
        slope : ndarray, shape (q, n)
            Of the first mixture, by growth.
        """
        place = STEPS * np.sqrt(np.minimum(np.maximum(growth_mm2, 0.0), self.most_mm2) / self.most_mm2)
        i = np.minimum(place.astype(np.int64), STEPS - 1)
        table = np.einsum("kt,tqm->kqm", mix, self.tables[:, rows, :])
        left = table[:, :, i]
        rise = table[:, :, i + 1] - left
        if not self.story.top_ups:
            # growth = most (place / STEPS)^2, so d(place) / d(growth) = STEPS^2 / (2 most place)
            per = STEPS**2 / (2.0 * self.most_mm2 * np.maximum(place, 0.5))
            return left + rise * (place - i), rise[0] * per
        wide = 2.0 * i + 1.0
        values, slope = (
            left + rise * ((place * place - i * i) / wide),
            rise[0] * (STEPS**2 / self.most_mm2 / wide),
        )
        if np.any(early := growth_mm2 < 0.0):
            first = (table[:, :, EARLY] - table[:, :, 0])[:, :, None] * (STEPS / EARLY) ** 2 / self.most_mm2
            slope[:, early] = first[0]
            values[:, :, early] += first * growth_mm2[early]
        return values, slope

    def weights(self, level_mm: float, gain: float, log_pour: float) -> Array:
        """Weights of the four tables for a point near the story's, shape (4,)."""
        a = (level_mm - self.start_level_mm) / LEVEL_STEP_MM
        b = (gain - self.story.gain) / GAIN_STEP
        c = (log_pour - self.story.log_pour) / POUR_STEP
        return np.array([1.0 - a - b - c, a, b, c])

    @property
    def start_level_mm(self) -> float:
        """Level at which this filling starts at the story's point. [mm]."""
        return self.story.top_ups[-1].level_mm if self.story.top_ups else self.story.level_mm


@lru_cache(maxsize=64)
def cavity_of(mould: MouldProfile) -> Cavity:
    """Return the mould's cavity; kept by value, as it is asked for at every look."""
    return cut(mould)


@lru_cache(maxsize=128)
def leg(mould: MouldProfile, story: Story) -> Leg:
    """Tables for the last filling of a story; kept by value."""
    most = most_growth_mm2(mould)
    points = [story, _raised(story), _with(story, gain=story.gain + GAIN_STEP)]
    points.append(_with(story, log_pour=story.log_pour + POUR_STEP))
    runs = [_run(mould, point) for point in points]
    tables = np.stack([_table(run, water) for run, water in runs])
    base = runs[0][0]
    return Leg(story, tables, most, base.shut_mm2, base)


def most_growth_mm2(mould: MouldProfile) -> float:
    """How far runs of this mould go. [mm2]."""
    wanted = mould.target_wall_mm[1] if mould.target_wall_mm else 0.0
    widest = max(diameter for _, diameter in mould.bore) / 2.0
    return float(min(max(LEAST_WALL_MM, MOST_WALLS * wanted), widest)) ** 2


def near(level_mm: float, gain: float, log_pour: float) -> tuple[float, float, float]:
    """Corner of the grid of stories below a point."""
    return (
        math.floor(level_mm / LEVEL_STEP_MM) * LEVEL_STEP_MM,
        math.floor(gain / GAIN_STEP) * GAIN_STEP,
        math.floor(log_pour / POUR_STEP) * POUR_STEP,
    )


@lru_cache(maxsize=384)
def _run(mould: MouldProfile, story: Story) -> tuple[Sinking, Array]:
    """Run the last filling of a story; with the water given up since the pour began. [mm3]."""
    cavity, factor = cavity_of(mould), math.exp(story.gain)
    if not story.top_ups:
        clocks = clocks_when_poured(cavity, story.level_mm, math.exp(story.log_pour))
        level, f, before, cake_before = story.level_mm, story.water_per_cake, 0.0, 0.0
    else:
        top = story.top_ups[-1]
        earlier = Story(story.level_mm, story.log_pour, story.gain, story.water_per_cake, story.top_ups[:-1])
        last, water = _run(mould, earlier)
        clocks, level, f = last.clocks_at(top.growth_mm2), top.level_mm, top.water_per_cake
        before = float(np.interp(top.growth_mm2, last.growth_mm2, water))
        cake_before = float(np.interp(top.growth_mm2, last.growth_mm2, last.cake_mm3))
    run = sink(
        cavity,
        level_mm=level,
        clocks_mm2=clocks,
        water_per_cake=f * factor,
        most_mm2=most_growth_mm2(mould),
    )
    return run, before + f * factor * (run.cake_mm3 - cake_before)


def _table(run: Sinking, water_mm3: Array) -> Array:
    rows = np.stack([run.level_mm, run.wall_mm, water_mm3])
    missing = STEPS + 1 - rows.shape[1]
    return np.pad(rows, ((0, 0), (0, missing)), mode="edge")


def _raised(story: Story) -> Story:
    """Move the start of a story's last filling one step lower below the rim."""
    if not story.top_ups:
        return _with(story, level_mm=story.level_mm + LEVEL_STEP_MM)
    top = story.top_ups[-1]
    moved = TopUp(top.growth_mm2, top.level_mm + LEVEL_STEP_MM, top.water_per_cake)
    return Story(
        story.level_mm, story.log_pour, story.gain, story.water_per_cake, (*story.top_ups[:-1], moved)
    )


def _with(
    story: Story, *, level_mm: float | None = None, log_pour: float | None = None, gain: float | None = None
) -> Story:
    return Story(
        story.level_mm if level_mm is None else level_mm,
        story.log_pour if log_pour is None else log_pour,
        story.gain if gain is None else gain,
        story.water_per_cake,
        story.top_ups,
    )
