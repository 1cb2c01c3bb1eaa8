"""A lamp that is switched moves the line that is seen, not the slip."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from watcher.records.readings import Expected, LevelReading
from watcher.vision.film import Film
from watcher.vision.gate import light_switched, ring_light
from watcher.vision.memory import MouldMemory
from watcher.vision.mould_look import _in_first_light
from watcher.vision.sampling import Pixels

DIM, LIT = (190.0, 1.0), (214.0, 10.0)
EMPTY = np.zeros((4, 12, 3), np.float32)
SEEN = Pixels(EMPTY, EMPTY, np.ones((4, 12), bool), EMPTY, 0.0, Film(np.zeros(4), 0.1), DIM)
SINKING = Expected("casting", 300.0, speed_mm_per_s=0.005)
BEFORE = MouldMemory(filled_s=0.0, level_mm=6.0, read_s=300.0, top_mm=2.0, light=DIM)


def test_a_lamp_is_told_from_light_that_drifts() -> None:
    assert light_switched(LIT, DIM)
    assert not light_switched((193.0, 1.6), DIM)
    assert ring_light(np.array([100.0, 100.0, 100.0])) == (100.0, 0.0)


def test_the_step_at_a_switch_is_taken_off_until_the_light_is_as_it_was() -> None:
    """By hand: 0.15 mm sunk in 30 s; the lamp shows the line 0.4 mm lower; off again it is back."""
    lit, memory = _in_first_light(
        LevelReading(6.55, 0.3, 0.1), BEFORE, replace(SEEN, light=LIT), SINKING, 330.0
    )
    assert abs(lit.level_mm - 6.15) < 1e-9
    memory = replace(memory, level_mm=lit.level_mm, read_s=330.0)
    later, memory = _in_first_light(
        LevelReading(6.70, 0.3, 0.1), memory, replace(SEEN, light=LIT), SINKING, 360.0
    )
    assert abs(later.level_mm - 6.30) < 1e-9
    memory = replace(memory, level_mm=later.level_mm, read_s=360.0)
    dim, memory = _in_first_light(LevelReading(6.45, 0.3, 0.1), memory, SEEN, SINKING, 390.0)
    assert abs(dim.level_mm - 6.45) < 1e-9
    assert abs(memory.light_mm) < 1e-9


def test_a_step_too_large_for_the_light_is_the_slips_own() -> None:
    poured, _ = _in_first_light(LevelReading(3.0, 0.3, 0.1), BEFORE, replace(SEEN, light=LIT), SINKING, 330.0)
    assert poured.level_mm == 3.0
