"""`tipbell lens`: from pictures of the printed board to a lens file, or to what is still missing."""

from __future__ import annotations

import tomllib
from datetime import UTC, datetime

import cv2
import numpy as np
import pytest
from board_photographs import BOARD_POSES, board_shot, printed_board

from watcher.commands import lens as command
from watcher.commands.lens import Camera, lens_from_camera, lens_from_pictures, lens_from_view
from watcher.commands.refused import Refused
from watcher.records.frames import Blind, Frame, NoFrame
from watcher.setup.lens_file import read_lens


@pytest.fixture(scope="module")
def shots():
    printed = printed_board()
    return [board_shot(printed, *pose, seed=n) for n, pose in enumerate(BOARD_POSES)]


def folder_of(shots, folder):
    folder.mkdir()
    for n, image in enumerate(shots):
        cv2.imwrite(str(folder / f"{n:02d}.png"), image)
    return folder


def test_a_folder_of_pictures_gives_a_lens_file(shots, tmp_path, capsys):
    folder = folder_of([*shots, cv2.GaussianBlur(shots[0], (0, 0), 3.0), shots[3]], tmp_path / "board")
    lens_from_pictures(folder, tmp_path / "out" / "lens.toml", picture=tmp_path / "map.png")
    lens = read_lens(tmp_path / "out" / "lens.toml")
    assert lens.fx_px == pytest.approx(1060.0, rel=0.003)
    assert (lens.width_px, lens.height_px) == (1280, 720)
    held = tomllib.loads((tmp_path / "out" / "lens.toml").read_text(encoding="utf-8"))
    assert held["measured"]["views"] == 10
    said = capsys.readouterr().out
    assert "00.png: kept view 1" in said
    assert "10.png: " in said and "10.png: kept" not in said  # blurred
    assert "11.png: this view is there already; move or tilt the board" in said
    assert "this leaves levels open by 0." in said
    drawn = cv2.imread(str(tmp_path / "map.png"))
    assert drawn.shape[1] == 960
    assert len(np.unique(drawn.reshape(-1, 3), axis=0)) > 3


def test_a_poor_set_is_refused_with_the_views_to_take(shots, tmp_path):
    with pytest.raises(Refused) as refused:
        lens_from_pictures(folder_of(shots[:4], tmp_path / "board"), tmp_path / "lens.toml")
    assert "these 4 views are not enough" in str(refused.value)
    assert "the board with its upper side tilted back" in str(refused.value)
    assert "4 more views" in str(refused.value)
    assert not (tmp_path / "lens.toml").exists()


def test_pictures_without_the_board_are_refused(tmp_path):
    plain = [np.full((720, 1280, 3), 120, np.uint8)]
    with pytest.raises(Refused) as refused:
        lens_from_pictures(folder_of(plain, tmp_path / "board"), tmp_path / "lens.toml")
    assert "no picture shows the board well enough" in str(refused.value)


def test_missing_folders_and_broken_pictures_are_named(tmp_path):
    with pytest.raises(Refused, match="there is no folder"):
        lens_from_pictures(tmp_path / "nowhere", tmp_path / "lens.toml")
    (tmp_path / "empty").mkdir()
    with pytest.raises(Refused, match="holds no pictures"):
        lens_from_pictures(tmp_path / "empty", tmp_path / "lens.toml")
    (tmp_path / "empty" / "a.jpg").write_bytes(b"\xff\xd8 cut short")
    with pytest.raises(Refused, match=r"a\.jpg is not a whole picture"):
        lens_from_pictures(tmp_path / "empty", tmp_path / "lens.toml")
    with pytest.raises(Refused, match="looks like centimetres"):
        lens_from_pictures(tmp_path / "empty", tmp_path / "lens.toml", ruler_mm=20.0)


