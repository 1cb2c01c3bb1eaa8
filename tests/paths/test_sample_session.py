"""The sample session, measured as `tipbell measure` does it and held against its truth."""

from __future__ import annotations

from pathlib import Path

import pytest
from scoring import Bar, bars, known_misses, table, true_casts

from watcher.camera.recording import read_recording
from watcher.commands.measure import measure

SESSION = Path(__file__).resolve().parents[2] / "sample_frames" / "morning_bench"


@pytest.fixture(scope="module")
def out(tmp_path_factory) -> Path:
    """What was measured in it."""
    folder = tmp_path_factory.mktemp("sample")
    measure(SESSION, folder, timings=False, pictures=None)
    return folder


@pytest.fixture(scope="module")
def found(out) -> dict[str, Bar]:
    """Every figure with its bar."""
    return {bar.name: bar for bar in bars(SESSION, out)}


def test_it_is_the_session_that_its_description_promises():
    recording = read_recording(SESSION)
    assert recording.remarks == ()
    assert len(recording.layout.moulds) in (5, 6)
    assert recording.times_s[-1] - recording.times_s[0] >= 35 * 60
    events = [row["event"] for row in table(SESSION / "events.csv")]
    assert events.count("tipped") >= 2
    assert "topped_up" in events
    size = sum(path.stat().st_size for path in SESSION.rglob("*") if path.is_file())
    assert size < 15_000_000
    assert len(true_casts(SESSION)) >= 3


@pytest.mark.slow
def test_every_bar_is_kept_but_those_that_are_known_to_be_missed(found):
    missed = {name for name, bar in found.items() if not bar.kept}
    assert missed - known_misses() == set()


@pytest.mark.slow
def test_no_call_is_false_and_no_level_is_made_up(found):
    assert found["ready that was not so"].found == 0
    assert found["seen where nothing can be seen"].found == 0


@pytest.mark.slow
def test_every_tip_that_is_told_was_one(out):
    truly = [row["mould"] for row in table(SESSION / "events.csv") if row["event"] == "tipped"]
    told = [row["mould"] for row in table(out / "events.csv") if row["event"] == "tipped"]
    assert sorted(told) == sorted(truly)
