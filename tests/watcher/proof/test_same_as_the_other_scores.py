"""The figures of a whole recording, worked out a second time by programs that share nothing with this one."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from pathlib import Path

import pytest
from scoring import bars

from watcher.commands.measure import measure
from watcher.proof.bars import Scored, judged
from watcher.proof.cast_score import CastFigures, cast_figures, middle, worst
from watcher.proof.level_score import LevelFigures, level_figures
from watcher.proof.measured_lines import by_moment, line_of
from watcher.proof.truth_tables import happened, read_truth

SESSION = Path(__file__).resolve().parents[3] / "sample_frames" / "morning_bench"
OTHER = SESSION.parents[2] / "shared" / "score.py"


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("measured")
    measure(SESSION, folder, timings=False, pictures=None)
    return folder


@pytest.fixture(scope="module")
def ours(out: Path) -> tuple[LevelFigures, CastFigures]:
    truth = read_truth(SESSION)
    with (out / "readings.csv").open(newline="", encoding="utf-8") as file:
        lines = by_moment(line_of(row) for row in csv.DictReader(file))
    return level_figures(truth, lines), cast_figures(truth, lines, happened(out / "events.csv"))


@pytest.mark.slow
def test_the_bars_are_those_of_the_tests_own_scorer(
    out: Path, ours: tuple[LevelFigures, CastFigures]
) -> None:
    theirs = {bar.name: bar.found for bar in bars(SESSION, out)}
    levels, casts = ours
    assert levels.rms_mm == pytest.approx(theirs["level, RMS error [mm]"])
    assert levels.gross_share == pytest.approx(theirs["gross errors among those read"])
    assert levels.read_share == pytest.approx(theirs["read of those that can be seen"])
    assert levels.false_seen == theirs["seen where nothing can be seen"]
    assert casts.missed == theirs["ready missed"] and casts.false == theirs["ready that was not so"]
    assert worst(casts.wall_errors_mm()) == pytest.approx(
        theirs["wall at the ready moment, worst error [mm]"]
    )
    assert worst(casts.half_errors()) == pytest.approx(theirs["foretold at half time, worst error"])


@pytest.mark.slow
def test_a_second_program_comes_to_the_same_figures(
    out: Path, ours: tuple[LevelFigures, CastFigures]
) -> None:
    if not OTHER.exists():
        pytest.skip("no second scoring program lies beside this checkout")
    said = subprocess.run(
        [sys.executable, str(OTHER), str(SESSION), str(out)], capture_output=True, check=True
    )
    theirs = json.loads(said.stdout)
    levels, casts = ours
    walls = [vote.held for outcome in casts.outcomes for vote in outcome.wall_votes]
    moments = [vote.held for outcome in casts.outcomes for vote in outcome.ready_votes]
    found = {
        "eligible": levels.eligible,
        "hidden": levels.hidden,
        "false_seen": levels.false_seen,
        "read": levels.read_share,
        "rms_mm": levels.rms_mm,
        "bias_mm": levels.bias_mm,
        "drop_rms_mm": levels.drop_rms_mm,
        "gross": levels.gross_share,
        "sigma80": levels.range_held,
        "casts": len(casts.outcomes),
        "ready_missed": casts.missed,
        "ready_false": casts.false,
        "ready_off_bar": casts.off_the_mark,
        "ready_med": middle(casts.call_errors()),
        "ready_worst": worst(casts.call_errors()),
        "half_med": middle(casts.half_errors()),
        "half_worst": worst(casts.half_errors()),
        "wall_med": middle(casts.wall_errors_mm()),
        "wall_worst": worst(casts.wall_errors_mm()),
        "wall_votes": [sum(walls), len(walls)],
        "ready_votes": [sum(moments), len(moments)],
    }
    for name, value in found.items():
        assert theirs[name] == pytest.approx(value, abs=6e-5), name  # it prints four figures after the point


def test_what_is_missed_is_said_to_be_missed(ours: tuple[LevelFigures, CastFigures]) -> None:
    levels, casts = ours
    stands = {entry.bar.name: entry.verdict for entry in judged([Scored("morning", levels, casts)])}
    assert levels.rms_mm is not None and casts.outcomes
    assert stands["level_rms_mm"] == (
        "reached" if levels.rms_mm <= 0.25 else "kept" if levels.rms_mm <= 0.5 else "missed"
    )
    assert stands["ready_missed"] == ("reached" if casts.missed == 0 else "missed")
