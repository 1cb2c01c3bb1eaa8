"""`tipbell prove` on a small drawn recording, and the truth that nothing else may open."""

from __future__ import annotations

import csv
import json
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from watcher.__main__ import app
from watcher.camera.recording import read_recording
from watcher.commands import prove_service, prove_speed
from watcher.commands.measure import measure
from watcher.commands.prove_drawn import long_day, smaller, write_drawn
from watcher.commands.prove_measuring import measured
from watcher.commands.prove_recording import judge_recording
from watcher.commands.refused import Refused
from watcher.proof.measured_lines import by_moment, line_of
from watcher.proof.results import ServiceProof
from watcher.proof.true_view import TrueView
from watcher.proof.truth_tables import happened, read_truth
from watcher.setup.bench_file import read_bench
from watcher.simulator.samples import crowded_bench, sample_bench

SESSION = Path(__file__).resolve().parents[3] / "sample_frames" / "morning_bench"
opened: list[str] = []
watching = False


def _note(event: str, given: tuple[object, ...]) -> None:
    if watching and event == "open" and isinstance(given[0], str | bytes):
        opened.append(str(given[0]))


sys.addaudithook(_note)


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drawn bench of two moulds, small and short."""
    folder = tmp_path_factory.mktemp("drawn") / "two pots"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("watcher.commands.prove_drawn.DRAWN_MOULDS", 2)
        patch.setattr("watcher.commands.prove_drawn.DRAWN_FRAMES", 36)
        write_drawn(folder)
    return folder


def run(*words: str) -> tuple[int, str]:
    done = CliRunner().invoke(app, ["prove", *words])
    return done.exit_code, done.output


@pytest.mark.slow
def test_it_judges_a_recording_and_leaves_a_whole_report(drawn: Path, tmp_path: Path) -> None:
    words = [
        "--no-sample",
        "--no-drawn",
        "--no-speed",
        "--casts",
        "1",
        "--soak",
        "0",
        "--recordings",
        str(drawn),
    ]
    status, said = run("--out", str(tmp_path), *words)
    assert status == 0, said
    summary = json.loads((tmp_path / "summary.json").read_text(encoding="utf-8"))
    assert [one["name"] for one in summary["recordings"]] == ["two pots"]
    assert len(summary["bars"]) == 16 and len(summary["drawn_casts"]) == 12 and summary["speed"] is None
    report = (tmp_path / "report.md").read_text(encoding="utf-8")
    for bar in summary["bars"]:
        assert f"| {bar['what']} |" in report and bar["stands"] in ("reached", "kept", "missed", "not judged")
        assert bar["what"] in said
    for figure in (
        "calibration.svg",
        "levels_two_pots.svg",
        "forecasts_two_pots.svg",
        "worst_two_pots_1.jpg",
    ):
        assert (tmp_path / "figures" / figure).stat().st_size > 500
        assert f"figures/{figure}" in report
    html = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert html.count("<svg") == 3 and "data:image/jpeg" in html


@pytest.mark.slow
def test_it_judges_the_very_lines_that_measure_writes(drawn: Path, tmp_path: Path) -> None:
    measure(drawn, tmp_path, timings=False, pictures=None)
    with (tmp_path / "readings.csv").open(newline="", encoding="utf-8") as file:
        written = by_moment(line_of(row) for row in csv.DictReader(file))
    found = measured(read_recording(drawn))
    assert found.lines == written
    assert sorted((e.time_s, e.mould, e.event) for e in found.said) == sorted(
        (e.time_s, e.mould, e.event) for e in happened(tmp_path / "events.csv")
    )


def test_measuring_never_opens_the_truth(drawn: Path, tmp_path: Path) -> None:
    global watching
    opened.clear()
    watching = True
    try:
        measure(drawn, tmp_path, timings=False, pictures=None)
    finally:
        watching = False
    of_recording = [name for name in opened if str(drawn) in name]
    assert any(name.endswith("recording.toml") for name in of_recording)
    assert not [name for name in of_recording if "truth" in name or name.endswith("events.csv")]


def test_the_drawn_moulds_stand_where_the_truth_puts_them(drawn: Path) -> None:
    """The rim's true circle, through the camera found from the sheet, encloses the dark of an empty hole."""
    recording, truth = read_recording(drawn), read_truth(drawn)
    view = TrueView(recording.layout, read_bench(drawn / "recording.toml"), truth)
    frame = recording.decoded(recording.pictures[0], recording.encoded(recording.pictures[0]))
    camera = view.camera(frame.image, 5.0)
    assert camera is not None
    # the drawn camera stands here (watcher.simulator.samples)
    assert camera.eye_mm() == pytest.approx((15.0, -480.0, 640.0), abs=4.0)
    for mould in recording.layout.moulds:
        hole = view.hole(camera, mould.name, 5.0)
        assert hole is not None
        middle, ring = hole.ring_px(0.0).mean(axis=0), hole.ring_px(0.0)
        outside = middle + 1.15 * (ring - middle)
        tones = (
            [float(frame.image[int(y), int(x)].mean()) for x, y in (middle + 0.5 * (ring - middle))],
            [float(frame.image[int(y), int(x)].mean()) for x, y in outside],
        )
        assert sum(tones[0]) / len(tones[0]) < sum(tones[1]) / len(tones[1]) - 5.0


