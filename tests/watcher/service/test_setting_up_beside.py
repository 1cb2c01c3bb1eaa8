"""Setting up beside a bench that is watched: what changes reaches it at once, and nothing of it is lost."""

from __future__ import annotations

import time
from contextlib import ExitStack
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from models.mould import MouldProfile
from models.profile_text import profile_from_text
from watcher.camera.recording_file import read_bench_file
from watcher.clock import ToldClock
from watcher.page.setup.port import Unfit
from watcher.page.setup.typed import CutTyped, StartTyped
from watcher.pipeline import new_bench
from watcher.records.bench import Step
from watcher.records.frames import Blind, NoFrame
from watcher.records.readings import Contents, HoleSighting, LevelReading, Missed, Sighting
from watcher.records.said import Said, What
from watcher.service.running import RunningBench
from watcher.service.setting_up_beside import Beside
from watcher.settings import read_settings
from watcher.simulator.truth import CastingMould, SimCast
from watcher.storage.journal import open_journal
from watcher.storage.papers import PaperKind

NAME = "sugar jar"
BORE = ((0.0, 74.0), (20.0, 68.0), (27.0, 62.0), (60.0, 84.0), (92.0, 66.0))
START = datetime(2026, 3, 5, 9, 0, tzinfo=UTC)
SLIP_PER_CAKE = 0.64 / (0.76 / 1.6)
BENCH = f"""
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
name = "{NAME}"
tag_id = 10
tag_size_mm = 30.0
rim_centre_from_tag_mm = [0.0, 64.0, -0.3]
bore = [[0, 74], [20, 68], [27, 62], [60, 84], [92, 66]]
area_rel_sigma = 0.1
"""


class NoCamera:
    """A camera that shows nothing: the levels are told."""

    def newest(self) -> NoFrame:
        return NoFrame("bench", 0.0, START, Blind.UNPLUGGED, "not in this test")

    def close(self) -> None: ...


class Watched:
    """A bench on told time, its journal, and the set-up beside it."""

    def __init__(self, folder: Path, stack: ExitStack) -> None:
        self.folder = folder
        (folder / "bench.toml").write_text(BENCH, encoding="utf-8")
        (folder / "tipbell.toml").write_text('[camera]\naddress = "0"\n', encoding="utf-8")
        described = read_bench_file(folder / "bench.toml")
        (folder / "tipbell-memory").mkdir()
        self.journal = open_journal(f"sqlite:///{folder}/tipbell-memory/journal.db", "bench")
        stack.callback(self.journal.close)
        self.clock = ToldClock(0.0, START)
        self.running = RunningBench(
            new_bench(described.layout, described.slip),
            now=lambda: (self.clock.now_s(), self.clock.now_at()),
            carry_out=self._keep,
        )
        self.asked_again: list[bool] = []
        beside = Beside(folder / "tipbell.toml", lambda: self.asked_again.append(True))
        settings = read_settings(folder / "tipbell.toml")
        self.desks: Any = beside.join(settings, self.running, self.journal, NoCamera(), self.clock, stack)
        self.truth = CastingMould(MouldProfile(NAME, BORE), (SimCast(100.0, 130.0, 0.8),), SLIP_PER_CAKE)
        self.noise = np.random.default_rng(2)

    def _keep(self, step: Step, said: Said | None) -> None:
        self.journal.add(step, said)

    def go_on(self, until_s: float) -> None:
        while self.clock.now_s() + 10.0 <= until_s:
            now_s = self.clock.now_s() + 10.0
            self.clock.tell(now_s, START + timedelta(seconds=now_s))
            inside = self.truth.at(now_s)
            hole = HoleSighting(NAME, Missed.UNCERTAIN, Contents.EMPTY)
            if inside.phase == "casting" and inside.level_mm is not None:
                level = inside.level_mm + float(self.noise.normal(0.0, 0.05))
                hole = HoleSighting(NAME, LevelReading(level, 0.2, 0.05), Contents.SLIP)
            self.running.take(Sighting("bench", now_s, self.clock.now_at(), (hole,)))
            self.running.tick(now_s, self.clock.now_at())

    def say(self, what: What) -> None:
        now_s = self.clock.now_s()
        self.running.hear(Said(what, now_s, self.clock.now_at(), NAME))

    def profile(self) -> MouldProfile:
        self.running.tick(self.clock.now_s(), self.clock.now_at())
        return self.running.bench().layout.mould(NAME).profile

    def until_learned(self) -> float:
        end = time.monotonic() + 20.0
        while self.profile().target_water_ml is None:
            assert time.monotonic() < end, "no target was learned"
            time.sleep(0.05)
        return float(self.profile().target_water_ml or 0.0)


@pytest.fixture
def watched(tmp_path: Path):
    with ExitStack() as stack:
        yield Watched(tmp_path, stack)


def test_a_cast_that_came_out_right_is_the_target_at_once_and_after_a_restart(watched):
    watched.go_on(1400.0)
    cast_before = watched.running.bench().moulds[NAME].cast
    watched.say(What.TIPPED)
    watched.say(What.CAME_OUT_RIGHT)
    water = watched.until_learned()
    assert cast_before is not None
    # the balance of the simulator's own levels: 74 mm hole, about 8 mm sunk, gives some 30 mL
    assert 15.0 < water < 60.0
    assert read_bench_file(watched.folder / "bench.toml").layout.mould(NAME).profile.target_water_ml == water
    versions = watched.journal.versions(PaperKind.PROFILE, NAME)
    assert [one.version for one in versions] == [2, 1]
    assert "right" in versions[0].why
    assert profile_from_text(versions[1].text, source="first").mould.target_water_ml is None


