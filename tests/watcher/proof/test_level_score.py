"""The levels' figures, worked out by hand for a handful of lines."""

from __future__ import annotations

import math

import pytest

from watcher.proof.level_score import LevelFigures, level_figures
from watcher.proof.measured_lines import MeasuredLine, by_moment
from watcher.proof.truth_tables import Happened, TrueRow, Truth

FULL = (Happened(50.0, "jug", "filling"), Happened(100.0, "jug", "filled"))


def casting(time_s: float, level_mm: float, *, visible: bool = True, share: float | None = 1.0) -> TrueRow:
    return TrueRow(time_s, "jug", "casting", level_mm, 1.0, visible, share, True)


def line(time_s: float, level_mm: float | None, sigma_mm: float | None = 0.2) -> MeasuredLine:
    return MeasuredLine(time_s, "jug", level_mm is not None, level_mm, sigma_mm)


def judged(rows: list[TrueRow], lines: list[MeasuredLine], events=FULL) -> LevelFigures:
    return level_figures(Truth(tuple(rows), events, (), True), by_moment(lines))


def test_errors_are_taken_by_their_root_mean_square_and_far_ones_counted_apart():
    rows = [casting(t, 5.0) for t in (100.0, 110.0, 120.0, 130.0)]
    found = judged(rows, [line(100.0, 5.3), line(110.0, 4.6), line(120.0, 7.5), line(130.0, None)])
    assert found.rms_mm == pytest.approx(0.3535534)  # sqrt((0.09 + 0.16) / 2)
    assert found.bias_mm == pytest.approx(-0.05)  # (0.3 - 0.4) / 2
    assert found.gross_share == pytest.approx(1 / 3)
    assert found.read_share == pytest.approx(3 / 4)


def test_a_line_that_is_not_there_counts_as_not_read():
    found = judged([casting(100.0, 5.0), casting(110.0, 5.0)], [line(100.0, 5.0)])
    assert (found.eligible, found.read_share) == (2, 0.5)


def test_the_drop_is_reckoned_from_the_middle_of_the_first_three_readings_of_each_filling():
    rows = [casting(100.0 + t, 5.0) for t in range(0, 120, 10)]
    errors = [0.1, 0.5, 0.3, 0.3, 0.4, 0.2]  # middle of the first three: 0.3; then 0, 0.1, -0.1
    again = [-0.2, -0.2, -0.2, 0.0, -0.2, -0.4]  # after the top-up: -0.2; then 0.2, 0, -0.2
    lines = [line(row.time_s, 5.0 + e) for row, e in zip(rows, errors + again, strict=True)]
    events = (*FULL, Happened(160.0, "jug", "topped_up"))
    expected = math.sqrt((0.0 + 0.01 + 0.01 + 0.04 + 0.0 + 0.04) / 6)
    assert judged(rows, lines, events).drop_rms_mm == pytest.approx(expected)


def test_a_filling_with_few_readings_has_no_drop():
    rows = [casting(100.0 + t, 5.0) for t in range(0, 50, 10)]
    assert judged(rows, [line(row.time_s, 5.1) for row in rows]).drop_rms_mm is None


def test_a_sliver_in_view_need_not_be_read_and_out_of_sight_must_not_be():
    rows = [casting(100.0, 5.0, share=0.1), casting(110.0, 6.0, visible=False, share=0.0)]
    found = judged(rows, [line(100.0, 5.0), line(110.0, 6.0)])
    assert (found.eligible, found.hidden, found.false_seen) == (0, 1, 1)


def test_a_level_in_an_empty_or_tipped_mould_is_made_up():
    rows = [
        TrueRow(t, "jug", phase, None, 0.0, False, 0.0, True)
        for t, phase in ((1.0, "empty"), (2.0, "tipped"))
    ]
    assert judged(rows, [line(1.0, 3.0), line(2.0, None)]).false_seen == 1


def test_a_range_of_1_28_sigma_holds_an_error_up_to_it_and_no_sigma_holds_nothing():
    rows = [casting(t, 5.0) for t in (100.0, 110.0, 120.0)]
    lines = [line(100.0, 5.25, 0.2), line(110.0, 5.26, 0.2), line(120.0, 5.0, None)]  # 1.2816 x 0.2 = 0.25632
    assert judged(rows, lines).range_held == pytest.approx(1 / 3)
