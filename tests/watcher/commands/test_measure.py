"""`tipbell measure`: what it writes, what it says, how it ends."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from pathlib import Path

import pytest
from made_recordings import HEAD, JUG, jpeg, write_levels, write_pictures
from sinking import sinking_level, wall_mm
from typer.testing import CliRunner

from watcher.__main__ import app

COLUMNS = (
    "time_s,mould,phase,seen,level_mm,level_sigma_mm,wall_mm,wall_low_mm,wall_high_mm,"
    "ready_s,ready_low_s,ready_high_s,why"
)
# SG 1.78 and a cake of 0.635 solids, with grains of 2.6: phi_s = 0.78/1.6 = 0.4875, f = 0.635/0.4875 - 1
WATER_PER_CAKE = 0.635 / 0.4875 - 1
K = 1.2
POT = (
    HEAD
    + """
[[mould]]
name = "planter"
bore = [[0.0, 80.0], [110.0, 80.0]]
target_wall_mm = 3.0
"""
)
FILLED_S = 100
POURED_S = 25  # a pour of some 50 s: when it was full, the slip had stood there for half of that
READY_S = FILLED_S - POURED_S + 60 * 3.0**2 / K  # L2 = K t


def run(*asked: object):
    """Call the command as somebody at a prompt would."""
    return CliRunner().invoke(app, [str(one) for one in asked])


def rows(path: Path) -> list[dict[str, str]]:
    """Read a table that was written."""
    with path.open(newline="") as table:
        return list(csv.DictReader(table))


def level_rows(every_s: int, until_s: int) -> str:
    """Levels of a planter, read to a tenth of a millimetre."""
    levels = sinking_level(
        radius_mm=40,
        depth_mm=110,
        k_mm2_per_min=K,
        water_per_cake=WATER_PER_CAKE,
        full_mm=3.0,
        seconds=until_s,
    )
    times = range(0, until_s - FILLED_S, every_s)
    return "".join(f"{FILLED_S + at},planter,{levels[at]:.1f}\n" for at in times)


@pytest.fixture(scope="module")
def measured(tmp_path_factory) -> Path:
    """A planter whose levels were read every 20 s, measured."""
    folder = tmp_path_factory.mktemp("measured")
    done = run("measure", write_levels(folder / "r", level_rows(20, 900), toml=POT), "--out", folder / "out")
    assert (done.exit_code, done.stderr) == (0, "")
    return folder / "out"


def test_the_tables_have_exactly_the_promised_columns(measured):
    assert (measured / "readings.csv").read_text().splitlines()[0] == COLUMNS
    assert (measured / "events.csv").read_text().splitlines()[0] == "time_s,mould,event"


def test_every_given_level_has_its_line_and_every_blank_says_why(measured):
    lines = rows(measured / "readings.csv")
    assert len(lines) == 40
    for line in lines:
        assert line["phase"] in ("absent", "empty", "filling", "casting", "tipped")
        assert line["seen"] == "1" and float(line["level_sigma_mm"]) > 0
        blank = [name for name, value in line.items() if name != "why" and value == ""]
        assert not blank or line["why"], line


def test_wall_and_ready_time_come_out_of_given_levels(measured):
    lines = {float(line["time_s"]): line for line in rows(measured / "readings.csv")}
    last = lines[FILLED_S + 440]
    assert float(last["wall_mm"]) == pytest.approx(wall_mm(K, 440 + POURED_S), abs=0.12)
    assert float(last["wall_low_mm"]) < float(last["wall_mm"]) < float(last["wall_high_mm"])
    at_half = lines[FILLED_S + 240]
    assert float(at_half["ready_s"]) == pytest.approx(READY_S, abs=0.25 * (READY_S - FILLED_S))


def test_it_calls_once_and_near_the_true_moment(measured):
    events = rows(measured / "events.csv")
    calls = [float(event["time_s"]) for event in events if event["event"] == "ready"]
    assert len(calls) == 1
    assert calls[0] == pytest.approx(READY_S, abs=60)


def test_a_call_does_not_wait_for_the_next_level(tmp_path):
    folder = write_levels(tmp_path / "r", level_rows(90, 1100), toml=POT)
    assert run("measure", folder, "--out", tmp_path / "out").exit_code == 0
    at_s = next(
        float(event["time_s"]) for event in rows(tmp_path / "out" / "events.csv") if event["event"] == "ready"
    )
    assert at_s == round(at_s)
    assert (at_s - FILLED_S) % 90 != 0


def test_the_first_half_alone_gives_the_same_lines(tmp_path, measured):
    lines = level_rows(20, 900).splitlines(keepends=True)
    folder = write_levels(tmp_path / "r", "".join(lines[:20]), toml=POT)
    assert run("measure", folder, "--out", tmp_path / "out").exit_code == 0
    half = (tmp_path / "out" / "readings.csv").read_text().splitlines()
    assert half == (measured / "readings.csv").read_text().splitlines()[: len(half)]
    assert len(half) == 21
    end_s = float(half[-1].split(",")[0])
    whole = [event for event in rows(measured / "events.csv") if float(event["time_s"]) <= end_s]
    assert rows(tmp_path / "out" / "events.csv") == whole


def test_a_bad_frame_in_the_middle_is_said_and_the_rest_is_measured(tmp_path):
    folder = write_pictures(tmp_path / "r")
    (folder / "frames" / "000001.jpg").write_bytes(jpeg()[:-50])
    done = run("measure", folder, "--out", tmp_path / "out")
    assert done.exit_code == 0
    assert done.stderr.count("\n") == 1
    assert "frames/000001.jpg" in done.stderr and "cut short" in done.stderr
    lines = rows(tmp_path / "out" / "readings.csv")
    assert [line["seen"] for line in lines] == ["0", "0", "0"]
    assert "000001.jpg" in lines[1]["why"]


@pytest.mark.parametrize(
    ("broken", "says"),
    [
        (lambda folder: (folder / "frames" / "000000.jpg").write_bytes(jpeg(80, 48)), "80x48; give 64x48"),
        (
            lambda folder: (folder / "frames.csv").write_text("file,when\n"),
            "frames.csv has no column 'time_s'",
        ),
        (lambda folder: (folder / "recording.toml").unlink(), "recording.toml is not in"),
    ],
)
def test_bad_input_is_one_sentence_and_status_two(tmp_path, broken, says):
    folder = write_pictures(tmp_path / "r")
    broken(folder)
    done = run("measure", folder, "--out", tmp_path / "out")
    assert done.exit_code == 2
    assert done.stdout == ""
    assert says in done.stderr and done.stderr.count("\n") == 1
    assert not list((tmp_path / "out").glob("*.csv*"))


def test_it_refuses_to_write_over_the_recording(tmp_path):
    folder = write_levels(tmp_path / "r", "0,cream jug,2\n", toml=HEAD + JUG)
    (folder / "events.csv").write_text("kept")
    done = run("measure", folder, "--out", folder)
    assert done.exit_code == 2
    assert "belongs to the recording" in done.stderr
    assert (folder / "events.csv").read_text() == "kept"


def test_a_second_cast_after_a_tip_that_nobody_wrote_down_is_called_at_its_own_moment(tmp_path):
    first = level_rows(20, 700)
    lines = [line.split(",") for line in first.splitlines()]
    second = "".join(f"{int(at) + 2400},{mould},{level}\n" for at, mould, level in lines)
    assert (
        run(
            "measure", write_levels(tmp_path / "r", first + second, toml=POT), "--out", tmp_path / "out"
        ).exit_code
        == 0
    )
    events = [(row["event"], float(row["time_s"])) for row in rows(tmp_path / "out" / "events.csv")]
    assert [event for event, _ in events].count("tipped") == 1
    calls = [at for event, at in events if event == "ready"]
    assert calls == [pytest.approx(READY_S, abs=67), pytest.approx(2400 + READY_S, abs=67)]


def test_a_mould_without_a_target_is_measured_but_never_called(tmp_path):
    folder = write_levels(tmp_path / "r", level_rows(20, 900), toml=POT.replace("target_wall_mm = 3.0", ""))
    assert run("measure", folder, "--out", tmp_path / "out").exit_code == 0
    last = rows(tmp_path / "out" / "readings.csv")[-1]
    assert last["wall_mm"] != "" and last["ready_s"] == "" and last["why"] != ""
    assert not [event for event in rows(tmp_path / "out" / "events.csv") if event["event"] == "ready"]


def test_the_times_of_each_step_are_written_on_request(tmp_path):
    done = run("measure", write_pictures(tmp_path / "r"), "--out", tmp_path / "out", "--timings")
    assert done.exit_code == 0
    figures = json.loads((tmp_path / "out" / "timings.json").read_text())
    assert set(figures) == {"decode_ms", "pose_ms", "hole_ms", "look_ms", "frames", "moulds"}
    assert (figures["frames"], figures["moulds"]) == (3, 1)
    assert 0 < figures["decode_ms"]["median"] and figures["look_ms"]["mean"] >= figures["pose_ms"]["mean"]


def test_the_truth_is_not_opened(tmp_path):
    folder = write_pictures(tmp_path / "r")
    for name in ("truth.csv", "truth_pose.csv", "events.csv"):
        (folder / name).write_text("time_s,mould,event\n")
    watch = (
        "import sys; opened = []\n"
        "sys.addaudithook(lambda what, given: opened.append(str(given[0])) if what == 'open' else None)\n"
        "from pathlib import Path; from watcher.commands.measure import measure\n"
        "measure(Path(sys.argv[1]), Path(sys.argv[2]), timings=False, pictures=None)\n"
        "print(*[name for name in opened if name.startswith(sys.argv[1])], sep='\\n')\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", watch, str(folder), str(tmp_path / "out")],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    names = {Path(name).name for name in done.stdout.split()}
    assert "frames.csv" in names and "000001.jpg" in names
    assert not names & {"truth.csv", "truth_pose.csv", "events.csv"}


def test_an_unknown_option_ends_with_status_two():
    assert run("measure", "--sped", "3").exit_code == 2


def test_help_comes_without_loading_the_eyes():
    watch = (
        "import sys, watcher.__main__ as m\ntry: m.app(['--help'])\nexcept SystemExit: pass\n"
        "print(sorted({'cv2', 'scipy', 'fastapi'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", watch], capture_output=True, text=True, check=False)
    assert "measure" in done.stdout and done.stdout.strip().endswith("[]")
