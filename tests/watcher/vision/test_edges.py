"""The edge between two shadings, drawn by an independent rule: found, placed, and bounded."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import erf

from watcher.vision.likelihood import edge_gain, noise_of, plan_regions
from watcher.vision.placing import place

DEPTHS = np.arange(0.0, 36.0, 0.25)
SHOWN = np.ones((DEPTHS.size, 12), dtype=bool)
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
        placed = place(wall(at, step, noise, seed), SHOWN, DEPTHS, PX_PER_MM, at + 0.3)
        assert placed is not None
        found.append(placed.at_mm - at)
    info = 12.0 * step**2 / (2.0 * math.sqrt(math.pi) * 0.9 * noise**2)
    bound_mm = 1.0 / math.sqrt(info) / PX_PER_MM
    assert abs(np.mean(found)) < 0.06
    assert bound_mm < np.std(found) < 4.0 * bound_mm


def test_a_line_at_the_end_of_what_was_tried_is_followed() -> None:
    placed = place(wall(14.0, 20.0, 0.5, 4), SHOWN, DEPTHS, PX_PER_MM, 12.2)
    assert placed is not None
    assert abs(placed.at_mm - 14.0) < 0.2


def test_the_sectors_disagree_where_there_is_no_line() -> None:
    sharp = place(wall(14.0, 20.0, 1.0, 5), SHOWN, DEPTHS, PX_PER_MM, 14.0)
    none = place(wall(14.0, 0.0, 1.0, 5), SHOWN, DEPTHS, PX_PER_MM, 14.0)
    assert sharp is not None
    assert none is None or none.disagree_mm > 2.0 * sharp.disagree_mm or none.sigma_mm > 3.0 * sharp.sigma_mm
