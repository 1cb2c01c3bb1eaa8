"""The stages of a cast, told from looks written out by hand."""

from __future__ import annotations

import pytest
from bench_looks import bench, look, names, run, say, tick

from watcher.records.bench import FillingKind, Stage
from watcher.records.readings import Contents, Missed
from watcher.records.said import What


def sinking(start_s: float, *, first_mm: float = 2.5, count: int = 8, every_s: float = 25.0):
    """Levels of a beaker sinking with the root of time: 0.35 mm per root minute (a number of our own)."""
    return [
        look(start_s + i * every_s, level_mm=first_mm + 0.35 * (i * every_s / 60.0) ** 0.5)
        for i in range(count)
    ]


EMPTY = [look(0, contents=Contents.EMPTY), look(25, contents=Contents.EMPTY)]


def test_an_empty_mould_stays_empty_and_nothing_is_said() -> None:
    present, events = run(bench(), EMPTY)
    assert present.moulds["beaker"].stage is Stage.EMPTY
    assert events == []


def test_a_pour_seen_only_when_over_is_dated_between_the_two_looks() -> None:
    present, events = run(bench(), [*EMPTY, *sinking(50)])
    assert names(events)[:2] == ["filling", "filled"]
    filling = present.moulds["beaker"].cast.fillings[0]
    assert (filling.earliest_s, filling.latest_s) == (25, 50)
    assert len(filling.readings) == 8


def test_levels_of_the_rising_slip_do_not_enter_the_cast() -> None:
    rising = [look(30, level_mm=60), look(40, level_mm=25), look(50, level_mm=2.4)]
    present, _ = run(bench(), [*EMPTY, *rising, *sinking(60, first_mm=2.6)])
    filling = present.moulds["beaker"].cast.fillings[0]
    assert filling.readings[0].level_mm == pytest.approx(2.4)
    assert (filling.earliest_s, filling.latest_s) == (40, 50)


def test_a_first_look_at_a_mould_already_poured_opens_its_cast() -> None:
    present, events = run(bench(), sinking(10))
    assert present.moulds["beaker"].stage is Stage.CASTING
    assert names(events)[:2] == ["filling", "filled"]


def test_a_top_up_restarts_the_level_but_not_the_cast() -> None:
    before = sinking(50)
    after = [look(300, level_mm=1.6), look(325, level_mm=1.75), look(350, level_mm=1.9)]
    present, events = run(bench(), [*EMPTY, *before, *after])
    cast = present.moulds["beaker"].cast
    assert [f.kind for f in cast.fillings] == [FillingKind.POUR, FillingKind.TOP_UP]
    assert len(cast.fillings[1].readings) == 3
    assert "topped_up" in names(events)
    assert cast.number_today == 1


def test_one_stray_high_reading_is_no_top_up() -> None:
    stray = look(262, level_mm=0.8)
    present, events = run(bench(), [*EMPTY, *sinking(50), stray, *sinking(275, first_mm=3.4, count=2)])
    cast = present.moulds["beaker"].cast
    assert len(cast.fillings) == 1
    assert all(r.level_mm > 2 for r in cast.fillings[0].readings)
    assert "topped_up" not in names(events)


def test_a_pour_taken_up_again_at_once_is_one_pour() -> None:
    paused = [
        look(50, level_mm=8.0),
        look(75, level_mm=2.5),
        look(100, level_mm=2.8),
        look(125, level_mm=3.0),
    ]
    present, _ = run(bench(), [*EMPTY, *paused])
    cast = present.moulds["beaker"].cast
    assert len(cast.fillings) == 1
    assert cast.fillings[0].readings[0].level_mm == pytest.approx(2.5)


def test_a_mould_seen_away_twice_was_tipped_when_it_was_first_seen_away() -> None:
    away = [look(300, contents=Contents.AWAY), look(325, contents=Contents.AWAY)]
    present, events = run(bench(), [*EMPTY, *sinking(50), *away])
    state = present.moulds["beaker"]
    assert state.stage is Stage.TIPPED
    assert state.cast.tipped_s == 300
    assert names(events)[-1] == "tipped"


def test_one_look_at_a_mould_hidden_by_an_arm_is_no_tip() -> None:
    looks = [*EMPTY, *sinking(50), look(255, contents=Contents.AWAY), *sinking(280, first_mm=3.4, count=3)]
    present, events = run(bench(), looks)
    assert present.moulds["beaker"].stage is Stage.CASTING
    assert "tipped" not in names(events)


def test_a_hand_over_the_hole_neither_ends_nor_changes_a_cast() -> None:
    hidden = [look(s, missed=Missed.HAND, hand=True) for s in (260, 285, 310)]
    present, _ = run(bench(), [*EMPTY, *sinking(50), *hidden])
    state = present.moulds["beaker"]
    assert state.stage is Stage.CASTING
    assert len(state.cast.fillings[0].readings) == 8


def test_slip_ladled_out_is_a_tip_and_not_a_thirsty_mould() -> None:
    ladled = [look(275, level_mm=40), look(300, level_mm=41)]
    present, events = run(bench(), [*EMPTY, *sinking(50), *ladled])
    assert present.moulds["beaker"].stage is Stage.TIPPED
    assert "tipped" in names(events)


def test_a_drained_mould_set_upright_is_not_poured_again_until_slip_is_seen_twice() -> None:
    away = [look(300, contents=Contents.AWAY), look(325, contents=Contents.AWAY)]
    drained = [look(s, contents=Contents.EMPTY) for s in (900, 925, 950)]
    present, events = run(bench(), [*EMPTY, *sinking(50), *away, *drained, look(975, level_mm=4.0)])
    assert present.moulds["beaker"].stage is Stage.UPRIGHT
    present, events = run(present, [look(1000, level_mm=4.2)])
    state = present.moulds["beaker"]
    assert state.stage is Stage.CASTING
    assert state.cast.number_today == 2
    assert names(events) == ["filling", "filled"]


