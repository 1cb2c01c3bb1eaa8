"""The edge between two shadings, drawn by an independent rule: found, placed, and bounded."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import erf

from watcher.vision.likelihood import edge_gain, noise_of, plan_regions
from watcher.vision.placing import WallRows, place

DEPTHS = np.arange(0.0, 36.0, 0.25)
SHOWN = np.ones((DEPTHS.size, 12), dtype=bool)
SECTORS = np.ones(12, dtype=bool)
PX_PER_MM = 1.4
PX_PER_ROW = PX_PER_MM * 0.25


def wall(at_mm: float, step: float, noise: float, seed: int, slope: float = 0.0) -> np.ndarray:
    """Draw sector profiles: a blurred step on a slanting shade, with noise of the picture's own grain."""
    rng = np.random.default_rng(seed)
    sector = np.linspace(-1.0, 1.0, 12)
    shade = 120.0 + slope * DEPTHS[:, None] + 6.0 * sector[None, :]
    edge = 0.5 * step * (1.0 + erf((DEPTHS - at_mm) * PX_PER_MM / (0.9 * math.sqrt(2.0))))
    fine = rng.normal(0.0, noise, (int(DEPTHS[-1] * PX_PER_MM) + 3, 12))
    grain = np.stack(
        [np.interp(DEPTHS * PX_PER_MM, np.arange(len(fine)), fine[:, s]) for s in range(12)], axis=1
    )
    return (shade + edge[:, None] + grain).astype(np.float32)


def rows(luma: np.ndarray, rim_mm: float = 0.0) -> WallRows:
    """Call the drawn profiles a wall whose rim lies there."""
    return WallRows(DEPTHS, luma, rim_mm, PX_PER_MM, np.full(12, rim_mm), SHOWN)


def under_a_rim(rim_mm: float, at_mm: float, seed: int) -> WallRows:
    """Draw a bright top, a band of dark wall below the rim, and bright slip under the line."""
    depths = np.arange(-6.0, 12.0, 0.25)
    rng = np.random.default_rng(seed)

    def edge(where_mm: float, blur_px: float) -> np.ndarray:
        return 0.5 * (1.0 + erf((depths - where_mm) * PX_PER_MM / (blur_px * math.sqrt(2.0))))

    mean = 200.0 - 60.0 * edge(rim_mm, 1.0) + 50.0 * edge(at_mm, 0.7)
    luma = mean[:, None] + rng.normal(0.0, 1.0, (depths.size, 12))
    shown = np.ones(luma.shape, dtype=bool)
    return WallRows(depths, luma.astype(np.float32), 0.0, PX_PER_MM, np.zeros(12), shown)


@pytest.mark.parametrize("at_mm", [5.0, 12.3, 24.0])
def test_the_strongest_edge_is_where_the_shading_breaks(at_mm: float) -> None:
    plan = plan_regions(DEPTHS, SHOWN, PX_PER_ROW)
    luma = wall(at_mm, 20.0, 1.0, 1, slope=-0.6)
    gain = edge_gain(luma, plan, noise_of(luma, SHOWN, 4)).gain
    assert abs(DEPTHS[int(np.argmax(gain))] - at_mm) < 0.8


def test_a_step_of_three_grey_levels_in_noise_of_two_is_found_by_whole_regions() -> None:
    """A gradient alone fails there: the largest row-to-row step of the mean profile lies elsewhere."""
    plan = plan_regions(DEPTHS, SHOWN, PX_PER_ROW)
    hits = misses = 0
    for seed in range(20):
        luma = wall(15.0, 3.0, 2.0, seed)
        gain = edge_gain(luma, plan, noise_of(luma, SHOWN, 4)).gain
        hits += abs(DEPTHS[int(np.argmax(gain))] - 15.0) < 1.5
        mean = luma.mean(axis=1)
        misses += abs(DEPTHS[int(np.argmax(np.diff(mean)))] - 15.0) >= 1.5
    assert hits >= 17
    assert misses >= 5


def test_a_smooth_wall_without_a_line_gives_little_gain() -> None:
    plan = plan_regions(DEPTHS, SHOWN, PX_PER_ROW)
    for seed in range(10):
        luma = wall(15.0, 0.0, 1.5, seed, slope=-1.0)
        assert edge_gain(luma, plan, noise_of(luma, SHOWN, 4)).gain.max() < 14.0


def test_an_edge_that_turns_darker_downwards_is_told_as_a_mark_not_as_a_line() -> None:
    plan = plan_regions(DEPTHS, SHOWN, PX_PER_ROW)
    luma = wall(10.0, -30.0, 1.0, 2)
    edges = edge_gain(luma, plan, 1.0)
    assert abs(DEPTHS[int(np.argmax(edges.darker))] - 10.0) < 0.8
    assert edges.gain.max() < 0.5 * edges.darker.max()


def test_the_line_is_placed_without_bias_near_the_bound_for_an_edge_in_noise() -> None:
    """The Cramer-Rao bound of a blurred step of C in noise s on independent pixels along L px of edge.

    Fisher information per px of edge: C^2 / (2 sqrt(pi) b s^2), b the blur (a Gaussian's square integrated).
    """
    step, noise = 12.0, 2.0
    found = []
    for seed in range(40):
        at = 12.0 + 0.02 * seed
        placed = place(rows(wall(at, step, noise, seed)), SECTORS, at + 0.3)
        assert placed is not None
        found.append(placed.at_mm - at)
    info = 12.0 * step**2 / (2.0 * math.sqrt(math.pi) * 0.9 * noise**2)
    bound_mm = 1.0 / math.sqrt(info) / PX_PER_MM
    assert abs(np.mean(found)) < 0.12  # it takes the onset of the rise: a constant, part of the meniscus
    assert bound_mm < np.std(found) < 4.0 * bound_mm


def test_a_line_at_the_end_of_what_was_tried_is_followed() -> None:
    placed = place(rows(wall(14.0, 20.0, 0.5, 4)), SECTORS, 12.2)
    assert placed is not None
    assert abs(placed.at_mm - 14.0) < 0.2


def test_the_sectors_disagree_where_there_is_no_line() -> None:
    sharp = place(rows(wall(14.0, 20.0, 1.0, 5)), SECTORS, 14.0)
    none = place(rows(wall(14.0, 0.0, 1.0, 5)), SECTORS, 14.0)
    assert sharp is not None
    assert none is None or none.disagree_mm > 2.0 * sharp.disagree_mm or none.sigma_mm > 3.0 * sharp.sigma_mm


@pytest.mark.parametrize("rim_mm", [0.0, 0.75, 1.5])
@pytest.mark.parametrize("band_mm", [1.6, 2.4, 4.0])
def test_a_line_close_under_a_rounded_rim_is_not_pulled_by_the_rim(rim_mm: float, band_mm: float) -> None:
    off = []
    for seed in range(12):
        placed = place(under_a_rim(rim_mm, rim_mm + band_mm, seed), SECTORS, rim_mm + band_mm + 0.4)
        assert placed is not None
        off.append(placed.at_mm - rim_mm - band_mm)
    assert abs(np.mean(off)) < 0.2
