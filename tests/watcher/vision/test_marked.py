"""The line below the fill's mark, on drawn walls: a mark is an arc, light comes from the side.

A ray that meets clay at some depth meets the bare wall behind it deeper by the clay's thickness over the
tangent of the view's angle and the cosine of the direction: trigonometry, drawn here sector by sector.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import erf

from watcher.vision.marked import Mark, place_below
from watcher.vision.placing import WallRows, place

DEPTHS = np.arange(-6.0, 16.0, 0.25)
PX_PER_MM = 1.35
SECTORS = np.ones(12, dtype=bool)
PSI = np.radians((np.arange(12) + 0.5) * 13.0 - 78.0)
CLAY_MM, STEEP = 2.0, math.radians(55.0)
RIMS_MM = -CLAY_MM / math.tan(STEEP) / np.cos(PSI)
MARK_MM = 1.8
SEEN = np.ones((DEPTHS.size, 12), dtype=bool)


def edge(where_mm: float, blur_px: float = 0.8) -> np.ndarray:
    return 0.5 * (1.0 + erf((DEPTHS - where_mm) * PX_PER_MM / (blur_px * math.sqrt(2.0))))


def marked_wall(at_mm: float, steps: np.ndarray, noise: float = 1.0, seed: int = 1) -> np.ndarray:
    """Draw bright bare plaster down to the mark's arc, clay below it, slip below the line, by sector."""
    rng = np.random.default_rng(seed)
    luma = np.empty((DEPTHS.size, 12))
    for s in range(12):
        luma[:, s] = 190.0 - 110.0 * edge(MARK_MM + RIMS_MM[s], 1.0) + steps[s] * edge(at_mm)
    grain = rng.normal(0.0, noise, (int(22.0 * PX_PER_MM) + 4, 12))
    at = (DEPTHS - DEPTHS[0]) * PX_PER_MM
    return luma + np.stack([np.interp(at, np.arange(len(grain)), grain[:, s]) for s in range(12)], axis=1)


def rows(luma: np.ndarray, shown: np.ndarray = SEEN) -> WallRows:
    rim = -CLAY_MM / (math.tan(STEEP) * 0.92)
    return WallRows(DEPTHS, luma.astype(np.float32), rim, PX_PER_MM, RIMS_MM, shown)


LEAST_LINE_MM = 0.04
"""No line of a reading is surer: what the drawn blur is off the fitted one."""
FROM_THE_SIDE = np.array([0.0] * 8 + [6.0, 14.0, 22.0, 28.0])
"""Only the shaded side's sectors show the line; elsewhere slip and clay look alike."""


@pytest.mark.parametrize("at_mm", [4.2, 5.0, 6.3])
def test_light_from_the_side_shows_the_line_in_few_sectors_and_it_is_still_placed(at_mm: float) -> None:
    wall = rows(marked_wall(at_mm, FROM_THE_SIDE))
    placed = place_below(wall, SECTORS, at_mm + 0.4, Mark(MARK_MM + 0.2, None))
    assert placed is not None
    assert abs(placed.at_mm - at_mm) < 0.2
    assert placed.sigma_mm < 0.3
    assert placed.disagree_mm < 1.1


def test_a_mark_that_is_taken_for_a_row_pulls_the_line_of_the_side_sectors() -> None:
    """What `place` does, which has one end of the top for all sectors: the cure is not idle."""
    off = []
    for at_mm in (3.4, 4.2, 5.0):
        wall = rows(marked_wall(at_mm, FROM_THE_SIDE))
        placed = place(wall, SECTORS, at_mm + 0.4, MARK_MM)
        bad = placed is None or placed.sigma_mm > 0.7 or placed.disagree_mm > 1.1
        off.append(9.0 if bad or placed is None else abs(placed.at_mm - at_mm))
    assert max(off) > 0.5


def test_a_mark_a_millimetre_above_the_first_line_is_found_and_kept_within_reach() -> None:
    mark = Mark(MARK_MM + 0.9, None)
    placed = place_below(rows(marked_wall(5.0, np.full(12, 25.0))), SECTORS, 5.2, mark)
    assert placed is not None
    assert placed.mark_mm == pytest.approx(MARK_MM, abs=0.3)
    seen = mark.met(placed)
    assert seen is not None
    assert Mark(MARK_MM + 0.9, seen).tried_mm() == pytest.approx(seen + np.array([-0.25, 0.0, 0.25]))


def test_the_bright_top_of_the_near_rim_below_a_deep_line_is_not_taken_for_slip() -> None:
    """A line two millimetres above where the near rim hides the wall, its step far weaker than the rim's."""
    luma = marked_wall(9.0, np.full(12, 14.0))
    hidden = np.repeat((DEPTHS > 11.0)[:, None], 12, axis=1)
    luma = np.where(hidden, 215.0, luma)
    placed = place_below(rows(luma, ~hidden), SECTORS, 9.3, None)
    assert placed is not None
    assert abs(placed.at_mm - 9.0) < 0.25
    fooled = place_below(rows(luma), SECTORS, 9.3, None)
    assert fooled is None or abs(fooled.at_mm - 9.0) > 1.0 or fooled.sigma_mm > 0.7


def test_one_bad_sector_does_not_decide() -> None:
    """A seam with an edge of its own, stronger than the line's."""
    luma = marked_wall(5.0, np.full(12, 12.0))
    luma[:, 5] += 60.0 * edge(5.9)
    placed = place_below(rows(luma), SECTORS, 5.2, Mark(MARK_MM, None))
    assert placed is not None
    assert abs(placed.at_mm - 5.0) < 0.2


@pytest.mark.parametrize(("step", "noise"), [(30.0, 2.5), (9.0, 2.5)])
def test_the_spread_by_noise_holds_four_in_five(step: float, noise: float) -> None:
    inside = []
    for seed in range(80):
        at_mm = 4.6 + 0.011 * seed
        wall = rows(marked_wall(at_mm, np.full(12, step), noise, seed))
        placed = place_below(wall, SECTORS, 5.0, Mark(MARK_MM, MARK_MM))
        assert placed is not None
        inside.append(abs(placed.at_mm - at_mm) < 1.2816 * math.hypot(placed.sigma_mm, LEAST_LINE_MM))
    assert 0.62 <= float(np.mean(inside)) <= 0.97
