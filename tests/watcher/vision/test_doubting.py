"""Levels that cannot be slip's are not believed: what stands still, rises by itself, or was there before."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from watcher.records.readings import Expected, LevelReading, Missed
from watcher.vision.doubting import below_old_mark, doubted, is_old_mark
from watcher.vision.level import Found
from watcher.vision.memory import HoleLooks, MouldMemory, PastLook
from watcher.vision.placing import Placed

FILLED_S = 1000.0
POURED = MouldMemory(looks=(HoleLooks(),), filled_s=FILLED_S, poured_s=FILLED_S)


def level(mm: float) -> LevelReading:
    return LevelReading(mm, 0.25, 0.1, 0.99)


def watched(memory: MouldMemory, levels: list[tuple[float, float]]) -> tuple[Missed | None, MouldMemory]:
    """Show levels (seconds since the fill, mm) one after the other; what is said of the last."""
    doubt: Missed | None = None
    for since_s, mm in levels:
        doubt, memory = doubted(level(mm), memory, None, None, None, FILLED_S + since_s)
        if doubt is None:
            memory = replace(memory, level_mm=mm, top_mm=min(mm, memory.top_mm or mm))
    return doubt, memory


def test_a_line_that_does_not_sink_in_a_young_cast_is_a_mark_and_the_slip_is_looked_for_below_it() -> None:
    still = [(30.0 * i, 2.3 + 0.05 * (i % 2)) for i in range(1, 7)]
    doubt, memory = watched(POURED, still)
    assert doubt is Missed.SKINNED
    assert memory.mark_mm is not None
    assert memory.mark_mm > 2.3
    assert memory.belief is None


def test_slow_plaster_under_a_wide_hole_is_not_taken_for_a_mark() -> None:
    """0.5 mm2/min, twice as much wall as hole: f L A/a with f 0.35 and L2 = K t."""
    sinking = [(float(s), 2.0 + 0.35 * 2.0 * (0.5 * s / 60.0) ** 0.5) for s in range(30, 480, 30)]
    doubt, memory = watched(POURED, sinking)
    assert doubt is None
    assert memory.mark_mm is None


def test_slip_does_not_rise_unless_it_was_seen_to_come_in() -> None:
    deep = [(300.0, 20.0), (330.0, 20.8), (360.0, 21.5)]
    doubt, memory = watched(POURED, deep)
    assert doubt is None
    doubt, _ = watched(memory, [(420.0, 3.0)])
    assert doubt is Missed.UNCERTAIN
    poured = replace(memory, poured_s=FILLED_S + 400.0)
    doubt, _ = watched(poured, [(420.0, 3.0)])
    assert doubt is None


def test_slip_in_a_hole_never_seen_empty_must_sink_first_unless_it_stands_at_the_rim() -> None:
    unknown = replace(POURED, proven=False, poured_s=None)
    assert watched(unknown, [(0.0, 18.0)])[0] is Missed.UNCERTAIN
    assert watched(unknown, [(0.0, 2.5)])[0] is None
    past = (PastLook(FILLED_S, 18.0, np.zeros((4, 12), dtype=np.float32)),)
    sunk = replace(unknown, looks=(HoleLooks(past=past),))
    assert watched(sunk, [(60.0, 18.3)])[0] is Missed.UNCERTAIN
    assert watched(sunk, [(90.0, 19.2)])[0] is None


@pytest.mark.parametrize(("read_mm", "wanted"), [(38.2, None), (35.0, Missed.OUT_OF_SIGHT)])
def test_near_where_sight_ends_a_level_must_be_where_it_is_due(read_mm: float, wanted: Missed | None) -> None:
    doubt, _ = doubted(level(read_mm), POURED, 40.0, None, 38.0, FILLED_S + 900.0)
    assert doubt is wanted


def test_what_turns_much_darker_downwards_is_an_old_mark_once_the_slip_has_left_it() -> None:
    dark = Found(2.4, 0.2, 0.1, 0.99, Placed(1.8, 0.1, -40.0, 0.1))
    assert not is_old_mark(POURED, dark, FILLED_S + 20.0)
    assert is_old_mark(POURED, dark, FILLED_S + 120.0)
    bright = replace(dark, placed=replace(dark.placed, step=15.0))
    assert not is_old_mark(POURED, bright, FILLED_S + 120.0)
    below = below_old_mark(POURED, dark).mark_mm
    assert below is not None
    assert below > 2.4


def test_a_level_far_from_where_it_is_due_is_believed_when_the_next_look_has_it_too() -> None:
    """A leak or a ladle is there again at the next look; an edge taken for the line is not."""
    due_mm = 3.0
    doubt, memory = doubted(level(11.0), POURED, None, None, due_mm, FILLED_S + 300.0)
    assert doubt is Missed.UNCERTAIN
    assert doubted(level(13.5), memory, None, None, due_mm, FILLED_S + 325.0)[0] is Missed.UNCERTAIN
    assert doubted(level(11.3), memory, None, None, due_mm, FILLED_S + 325.0)[0] is None
    back, memory = doubted(level(3.1), memory, None, None, due_mm, FILLED_S + 325.0)
    assert back is None
    assert doubted(level(11.0), memory, None, None, due_mm, FILLED_S + 350.0)[0] is Missed.UNCERTAIN


@pytest.mark.parametrize(("between_mm", "wanted"), [(3.3, Missed.SKINNED), (1.9, None)])
def test_sinking_past_a_level_of_before_a_top_up_is_not_standing_still(
    between_mm: float, wanted: Missed | None
) -> None:
    """The same 3.3 mm ten minutes ago: a skin, unless slip stood higher since."""
    look = np.zeros((4, 12), dtype=np.float32)
    past = tuple(PastLook(FILLED_S + s, mm, look) for s, mm in ((400.0, 3.3), (700.0, between_mm)))
    memory = replace(POURED, looks=(HoleLooks(past=past),))
    sinking = Expected("casting", 1000.0, 3.3, 0.2, 0.3 / 60.0)
    doubt, _ = doubted(level(3.3), memory, None, sinking, 3.3, FILLED_S + 1000.0)
    assert doubt is wanted
