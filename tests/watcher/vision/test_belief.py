"""Belief over depth: slip sinks, it rises only when poured."""

from __future__ import annotations

import numpy as np

from watcher.vision.hmm import Belief, mass_near, sink, weigh

DEPTHS = np.arange(0.0, 30.0, 0.25)


def at(depth_mm: float) -> Belief:
    rows = np.exp(-0.5 * ((DEPTHS - depth_mm) / 0.3) ** 2)
    return Belief(rows / rows.sum(), 0.0)


def edge(depth_mm: float, gain: float) -> np.ndarray:
    return gain * np.exp(-0.5 * ((DEPTHS - depth_mm) / 0.5) ** 2)


def test_chances_always_sum_to_one() -> None:
    belief = at(10.0)
    for _ in range(50):
        belief = sink(belief, 0.25, 0.6, 1e-9)
        assert abs(belief.rows.sum() + belief.below - 1.0) < 1e-9


def test_an_old_mark_higher_up_does_not_lift_the_level_without_a_pour() -> None:
    belief = sink(at(20.0), 0.25, 0.5, 1e-9)
    belief, _ = weigh(belief, edge(3.0, 12.0), 4.0)
    assert mass_near(belief, DEPTHS, 3.0, 1.0) < 0.01


def test_with_a_pour_seen_the_same_edge_is_believed() -> None:
    belief = sink(at(20.0), 0.25, 0.5, 0.15)
    belief, _ = weigh(belief, edge(3.0, 12.0), 4.0)
    assert mass_near(belief, DEPTHS, 3.0, 1.0) > 0.8


def test_a_level_that_sinks_past_the_last_row_is_believed_below() -> None:
    belief = at(29.0)
    for _ in range(8):
        belief = sink(belief, 0.25, 0.8, 1e-9)
        belief, _ = weigh(belief, np.zeros(DEPTHS.size), 4.0)
    assert belief.below > 0.9


def test_a_pour_brings_the_level_back_from_out_of_sight() -> None:
    belief = sink(Belief(np.zeros(DEPTHS.size), 1.0), 0.25, 0.5, 0.15)
    belief, _ = weigh(belief, edge(3.0, 12.0), 4.0)
    assert mass_near(belief, DEPTHS, 3.0, 1.0) > 0.8