def test_a_cast_under_way_goes_on_when_its_mould_gets_another_wall(watched):
    watched.go_on(600.0)
    before = watched.running.bench().moulds[NAME].cast
    told = watched.desks.profiles.want(NAME, 2.5, 2.75)
    assert "2.5 to 2.75 mm" in told.said[0]
    assert watched.profile().target_wall_mm == (2.5, 2.75)
    watched.go_on(620.0)
    after = watched.running.bench().moulds[NAME].cast
    assert after.cast_id == before.cast_id and len(after.fillings[0].readings) > len(
        before.fillings[0].readings
    )
    assert after.estimate.ready_s is not None  # it had no target before
    watched.desks.profiles.want(NAME, None, None)
    assert watched.profile().target_wall_mm is None


def test_a_nick_during_the_cast_and_a_cut_after_it_sharpen_the_profile(watched):
    watched.go_on(900.0)
    wall = watched.truth.at(900.0).wall_mm
    (cast,) = watched.desks.profiles.casts(NAME)
    assert not cast.tipped
    told = watched.desks.profiles.cut(CutTyped(mould=NAME, wall_mm=round(wall, 2), place="mean"))
    assert told.said[0].startswith("before: walls to about") and told.said[1].startswith("after")
    assert watched.profile().area_rel_sigma < 0.1
    watched.go_on(1400.0)
    watched.say(What.TIPPED)
    watched.go_on(1420.0)
    time.sleep(1.0)  # the writer gathers for a moment
    wall = watched.truth.at(1420.0).wall_mm
    odd = watched.desks.profiles.cut(CutTyped(mould=NAME, wall_mm=3.0 * wall, place="mean", basis="dry"))
    assert "does not fit" in odd.question and not odd.said
    (tipped,) = watched.desks.profiles.casts(NAME)
    assert tipped.tipped
    told = watched.desks.profiles.cut(
        CutTyped(mould=NAME, cast_id=tipped.cast_id, wall_mm=round(0.94 * wall, 2), place="mean", basis="dry")
    )
    assert told.said


def test_a_dipped_ruler_is_held_against_the_eye_and_kept(watched):
    with pytest.raises(Unfit, match="no level is read"):
        watched.desks.profiles.ruler(NAME, 5.0)
    watched.go_on(600.0)
    level = watched.truth.at(600.0).level_mm
    watched_said: list[Said] = []
    watched.running.listen(lambda step, said: watched_said.append(said))
    assert "they agree" in watched.desks.profiles.ruler(NAME, round(level, 1)).said[0]
    off = watched.desks.profiles.ruler(NAME, round(level + 6.0, 1)).said[0]
    assert "6.0 mm too shallow" in off or "5.9 mm too shallow" in off or "6.1 mm too shallow" in off
    watched.profile()
    assert [said.what for said in watched_said] == [What.RULER, What.RULER]
    with pytest.raises(Unfit, match="no mould 'teapot'"):
        watched.desks.profiles.ruler("teapot", 5.0)


def test_somebody_elses_profile_becomes_a_new_version_and_the_old_one_stays(watched):
    card = watched.running.bench().layout.mould(NAME).card
    text = (
        f'name = "{NAME}"\nbore = [[0, 70], [92, 66]]\nwetted_area_mm2 = 24000\ntag_id = 99\nsolid = true\n'
    )
    watched.desks.profiles.bring(text)
    assert watched.profile().wetted_area_mm2 == 24000.0 and watched.profile().solid
    assert watched.running.bench().layout.mould(NAME).card == card
    assert read_bench_file(watched.folder / "bench.toml").layout.mould(NAME).profile.solid
    versions = watched.journal.versions(PaperKind.PROFILE, NAME)
    assert [one.version for one in versions] == [2, 1]
    assert watched.desks.profiles.text(NAME) == versions[0].text


def test_changes_are_not_used_while_the_benchs_file_holds_what_writing_it_anew_would_lose(watched):
    path = watched.folder / "bench.toml"
    own = BENCH.replace("[slip]", '[shelf]\nnote = "mine"\n[slip]')
    path.write_text(own, encoding="utf-8")
    with pytest.raises(Unfit, match=r"bench\.toml holds what is not known here .*shelf.*remove it first"):
        watched.desks.start.start(StartTyped(gravity=1.8))
    assert path.read_text(encoding="utf-8") == own
    assert watched.running.bench().slip.specific_gravity == 1.76
    path.write_text(BENCH, encoding="utf-8")
    assert "watched from now on" in watched.desks.start.start(StartTyped(gravity=1.8)).said[-1]
    watched.profile()
    assert watched.running.bench().slip.specific_gravity == 1.8


def test_the_watched_camera_is_not_chosen_on_the_page_and_a_new_channel_asks_for_a_fresh_start(watched):
    with pytest.raises(Unfit, match="change address under"):
        watched.desks.camera.choose("0", 1280, 720)
    watched.desks.calls.add("kiln room", "json://127.0.0.1:9/")
    assert watched.asked_again == [True] and watched.running.stopping()
    assert read_settings(watched.folder / "tipbell.toml").channel[0].name == "kiln room"
