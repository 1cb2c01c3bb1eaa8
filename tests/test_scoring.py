"""The scorer itself: figures worked out by hand for a measurement of six lines."""

from __future__ import annotations

from pathlib import Path

import pytest
from scoring import bars

TRUTH_HEAD = "time_s,mould,phase,level_mm,wall_mm,visible,visible_fraction"
HEAD = "time_s,mould,phase,seen,level_mm,level_sigma_mm,wall_mm,ready_s"
TIMES = (100, 200, 300, 400, 500, 600, 700)
LEVELS = (2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0)


def judged(folder: Path, *, errors, ready: tuple[int, ...] = (600,), blank: bool = False):
    """Write a truth and a measurement of it; filled at 100 s, ready at 600 s."""
    truth = [f"{t},jug,casting,{z},{t / 250},1,1.0" for t, z in zip(TIMES, LEVELS, strict=True)]
    foretold = "" if blank else "630"
    lines = [
        f"{t},jug,casting,{int(e is not None)},{'' if e is None else z + e},0.1,{t / 250 + 0.1},{foretold}"
        for t, z, e in zip(TIMES, LEVELS, errors, strict=True)
    ]
    (folder / "out").mkdir()
    (folder / "frames.csv").touch()
    (folder / "truth.csv").write_text("\n".join([TRUTH_HEAD, *truth, "50,jug,empty,,0,0,"]))
    (folder / "events.csv").write_text("time_s,mould,event\n60,jug,filling\n100,jug,filled\n600,jug,ready\n")
    (folder / "out" / "readings.csv").write_text("\n".join([HEAD, *lines, "50,jug,empty,0,,,,"]))
    said = "".join(f"{at},jug,ready\n" for at in ready)
    (folder / "out" / "events.csv").write_text("time_s,mould,event\n" + said)
    return {bar.name: bar for bar in bars(folder, folder / "out")}


def test_a_constant_error_is_in_the_level_but_not_in_the_drop(tmp_path):
    found = judged(tmp_path, errors=[0.3] * 7)
    assert found["level, RMS error [mm]"].found == pytest.approx(0.3)
    assert found["drop since full, RMS error [mm]"].found == pytest.approx(0.0)
    assert found["read of those that can be seen"].found == 1.0
    assert all(bar.kept for bar in found.values())


def test_a_level_far_off_is_gross_and_a_missing_one_is_unread(tmp_path):
    found = judged(tmp_path, errors=[0.0, 0.0, 0.0, 2.5, None, 0.0, 0.0])
    assert found["gross errors among those read"].found == pytest.approx(1 / 6)
    assert found["read of those that can be seen"].found == pytest.approx(6 / 7)
    assert not found["gross errors among those read"].kept


def test_wall_and_forecast_are_taken_at_the_true_moments(tmp_path):
    found = judged(tmp_path, errors=[0.0] * 7)
    assert found["wall at the ready moment, worst error [mm]"].found == pytest.approx(0.1)
    # half time is 350 s; the line after it says 630 s: 30 s of a cast of 500 s
    assert found["foretold at half time, worst error"].found == pytest.approx(0.06)


def test_a_call_is_judged_by_the_share_of_the_cast(tmp_path):
    found = judged(tmp_path, errors=[0.0] * 7, ready=(650,))
    assert found["ready off by, share of the cast, worst"].found == pytest.approx(0.1)


def test_no_call_is_a_miss_and_a_second_one_is_false(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    assert judged(tmp_path / "a", errors=[0.0] * 7, ready=())["ready missed"].found == 1
    assert judged(tmp_path / "b", errors=[0.0] * 7, ready=(600, 640))["ready that was not so"].found == 1


def test_a_blank_forecast_is_a_miss(tmp_path):
    assert not judged(tmp_path, errors=[0.0] * 7, blank=True)["foretold at half time, worst error"].kept
