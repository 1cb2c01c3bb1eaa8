"""Walls, calls and forecasts of casts, worked out by hand: full at 100 s, truly ready at 600 s."""

from __future__ import annotations

import pytest

from watcher.proof.cast_score import CastFigures, cast_figures, middle, worst
from watcher.proof.measured_lines import MeasuredLine, by_moment
from watcher.proof.truth_tables import Happened, TrueRow, Truth

STORY = (
    Happened(60.0, "jug", "filling"),
    Happened(100.0, "jug", "filled"),
    Happened(600.0, "jug", "ready"),
    Happened(900.0, "jug", "tipped"),
)
TIMES = tuple(float(t) for t in range(100, 1000, 100))


def judged(
    *,
    calls: tuple[float, ...] = (600.0,),
    story: tuple[Happened, ...] = STORY,
    wall_off: float | None = 0.1,
    ready: tuple[float | None, float | None, float | None] = (550.0, 630.0, 700.0),
    times: tuple[float, ...] = TIMES,
) -> CastFigures:
    rows = tuple(
        TrueRow(t, "jug", "casting" if t < 900.0 else "tipped", 5.0, t / 250.0, True, 1.0, True)
        for t in TIMES
    )
    lines = []
    for t in times:
        wall = None if wall_off is None else t / 250.0 + wall_off
        low, high = (None, None) if wall is None else (wall - 0.05, wall + 0.05)
        lines.append(MeasuredLine(t, "jug", True, 5.0, 0.2, wall, low, high, ready[1], ready[0], ready[2]))
    said = [Happened(t, "jug", "ready") for t in calls]
    return cast_figures(Truth(rows, story, (), True), by_moment(lines), said)


def test_a_call_is_judged_by_the_share_of_the_casts_time():
    found = judged(calls=(650.0,))
    assert found.call_errors() == [pytest.approx(0.1)]  # 50 s of 500 s
    assert (found.missed, found.false, found.off_the_mark) == (0, 0, 0)


def test_a_call_within_a_minute_is_on_the_mark_however_short_the_cast():
    # 20 % of a cast of 250 s are 50 s
    short = tuple(Happened(350.0, e.mould, e.event) if e.event == "ready" else e for e in STORY)
    found = judged(story=short, calls=(400.0,))
    assert found.call_errors() == [pytest.approx(0.2)]
    assert found.off_the_mark == 0 and found.call_errors_beyond_a_minute() == [0.0]
    far = judged(story=short, calls=(415.0,))
    assert far.off_the_mark == 1 and far.call_errors_beyond_a_minute() == [pytest.approx(0.26)]


def test_no_call_is_missed_a_second_one_false():
    assert judged(calls=()).missed == 1
    assert judged(calls=(600.0, 640.0)).false == 1


def test_a_call_in_a_cast_that_was_tipped_too_soon_is_false_only_when_it_came_much_too_early():
    soon = tuple(Happened(500.0, e.mould, e.event) if e.event == "tipped" else e for e in STORY)
    # a quarter of the 500 s from full to ready are 125 s: before 475 s is much too early
    assert judged(story=soon, calls=(480.0,)).false == 0
    assert judged(story=soon, calls=(470.0,)).false == 1
    never = tuple(e for e in STORY if e.event != "ready")
    assert judged(story=never, calls=(700.0,)).false == 1
    assert judged(story=never, calls=()).false == 0


def test_the_wall_is_taken_from_the_first_line_at_the_true_moment():
    assert judged().wall_errors_mm() == [pytest.approx(0.1)]
    # a blank counts as if there were no wall at all: 600 / 250 mm
    assert judged(wall_off=None).wall_errors_mm() == [pytest.approx(2.4)]
    # no line where one was due: nine millimetres
    assert judged(times=(100.0, 200.0)).wall_errors_mm() == [9.0]


def test_what_is_foretold_at_half_time_is_taken_from_the_first_line_after_it():
    # half time is 350 s, the line after it that of 400 s: 630 s foretold, 30 s off, 500 s in all
    assert judged().half_errors() == [pytest.approx(0.06)]
    assert judged(ready=(None, None, None)).half_errors() == [1.0]


def test_every_range_has_a_vote_at_a_quarter_half_and_nine_tenths():
    outcome = judged().outcomes[0]
    # the lines of 300 and 400 s; nine tenths are 550 s, and the next line stands at the true moment: no vote
    assert [vote.share for vote in outcome.ready_votes] == [0.25, 0.5]
    assert [vote.held for vote in outcome.ready_votes] == [True, True]
    # the wall is 0.1 off, its range reaches 0.05
    assert [vote.held for vote in outcome.wall_votes] == [False, False]
    blank = judged(ready=(None, None, None)).outcomes[0]
    assert not any(vote.held for vote in blank.ready_votes)


def test_each_filling_of_a_mould_is_a_cast_of_its_own():
    story = (*STORY, Happened(950.0, "jug", "filling"), Happened(960.0, "jug", "filled"))
    assert len(judged(story=story).outcomes) == 1  # the second never becomes ready
    assert (
        judged(story=story, calls=(600.0, 895.0)).false == 2
    )  # before 950 s twice the first; after 890 s early


def test_the_middle_error_is_the_larger_of_two_middle_ones():
    assert middle([-0.3, 0.1, 0.2, -0.4]) == 0.3
    assert middle([]) is None
    assert worst([-0.3, 0.1]) == 0.3
