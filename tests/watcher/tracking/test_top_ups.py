"""A little slip poured on top is a new filling, not a mould that has stopped drinking."""

from __future__ import annotations

import pytest
from bench_looks import bench, look, names, run

from watcher.records.readings import Contents, Missed

EMPTY = [look(0, contents=Contents.EMPTY), look(25, contents=Contents.EMPTY)]


@pytest.mark.parametrize("up_mm", [1.3, 1.6, 2.5])
@pytest.mark.parametrize("looks", [3, 8, 20])
def test_a_small_top_up_is_noticed_early_and_late_in_a_cast(up_mm: float, looks: int) -> None:
    """Early in a cast its forecast is worth little; the level seen a moment before still is.

    Slip never rises by itself, and readings of one placement share their error: 1.3 mm are 13 times what two
    of these readings differ by.
    """
    sinking = [look(50 + 25 * i, level_mm=2.5 + 0.9 * (25 * i / 60) ** 0.5) for i in range(looks)]
    last_mm, last_s = sinking[-1].holes[0].reading.level_mm, sinking[-1].taken_s
    after = [look(last_s + 100 + 25 * i, level_mm=last_mm - up_mm + 0.1 * i) for i in range(4)]
    present, events = run(bench(), [*EMPTY, *sinking, *after])
    assert "topped_up" in names(events)
    assert len(present.moulds["beaker"].cast.fillings) == 2


def test_a_top_up_in_a_silence_shows_by_the_slip_standing_where_it_stood_long_before() -> None:
    """Read at 4.5 mm, unseen for five minutes in which the fit has it sink by 1.3 mm more, read at 4.1 mm."""
    sinking = [look(50 + 25 * i, level_mm=2.5 + 0.9 * (25 * i / 60) ** 0.5) for i in range(13)]
    last_s = sinking[-1].taken_s
    blind = [look(last_s + 25 * i, missed=Missed.DARK) for i in range(1, 12)]
    after = [look(last_s + 300 + 25 * i, level_mm=4.1 + 0.05 * i) for i in range(4)]
    _, events = run(bench(), [*EMPTY, *sinking, *blind, *after])
    assert "topped_up" in names(events)
    same = [look(last_s + 300 + 25 * i, level_mm=5.6 + 0.05 * i) for i in range(4)]
    _, events = run(bench(), [*EMPTY, *sinking, *blind, *same])
    assert "topped_up" not in names(events)
