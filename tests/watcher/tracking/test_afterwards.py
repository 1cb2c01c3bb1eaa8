"""A cast after its tip: draining, upright, cut, letting go, demoulded; seen, said, or left to the clock."""

from __future__ import annotations

import pytest
from bench_looks import at, bench, look, names, run, say

from watcher.records.after_tip import AfterStep
from watcher.records.bench import PHASE, Bench, Stage
from watcher.records.readings import Contents, Missed
from watcher.records.said import What

EMPTY = [look(0, contents=Contents.EMPTY), look(25, contents=Contents.EMPTY)]


def sinking(start_s: float, *, until_s: float = 1500.0, every_s: float = 25.0, top_mm: float = 2.5):
    """Levels of a beaker sinking with the root of time: 0.9 mm per root minute (a number of our own)."""
    count = int((until_s - start_s) / every_s)
    return [
        look(start_s + i * every_s, level_mm=top_mm + 0.9 * (i * every_s / 60.0) ** 0.5) for i in range(count)
    ]


def views(contents: Contents, start_s: float, until_s: float, every_s: float = 25.0):
    return [look(start_s + i * every_s, contents=contents) for i in range(int((until_s - start_s) / every_s))]


CAST = [*EMPTY, *sinking(50)]
TURNED = views(Contents.AWAY, 1500, 2700)
STANDS = views(Contents.EMPTY, 2700, 4000)


def stage(present: Bench) -> Stage:
    return present.moulds["beaker"].stage


def noted(present: Bench) -> dict[AfterStep, tuple[float, bool]]:
    cast = present.moulds["beaker"].cast
    return {} if cast is None else {n.step: (n.at_s, n.said) for n in cast.after.noted}


def test_a_mould_out_of_view_after_its_tip_drains_and_seen_again_stands_upright() -> None:
    present, events = run(bench(), [*CAST, *TURNED])
    assert stage(present) is Stage.DRAINING
    present, more = run(present, STANDS)
    assert stage(present) is Stage.UPRIGHT
    assert names([*events, *more])[-3:] == ["tipped", "inverted", "upright"]
    seen = noted(present)
    assert seen[AfterStep.UPRIGHT] == (2700, False)
    assert seen[AfterStep.INVERTED][0] == pytest.approx(1525, abs=26)


def test_a_card_that_is_lost_to_view_after_the_tip_tells_the_same() -> None:
    lost = [look(1550 + 25 * i, missed=Missed.CARD_LOST) for i in range(20)]
    present, _ = run(bench(), [*CAST, *views(Contents.AWAY, 1500, 1550), *lost])
    assert stage(present) is Stage.DRAINING


def test_a_drained_mould_that_looks_empty_for_hours_is_still_the_same_cast() -> None:
    present, events = run(bench(), [*CAST, *TURNED, *views(Contents.EMPTY, 2700, 20000, 100)])
    state = present.moulds["beaker"]
    assert state.stage is Stage.UPRIGHT
    assert PHASE[state.stage] == "tipped"
    assert state.cast is not None and state.casts_today == 1
    assert names(events).count("filling") == 1


def test_slip_ladled_out_of_a_standing_mould_leaves_it_upright() -> None:
    ladled = [look(1500, level_mm=40), look(1525, level_mm=44)]
    present, events = run(bench(), [*CAST, *ladled, *views(Contents.EMPTY, 1550, 1700)])
    assert names(events)[-2:] == ["tipped", "upright"]
    assert AfterStep.INVERTED not in noted(present)


@pytest.mark.parametrize("every_s", [5.0, 12.0, 30.0])
def test_slip_running_out_through_a_bung_is_a_tip_and_no_thirst(every_s: float) -> None:
    """40 mm in a minute and a half: about what a 25 mm bung lets out of a litre (practice, no source)."""
    cast = [*EMPTY, *sinking(50, every_s=every_s)]
    last_mm = cast[-1].holes[0].reading.level_mm
    runs = [look(1500 + i * every_s, level_mm=last_mm + 40 * i * every_s / 90.0) for i in range(1, 10)]
    runs = [one for one in runs if one.taken_s <= 1590]
    unseen = views(Contents.EMPTY, 1600, 1700, every_s)
    present, events = run(bench(), [*cast, *runs, *unseen])
    assert names(events).count("tipped") == 1
    assert "leaking" not in names(events)
    tipped_s = present.moulds["beaker"].cast.tipped_s
    assert 1500 - 61 <= tipped_s <= 1500 + 2 * every_s


def test_slip_that_runs_out_of_sight_was_let_out() -> None:
    runs = [look(1510, level_mm=12.5), look(1520, level_mm=17.0)]
    deep = [look(1530, missed=Missed.OUT_OF_SIGHT, contents=Contents.SLIP)]
    present, events = run(bench(), [*CAST, *runs, *deep])
    assert names(events)[-1] == "tipped"
    assert present.moulds["beaker"].cast.tipped_s == 1510


def test_nothing_seen_of_draining_and_no_taps_and_the_next_pour_is_the_next_cast() -> None:
    blind = [look(1550 + 50 * i, missed=Missed.DARK) for i in range(40)]
    poured = [look(3600, level_mm=3.0), look(3625, level_mm=3.3), look(3650, level_mm=3.5)]
    away = views(Contents.AWAY, 1500, 1550)
    present, events = run(bench(), [*CAST, *away, *blind, *poured])
    assert stage(present) is Stage.CASTING
    assert present.moulds["beaker"].cast.number_today == 2
    assert names(events).count("tipped") == 1