def test_what_cannot_be_judged_is_refused_in_a_sentence(drawn: Path, tmp_path: Path) -> None:
    bare = tmp_path / "bare"
    bare.mkdir()
    for name in ("recording.toml", "frames.csv"):
        (bare / name).write_bytes((drawn / name).read_bytes())
    (bare / "frames").symlink_to(drawn / "frames")
    with pytest.raises(Refused, match=r"holds no truth\.csv"):
        judge_recording(bare)
    status, said = run("--out", str(tmp_path / "out"), "--recordings", str(tmp_path / "nowhere"))
    assert status == 2 and "is no recording and holds none" in said
    status, said = run("--out", str(tmp_path / "out"), "--no-sample")
    assert status == 2 and "nothing to judge" in said
    assert not (tmp_path / "out").exists()


def test_benches_to_time_are_drawn_as_asked() -> None:
    lens = smaller(crowded_bench(), 1280, 720).view.lens
    assert (lens.width_px, lens.height_px) == (1280, 720)
    # the middle of the picture stays in the middle: (1920 - 1) / 2 to (1280 - 1) / 2
    assert (lens.cx_px, lens.cy_px) == pytest.approx((639.5, 359.5))
    assert lens.fx_px == pytest.approx(1720.0 * 2 / 3)
    day = long_day(4 * 3600.0)
    for mould in day.moulds:
        for earlier, later in zip(mould.casts, mould.casts[1:], strict=False):
            assert earlier.clean_s is not None and earlier.clean_s < later.fill_from_s
        assert mould.casts[-1].fill_from_s < 4 * 3600.0 and len(mould.casts) >= 7


def test_a_bench_is_timed_and_its_holes_are_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(prove_speed, "AT_REST", 4)
    monkeypatch.setattr(prove_speed, "benches_to_time", lambda: (sample_bench(1, gap_s=10.0),))
    (row,) = prove_speed.time_benches()
    assert (row.width_px, row.moulds, row.found, row.look.count) == (1280, 1, 1, 4)
    assert row.decode.median_ms > 0.1 and row.look.median_ms > 0.1
    means, medians = row.look.over(row.decode)
    assert means == pytest.approx(row.look.mean_ms / row.decode.mean_ms)
    assert medians == pytest.approx(row.look.median_ms / row.decode.median_ms)


def test_a_long_run_counts_its_casts_and_its_memory() -> None:
    found = prove_speed.time_long_run(30)
    assert (found.frames, found.moulds) == (30, 6) and found.casts >= 1  # the first is full after 80 s
    assert len(found.frame_ms) == 30 and found.seconds > 0.0
    own = prove_speed.resident_mb("self")
    if own is not None:
        assert found.memory_mb[-1][1] == pytest.approx(own, rel=0.3)
    assert prove_speed.resident_mb("no such process") is None


@pytest.mark.slow
def test_the_service_is_started_measured_and_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(prove_service, "AT_WORK_S", 1.0)
    found = prove_service.start_once(SESSION)
    assert isinstance(found, ServiceProof), found
    assert 0.2 < found.answers_after_s < 60.0 and 40.0 < found.memory_mb < 1500.0


@pytest.mark.slow
def test_a_recording_of_given_levels_is_judged_by_its_casts_alone(drawn: Path, tmp_path: Path) -> None:
    given = tmp_path / "by hand"
    given.mkdir()
    for name in ("recording.toml", "truth.csv", "events.csv"):
        (given / name).write_bytes((drawn / name).read_bytes())
    rows = [row for row in read_truth(drawn).rows if row.phase == "casting"]
    lines = [f"{row.time_s},{row.mould},{row.level_mm}" for row in rows]
    (given / "levels.csv").write_text("\n".join(["time_s,mould,level_mm", *lines]) + "\n", encoding="utf-8")
    found = judge_recording(given)
    assert found.scored.levels is None and found.blob is None and found.look is None and not found.worst
    assert len(found.scored.casts.outcomes) == 1 and found.costs  # the other is not ready in time
    words = [
        "--no-sample",
        "--no-drawn",
        "--no-speed",
        "--casts",
        "0",
        "--soak",
        "0",
        "--recordings",
        str(given),
        "--json",
    ]
    status, said = run("--out", str(tmp_path / "out"), *words)
    assert status == 0, said
    bars = {bar["name"]: bar for bar in json.loads(said[said.index("{") :])["bars"]}
    assert bars["level_rms_mm"]["stands"] == "not judged" and bars["ready_missed"]["found"] == 0