def test_an_inner_edge_of_a_drained_mould_is_not_poured_slip() -> None:
    away = [look(300, contents=Contents.AWAY), look(325, contents=Contents.AWAY)]
    edge = [look(900 + 22 * i, level_mm=17.7) for i in range(30)]
    present, events = run(bench(), [*EMPTY, *sinking(50), *away, *edge])
    assert present.moulds["beaker"].stage is Stage.TIPPED
    present, _ = run(present, [look(1600, level_mm=3.0), look(1625, level_mm=3.2)])
    assert present.moulds["beaker"].stage is Stage.CASTING
    assert names(events).count("filling") == 1


def test_an_inner_edge_of_an_empty_mould_opens_no_cast() -> None:
    edge = [look(50 + 22 * i, level_mm=24.0) for i in range(12)]
    present, events = run(bench(), [*EMPTY, *edge])
    assert "filled" not in names(events)
    assert present.moulds["beaker"].stage in (Stage.EMPTY, Stage.FILLING)


def test_a_supposed_tip_is_taken_back_when_the_slip_still_stands_there() -> None:
    looks = [*EMPTY, *sinking(50), look(255, contents=Contents.AWAY), look(280, contents=Contents.AWAY)]
    present, events = run(bench(), looks)
    assert present.moulds["beaker"].stage is Stage.TIPPED
    present, events = run(present, [look(305, level_mm=3.2), look(330, level_mm=3.3)])
    state = present.moulds["beaker"]
    assert state.stage is Stage.CASTING
    assert state.cast.number_today == 1
    assert names(events) == ["seen_again"]


def test_an_empty_look_at_a_level_too_deep_to_see_is_no_tip() -> None:
    levels = [2.4 + 2.9 * (25 * i / 60) ** 0.5 for i in range(8)]
    jug = {"mould": "cream jug", "lost_below_mm": 8.0}
    deep = [look(50 + 25 * i, level_mm=mm, **jug) for i, mm in enumerate(levels)]
    empty = [look(250 + 25 * i, contents=Contents.EMPTY, **jug) for i in range(4)]
    present, _ = run(bench(), [look(25, contents=Contents.EMPTY, mould="cream jug"), *deep, *empty])
    assert present.moulds["cream jug"].stage is Stage.CASTING


def test_the_casters_word_ends_a_cast_that_no_camera_saw_ending() -> None:
    present, events = run(bench(), [*EMPTY, *sinking(50), say(300, What.TIPPED)])
    assert present.moulds["beaker"].stage is Stage.TIPPED
    assert names(events)[-1] == "tipped"


def test_a_cast_begins_on_the_casters_word_alone() -> None:
    present, events = run(bench(), [say(100, What.FILLED), tick(101)])
    state = present.moulds["beaker"]
    assert state.stage is Stage.CASTING
    assert state.cast.fillings[0].latest_s == 100
    assert names(events)[:2] == ["filling", "filled"]


def test_tipped_too_soon_and_filled_again_keeps_the_cast_and_its_cake() -> None:
    present, _ = run(bench(), [*EMPTY, *sinking(50), say(300, What.TIPPED_TOO_SOON), look(325, level_mm=2.0)])
    cast = present.moulds["beaker"].cast
    assert [f.kind for f in cast.fillings] == [FillingKind.POUR, FillingKind.REFILL]
    assert cast.number_today == 1


def test_two_moulds_do_not_feel_each_other() -> None:
    alone, _ = run(bench(), [*EMPTY, *sinking(50)])
    other = [look(55 + 25 * i, level_mm=3.0 + i, mould="cream jug") for i in range(6)]
    both, _ = run(bench(), sorted([*EMPTY, *sinking(50), *other], key=lambda s: s.taken_s))
    assert both.moulds["beaker"].cast.fillings == alone.moulds["beaker"].cast.fillings
    assert both.moulds["cream jug"].stage is Stage.CASTING


def drained_then(*looks) -> tuple[str, list[str]]:
    """A beaker seen empty every half minute, in which something then looks like slip; what becomes of it."""
    empty = [look(s, contents=Contents.EMPTY) for s in range(0, 300, 30)]
    present, events = run(bench(), [*empty, *looks])
    return present.moulds["beaker"].stage, names(events)


def test_one_line_read_in_a_hole_that_no_hand_came_near_is_no_pour_until_another_bears_it_out() -> None:
    seems = [look(300, contents=Contents.SLIP), look(330, contents=Contents.SLIP), look(360, level_mm=3.5)]
    lost = [look(s, missed=Missed.OUT_OF_SIGHT, contents=Contents.SLIP) for s in range(390, 900, 30)]
    stage, events = drained_then(*seems, *lost)
    assert (stage, events) == (Stage.FILLING, ["filling"])
    stage, events = drained_then(*seems, *lost, *(look(s, contents=Contents.EMPTY) for s in (900, 930)))
    assert stage is Stage.EMPTY
    stage, events = drained_then(*seems, look(390, level_mm=3.8))
    assert (stage, events) == (Stage.CASTING, ["filling", "filled"])


def test_a_pour_that_a_hand_brought_or_that_nobody_watched_is_one_at_its_first_level() -> None:
    hand = look(300, missed=Missed.HAND, hand=True)
    stage, _ = drained_then(hand, look(330, level_mm=3.5))
    assert stage is Stage.CASTING
    stage, _ = drained_then(look(400, level_mm=3.5))
    assert stage is Stage.CASTING
