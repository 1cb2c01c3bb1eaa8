"""`tipbell shot`: one settled picture, or why there is none."""

from __future__ import annotations

from datetime import UTC, datetime

import cv2
import numpy as np
import pytest

from watcher.commands import shot as command
from watcher.commands.refused import Refused
from watcher.commands.shot import shot
from watcher.records.frames import Blind, Frame, NoFrame

AT = datetime(2026, 3, 3, tzinfo=UTC)


class Waking:
    """A camera that has nothing at first, then a dark picture, then brighter ones."""

    def __init__(self, nothing: int = 3) -> None:
        self.nothing = nothing
        self.asked = 0
        self.closed = False

    def newest(self):
        self.asked += 1
        if self.asked <= self.nothing:
            return NoFrame("shot", 0.0, AT, Blind.UNPLUGGED, "no camera at /dev/video0")
        grey = min(20 * (self.asked - self.nothing), 200)
        return Frame("shot", np.full((720, 1280, 3), grey, np.uint8), float(self.asked), AT)

    def close(self):
        self.closed = True


def test_the_picture_is_taken_when_the_camera_has_settled(tmp_path, monkeypatch, capsys):
    source = Waking()
    monkeypatch.setattr(command, "open_source", lambda *asked, **how: source)
    monkeypatch.setattr(command, "ASK_AGAIN_S", 0.02)
    monkeypatch.setattr(command, "SETTLING_S", 0.3)
    shot("0", (1280, 720), tmp_path / "bench.png")
    assert source.closed
    assert cv2.imread(str(tmp_path / "bench.png")).mean() > 60.0  # not the first, dark one
    assert "wrote" in capsys.readouterr().out


def test_a_camera_that_sends_nothing_is_said(tmp_path, monkeypatch):
    source = Waking(nothing=10**9)
    monkeypatch.setattr(command, "open_source", lambda *asked, **how: source)
    monkeypatch.setattr(command, "ASK_AGAIN_S", 0.0)
    monkeypatch.setattr(command, "PATIENCE_S", 0.05)
    with pytest.raises(Refused, match="no camera at /dev/video0"):
        shot("0", (1280, 720), tmp_path / "bench.png")
    assert source.closed and not (tmp_path / "bench.png").exists()


def test_a_file_without_a_pictures_ending_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(command, "open_source", lambda *asked, **how: Waking(nothing=0))
    monkeypatch.setattr(command, "ASK_AGAIN_S", 0.0)
    monkeypatch.setattr(command, "SETTLING_S", 0.0)
    with pytest.raises(Refused, match="has no ending of a picture"):
        shot("0", (1280, 720), tmp_path / "bench")
