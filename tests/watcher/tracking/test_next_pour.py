"""The pour after a tip, seen before its level can be read."""

from __future__ import annotations

from bench_looks import bench, look, names, run

from watcher.records.bench import Stage
from watcher.records.readings import Contents, Missed

EMPTY = [look(0, contents=Contents.EMPTY), look(25, contents=Contents.EMPTY)]
CAST = [look(at, level_mm=2.5 + 0.05 * n) for n, at in enumerate(range(50, 300, 25))]
TIPPED = [look(300, contents=Contents.AWAY), look(325, contents=Contents.AWAY)]
STANDS_EMPTY = [look(600, contents=Contents.EMPTY), look(625, contents=Contents.EMPTY)]


def unread_slip(*times: float):
    return [look(at, contents=Contents.SLIP) for at in times]


def test_slip_in_a_mould_that_stood_empty_opens_the_next_cast_though_its_level_is_not_read() -> None:
    present, events = run(bench(), [*EMPTY, *CAST, *TIPPED, *STANDS_EMPTY, *unread_slip(650, 675)])
    assert present.moulds["beaker"].stage is Stage.FILLING
    assert names(events).count("filling") == 2
    assert present.moulds["beaker"].cast.fillings[0].earliest_s == 625


def test_one_look_at_slip_is_not_enough() -> None:
    present, events = run(bench(), [*EMPTY, *CAST, *TIPPED, *STANDS_EMPTY, *unread_slip(650)])
    assert present.moulds["beaker"].stage is Stage.UPRIGHT
    assert names(events).count("filling") == 1


def test_two_looks_at_slip_with_an_empty_hole_between_are_not_enough() -> None:
    between = [look(675, contents=Contents.EMPTY)]
    looks = [*EMPTY, *CAST, *TIPPED, *STANDS_EMPTY, *unread_slip(650), *between, *unread_slip(700)]
    present, _ = run(bench(), looks)
    assert present.moulds["beaker"].stage is Stage.UPRIGHT


def test_clay_left_in_a_mould_that_was_never_seen_empty_opens_nothing() -> None:
    tipped = [look(300, contents=Contents.EMPTY), look(325, contents=Contents.EMPTY)]
    present, events = run(bench(), [*EMPTY, *CAST, *tipped, *unread_slip(340, 365, 390)])
    assert present.moulds["beaker"].stage is Stage.TIPPED
    assert names(events).count("filling") == 1


def test_clay_that_looks_like_slip_in_a_narrow_neck_opens_nothing_after_a_time_out_of_view() -> None:
    away = [look(at, contents=Contents.AWAY) for at in range(300, 600, 25)]
    present, events = run(bench(), [*EMPTY, *CAST, *away, *unread_slip(*range(600, 1200, 25))])
    assert present.moulds["beaker"].stage is Stage.DRAINING
    assert names(events).count("filling") == 1


def test_an_empty_hole_that_looks_full_in_another_light_is_never_called() -> None:
    """A lamp switched on over an empty mould: slip, says the picture, but no line is found; a hand passes."""
    passing = [look(1010, missed=Missed.HAND, contents=Contents.SLIP, hand=True)]
    looks = [*EMPTY, *unread_slip(*range(50, 1000, 30)), *passing, *unread_slip(*range(1040, 6000, 30))]
    present, events = run(bench(), looks)
    assert present.moulds["beaker"].stage is Stage.FILLING
    assert names(events) == ["filling"]
    present, _ = run(present, [look(6030, contents=Contents.EMPTY), look(6060, contents=Contents.EMPTY)])
    assert present.moulds["beaker"].stage is Stage.EMPTY
    assert present.moulds["beaker"].casts_today == 0


def test_a_pour_into_such_a_hole_is_dated_from_the_hand_that_came() -> None:
    hand = [look(at, missed=Missed.HAND, contents=Contents.SLIP, hand=True) for at in (3000, 3030)]
    poured = [look(3060 + 30 * n, level_mm=3.0 + 0.1 * n) for n in range(4)]
    present, _ = run(bench(), [*EMPTY, *unread_slip(*range(50, 3000, 30)), *hand, *poured])
    cast = present.moulds["beaker"].cast
    assert present.moulds["beaker"].stage is Stage.CASTING
    assert 2970 <= cast.fillings[0].earliest_s and cast.fillings[0].latest_s <= 3090


def test_a_pour_that_a_hand_was_seen_at_counts_though_its_level_is_never_read() -> None:
    hand = [look(50, missed=Missed.HAND, contents=Contents.UNKNOWN, hand=True)]
    present, events = run(bench(), [*EMPTY, *hand, *unread_slip(*range(75, 400, 25))])
    assert present.moulds["beaker"].stage is Stage.CASTING
    assert names(events)[:2] == ["filling", "filled"]


def test_another_light_on_a_drained_mould_and_a_passing_hand_open_no_cast_that_is_called() -> None:
    hand = [look(680, missed=Missed.HAND, contents=Contents.SLIP, hand=True)]
    looks = [
        *EMPTY,
        *CAST,
        *TIPPED,
        *STANDS_EMPTY,
        *unread_slip(650),
        *hand,
        *unread_slip(*range(710, 3000, 30)),
    ]
    present, events = run(bench(), looks)
    assert present.moulds["beaker"].stage is Stage.FILLING
    assert names(events).count("filled") == 1