def test_a_guess_says_what_it_costs(tmp_path, capsys):
    lens_from_view(tmp_path / "box.toml", (1280, 720), 70.0)
    lens_from_view(tmp_path / "usual.toml", (1280, 720), None)
    box, usual = [
        line for line in capsys.readouterr().out.splitlines() if line.startswith("The lens is a guess")
    ]
    # half the width over the tangent of half the view
    assert read_lens(tmp_path / "box.toml").fx_px == pytest.approx(640.0 / np.tan(np.radians(35.0)), abs=0.01)
    cost = [float(line.split("about ")[1].split(" mm")[0]) for line in (box, usual)]
    assert 0.3 < cost[0] < cost[1] < 5.0
    assert "warning" in tomllib.loads((tmp_path / "box.toml").read_text(encoding="utf-8"))["guessed"]
    lens_from_view(tmp_path / "corner.toml", (1280, 720), 78.0, diagonal=True)
    assert read_lens(tmp_path / "corner.toml").fx_px == pytest.approx(
        0.5 * np.hypot(1280, 720) / np.tan(np.radians(39.0)), abs=0.01
    )
    with pytest.raises(Refused, match="the field of view is 200; give degrees"):
        lens_from_view(tmp_path / "no.toml", (1280, 720), 200.0)


class ShownPictures:
    """A camera that shows each picture twice, so that the board is seen to be still, then the next."""

    def __init__(self, shown):
        self.shown = [picture for picture in shown for _ in range(2)]
        self.asked = 0
        self.closed = False

    def newest(self):
        at = min(self.asked, len(self.shown) - 1)
        self.asked += 1
        if isinstance(self.shown[at], NoFrame):
            return self.shown[at]
        return Frame("lens", self.shown[at], float(self.asked), datetime(2026, 3, 3, tzinfo=UTC))

    def close(self):
        self.closed = True


def test_a_running_camera_keeps_pictures_by_itself_and_stops_when_nothing_is_missing(
    shots, tmp_path, capsys, monkeypatch
):
    source = ShownPictures(shots)
    monkeypatch.setattr(command, "open_source", lambda *asked, **how: source)
    monkeypatch.setattr(command, "ASK_AGAIN_S", 0.0)
    camera = Camera("0", (1280, 720), tmp_path / "kept")
    lens_from_camera(camera, tmp_path / "lens.toml", picture=tmp_path / "map.png")
    assert source.closed
    assert len(list((tmp_path / "kept").iterdir())) == 9  # the tenth is not needed any more
    assert read_lens(tmp_path / "lens.toml").fx_px == pytest.approx(1060.0, rel=0.003)
    assert "hold the board still" in capsys.readouterr().out


def test_an_interrupted_calibration_goes_on_from_the_kept_pictures(shots, tmp_path, monkeypatch):
    folder_of(shots[:8], tmp_path / "kept")
    source = ShownPictures([shots[8]])
    monkeypatch.setattr(command, "open_source", lambda *asked, **how: source)
    monkeypatch.setattr(command, "ASK_AGAIN_S", 0.0)
    lens_from_camera(Camera("0", (1280, 720), tmp_path / "kept"), tmp_path / "lens.toml")
    assert (tmp_path / "lens.toml").exists()


def test_a_camera_that_stays_silent_is_said(tmp_path, monkeypatch):
    gone = NoFrame("lens", 1.0, datetime(2026, 3, 3, tzinfo=UTC), Blind.UNPLUGGED, "no camera at /dev/video0")
    monkeypatch.setattr(command, "open_source", lambda *asked, **how: ShownPictures([gone]))
    monkeypatch.setattr(command, "ASK_AGAIN_S", 0.0)
    monkeypatch.setattr(command, "SILENT_S", 0.0)
    with pytest.raises(Refused, match="no camera at /dev/video0"):
        lens_from_camera(Camera("0", (1280, 720), tmp_path / "kept"), tmp_path / "lens.toml")


def test_a_spoilt_lens_file_is_named(tmp_path):
    from models.doors import BadValue

    path = tmp_path / "lens.toml"
    with pytest.raises(BadValue, match="there is no lens file"):
        read_lens(path)
    path.write_text(
        "[camera]\nwidth = 1280\nheight = 720\ndistortion = [0,0,0,0,0]\nfx = -1.0\n", encoding="utf-8"
    )
    with pytest.raises(BadValue, match=r"lens\.toml: \[camera\] fx is -1\.0; give pixels, above 0"):
        read_lens(path)
