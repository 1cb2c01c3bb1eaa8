"""A little slip poured on top is a new filling, not a mould that has stopped drinking."""

from __future__ import annotations

import pytest
from bench_looks import bench, look, names, run

from watcher.records.bench import Forecast
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


def test_a_top_up_in_a_silence_early_in_a_cast_shows_by_the_slip_having_hardly_sunk() -> None:
    """Three levels that tell little of the speed, six minutes unseen, then the level of before: topped up."""
    sinking = [look(50 + 30 * i, level_mm=2.9 + 0.9 * (30 * i / 60) ** 0.5) for i in range(4)]
    last_mm, last_s = sinking[-1].holes[0].reading.level_mm, sinking[-1].taken_s
    after = [look(last_s + 360 + 30 * i, level_mm=last_mm + 0.05 * i) for i in range(3)]
    _, events = run(bench(), [*EMPTY, *sinking, *after])
    assert "topped_up" in names(events)
    slow = [look(last_s + 360 + 30 * i, level_mm=last_mm + 1.0 + 0.05 * i) for i in range(3)]
    _, events = run(bench(), [*EMPTY, *sinking, *slow])
    assert "topped_up" not in names(events)


def test_a_top_up_soon_after_an_unseen_pour_was_found_full_does_not_begin_the_cast_anew() -> None:
    found = [look(210, level_mm=3.0)]  # poured at some time since 25 s
    topped = [look(270 + 30 * i, level_mm=1.3 + 0.15 * i) for i in range(4)]
    present, events = run(bench(), [*EMPTY, *found, *topped])
    cast = present.moulds["beaker"].cast
    assert "topped_up" in names(events)
    assert cast.fillings[0].earliest_s == 25 and len(cast.fillings) == 2


def test_a_pour_that_was_seen_stopped_and_taken_up_again_is_one_pour() -> None:
    stopped = [look(50, level_mm=6.0), look(75, level_mm=3.0), look(100, level_mm=2.8)]
    present, events = run(bench(), [*EMPTY, *stopped, look(125, level_mm=3.0)])
    assert "topped_up" not in names(events)
    assert len(present.moulds["beaker"].cast.fillings) == 1


def test_full_again_after_minutes_unseen_was_topped_up_and_after_a_quarter_of_an_hour_poured_anew() -> None:
    sinking = [look(50 + 25 * i, level_mm=2.5 + 0.9 * (25 * i / 60) ** 0.5) for i in range(60)]
    last_s = sinking[-1].taken_s
    full = [look(last_s + 300 + 25 * i, level_mm=2.6 + 0.05 * i) for i in range(3)]
    present, events = run(bench(), [*EMPTY, *sinking, *full])
    assert present.moulds["beaker"].cast.forecast in (Forecast.READY, Forecast.LATE)
    assert "tipped" not in names(events) and "topped_up" in names(events)
    later = [look(last_s + 960 + 25 * i, level_mm=2.6 + 0.05 * i) for i in range(3)]
    _, events = run(bench(), [*EMPTY, *sinking, *later])
    assert "tipped" in names(events) and names(events).count("filling") == 2