def test_turned_over_again_before_the_piece_can_have_set_is_draining_again() -> None:
    quick = [
        *views(Contents.AWAY, 1500, 1650),
        *views(Contents.EMPTY, 1650, 1690, 10),
        *views(Contents.AWAY, 1690, 1800),
    ]
    present, events = run(bench(), [*CAST, *quick])
    assert present.moulds["beaker"].cast.after.expected(AfterStep.DEMOULDED).low_s > 1800
    assert stage(present) is Stage.DRAINING
    assert names(events)[-4:] == ["tipped", "inverted", "upright", "inverted"]


def test_a_mould_taken_apart_when_it_may_have_set_is_demoulded_and_waits_for_slip() -> None:
    opened = [*views(Contents.AWAY, 9000, 9200), *views(Contents.EMPTY, 9200, 9300)]
    present, events = run(bench(), [*CAST, *TURNED, *views(Contents.EMPTY, 2700, 9000, 100), *opened])
    assert names(events)[-2:] == ["upright", "demoulded"]
    assert stage(present) is Stage.EMPTY
    assert present.moulds["beaker"].cast is None


def test_every_step_can_be_said_and_the_word_stands_against_the_picture() -> None:
    words = [What.TIPPED, What.INVERTED, What.UPRIGHT, What.SPARE_CUT, What.LETTING_GO, What.DEMOULDED]
    said = [say(1500 + 600 * i, what) for i, what in enumerate(words)]
    present, events = run(bench(), [*CAST, *said[:3]])
    assert stage(present) is Stage.UPRIGHT
    present, more = run(present, views(Contents.AWAY, 2710, 3200))
    assert stage(present) is Stage.UPRIGHT, "it may stand on a shelf that no camera sees"
    present, last = run(present, said[3:])
    assert stage(present) is Stage.DEMOULDED
    spoken = [name for name in names([*events, *more, *last]) if name in {what.value for what in words}]
    assert spoken == [what.value for what in words]
    assert all(by_word for _, by_word in noted(present).values())
    assert [at_s for at_s, _ in noted(present).values()] == [2100, 2700, 3300, 3900, 4500]


def test_a_word_said_a_moment_before_it_is_done_is_not_undone_by_the_slip_still_there() -> None:
    still = [look(1510, level_mm=7.0), look(1520, level_mm=7.0), look(1530, level_mm=7.1)]
    present, events = run(bench(), [*CAST, say(1505, What.TIPPED), *still])
    assert stage(present) is Stage.TIPPED
    assert names(events)[-1] == "tipped"
    present, events = run(present, [*views(Contents.AWAY, 1540, 1700)])
    assert names(events) == ["inverted"]


def test_a_tip_taken_back_goes_on_with_every_level_and_is_called_again() -> None:
    early = [*EMPTY, *sinking(50, until_s=600)]
    present, _ = run(bench(), [*early, say(600, What.TIPPED), say(640, What.TAKE_BACK)])
    state = present.moulds["beaker"]
    assert state.stage is Stage.CASTING
    assert state.cast.tipped_s is None and not state.cast.after.tip_said
    undisturbed, _ = run(bench(), early)
    assert state.cast.fillings == undisturbed.moulds["beaker"].cast.fillings


def test_a_pour_that_was_none_is_taken_back() -> None:
    present, events = run(bench(), [*EMPTY, say(100, What.FILLED), say(130, What.TAKE_BACK)])
    state = present.moulds["beaker"]
    assert (state.stage, state.cast, state.casts_today) == (Stage.EMPTY, None, 0)
    assert events[-1].event == "take_back" and events[-1].detail == "filled"


def test_a_demoulding_taken_back_leaves_the_piece_in_its_mould() -> None:
    looks = views(Contents.EMPTY, 4010, 4030, 10)
    present, _ = run(bench(), [*CAST, *TURNED, *STANDS, say(4001, What.DEMOULDED), *looks])
    assert stage(present) is Stage.EMPTY
    present, _ = run(present, [say(4040, What.TAKE_BACK)])
    assert stage(present) is Stage.UPRIGHT
    assert AfterStep.DEMOULDED not in noted(present)


def test_after_the_tip_the_next_step_is_foretold_within_what_makers_print() -> None:
    """Draining 10 to 60 minutes [S17]; the first forecast is that of a mould without a history."""
    present, _ = run(bench(), [*CAST, *TURNED[:4]])
    cast = present.moulds["beaker"].cast
    due = cast.after.next_due
    assert due.step is AfterStep.UPRIGHT
    minutes = [(s - cast.tipped_s) / 60.0 for s in (due.low_s, due.at_s, due.high_s)]
    assert 5 < minutes[0] < minutes[1] < minutes[2] < 60
    present, _ = run(present, [say(3000, What.SPARE_CUT)])
    assert present.moulds["beaker"].cast.after.next_due.step is AfterStep.DEMOULDED


def test_the_wall_is_the_one_at_the_tip_however_long_the_mould_drains() -> None:
    present, _ = run(bench(), [*CAST, *TURNED[:3]])
    at_tip = present.moulds["beaker"].cast.estimate.wall_mm
    present, _ = run(present, [*TURNED[3:], *STANDS, say(4100, What.SPARE_CUT)])
    assert present.moulds["beaker"].cast.estimate.wall_mm == at_tip


def test_casts_are_numbered_anew_from_midnight_of_the_bench_and_not_when_the_clock_is_set_back() -> None:
    present, _ = run(bench(), CAST)
    assert present.moulds["beaker"].casts_today == 1
    before_s = 16 * 3600 - 60  # the bench's day begins at 08:00 UTC
    present, _ = run(present, [look(before_s, contents=Contents.AWAY)])
    assert present.moulds["beaker"].casts_today == 1
    present, _ = run(present, [look(before_s + 120, contents=Contents.AWAY)])
    assert present.moulds["beaker"].casts_today == 0
    assert present.day == at(before_s + 120).date()
