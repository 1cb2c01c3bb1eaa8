"""`tipbell cut` and `tipbell walls`: a measured wall against a remembered cast, and the caster's own list."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from models.mould import MouldProfile
from models.profile_files import read_folder
from models.profile_text import profile_from_text
from models.profile_ways import Way
from models.slip import Slip
from watcher.camera.recording_file import read_bench_file
from watcher.commands.cut import CutWords, cut
from watcher.commands.refused import Refused
from watcher.commands.walls import walls
from watcher.records.bench import Bench, Cast, Filling, FillingKind, MouldState, Reading, Stage, Step
from watcher.records.layout import BenchLayout, PlacedMould
from watcher.setup.wall_test import wetted_area
from watcher.simulator.truth import CastingMould, SimCast
from watcher.storage.journal import open_journal
from watcher.storage.papers import PaperKind

BORE = ((0.0, 74.0), (20.0, 68.0), (27.0, 62.0), (60.0, 84.0), (92.0, 66.0))
TIPPED_S = 1440.0
BENCH = """
[camera]
width = 1280
height = 720
fx = 1050.0
fy = 1050.0
cx = 639.5
cy = 359.5
distortion = [0.0, 0.0, 0.0, 0.0, 0.0]
[slip]
specific_gravity = 1.76
cake_solids_fraction = 0.64
[[sheet]]
id = 0
size_mm = 60.0
centre_mm = [0.0, 0.0, 0.0]
[[mould]]
name = "sugar jar"
tag_id = 10
tag_size_mm = 30.0
rim_centre_from_tag_mm = [0.0, 64.0, -0.3]
bore = [[0, 74], [20, 68], [27, 62], [60, 84], [92, 66]]
wetted_area_mm2 = {area}
area_rel_sigma = 0.35
"""


def cast_once(folder: Path) -> float:
    """Keep one tipped cast, grown by the simulator, in the journal; return its true wall."""
    truth = CastingMould(MouldProfile("sugar jar", BORE), (SimCast(0.0, 30.0, 0.8),), 0.64 / (0.76 / 1.6))
    rng, readings = np.random.default_rng(5), []
    for at_s in np.arange(40.0, TIPPED_S, 10.0):
        level = truth.at(float(at_s)).level_mm
        assert level is not None
        readings.append(Reading(float(at_s), level + rng.normal(0.0, 0.05), 0.2, 0.05, 1))
    began = datetime(2026, 3, 5, 9, 0, tzinfo=UTC)
    filling = Filling(FillingKind.POUR, 28.0, 32.0, tuple(readings))
    tipped = Cast(
        "jar-1", "sugar jar", 1, 30.0, began, (filling,), tipped_s=TIPPED_S,
        tipped_at=began + timedelta(seconds=TIPPED_S),
    )  # fmt: skip
    layout = BenchLayout("bench", None, (), (PlacedMould("sugar jar", MouldProfile("sugar jar", BORE)),))
    state = MouldState("sugar jar", Stage.TIPPED, tipped)
    bench = Bench(
        "bench", layout, Slip(1.76, 0.64), now_s=TIPPED_S, now_at=began, moulds={"sugar jar": state}
    )
    (folder / "tipbell-memory").mkdir()
    journal = open_journal(f"sqlite:///{folder}/tipbell-memory/journal.db", "bench")
    journal.add(Step(bench), durable=True)
    journal.close()
    return truth.at(TIPPED_S).wall_mm


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    settings = tmp_path / "tipbell.toml"
    settings.write_text('[camera]\naddress = "0"\n', encoding="utf-8")
    true_mm2 = wetted_area(MouldProfile("sugar jar", BORE))
    (tmp_path / "bench.toml").write_text(BENCH.format(area=0.75 * true_mm2), encoding="utf-8")
    return settings


def test_a_cut_test_mends_the_bench_file_and_keeps_every_version(bench, capsys):
    wall = cast_once(bench.parent)
    cut(bench, CutWords("sugar jar", round(wall, 2), "mean"))
    said = capsys.readouterr().out
    assert "before: walls to about" in said and "after: walls to about" in said
    after = read_bench_file(bench.parent / "bench.toml").layout.mould("sugar jar").profile
    assert after.wetted_area_mm2 == pytest.approx(wetted_area(MouldProfile("sugar jar", BORE)), rel=0.08)
    (profile,) = read_folder(bench.parent / "setup" / "moulds")
    assert profile.way is Way.CUT_TEST and profile.card.tag_id == 10
    assert (bench.parent / "bench.toml.before").exists()
    cut(bench, CutWords("sugar jar", round(wall, 2), "mean"))
    journal = open_journal(f"sqlite:///{bench.parent}/tipbell-memory/journal.db", "bench")
    kept = journal.versions(PaperKind.PROFILE, "sugar jar")
    journal.close()
    assert [one.version for one in kept] == [2, 1]
    assert profile_from_text(kept[1].text, source="first").way is Way.CUT_TEST


def test_a_wall_that_does_not_fit_is_questioned_and_changes_nothing(bench):
    wall = cast_once(bench.parent)
    before = (bench.parent / "bench.toml").read_text(encoding="utf-8")
    with pytest.raises(Refused, match=r"does not fit.*--sure"):
        cut(bench, CutWords("sugar jar", 4.0 * wall, "belly"))
    assert (bench.parent / "bench.toml").read_text(encoding="utf-8") == before
    cut(bench, CutWords("sugar jar", 4.0 * wall, "belly", sure=True))
    assert (bench.parent / "bench.toml").read_text(encoding="utf-8") != before


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (CutWords("teapot", 3.0), "no mould 'teapot'"),
        (CutWords("sugar jar", 3.0, place="lid"), "--place is 'lid'"),
        (CutWords("sugar jar", 3.0, basis="soft"), "--state is 'soft'"),
        (CutWords("sugar jar", 3.0, back=7), "1 tipped casts"),
        (CutWords("sugar jar", -1.0), "wall is -1"),
    ],
)
def test_what_cannot_be_is_one_sentence(bench, words, says):
    cast_once(bench.parent)
    with pytest.raises(Refused, match=says):
        cut(bench, words)


def test_the_list_of_walls_is_shown_and_changed(bench, capsys):
    walls(bench)
    assert "trade" in capsys.readouterr().out
    walls(bench, put=("my cups:2.2:2.6",), out=("bakeware",))
    said = capsys.readouterr().out
    assert "my cups" in said and "bakeware" not in said
    with pytest.raises(Refused, match="use:thin:thick"):
        walls(bench, put=("cups",))
    with pytest.raises(Refused, match="not in the list"):
        walls(bench, out=("bakeware",))
