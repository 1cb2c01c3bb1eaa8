"""Pictures of the page: really the page's; a sentence where there is no browser or nothing to drive it."""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
import pytest
from typer.testing import CliRunner

from watcher.__main__ import app
from watcher.commands import screens


def run(*words: str) -> tuple[int, str]:
    done = CliRunner().invoke(app, ["screens", *words])
    return done.exit_code, done.output


@pytest.mark.browser
@pytest.mark.slow
def test_the_pages_are_pictured_in_their_sizes(chromium_path: str, tmp_path: Path, monkeypatch) -> None:
    pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    monkeypatch.setattr(screens.shutil, "which", lambda name: chromium_path)
    status, said = run("--out", str(tmp_path), "--at", "230")
    assert status == 0, said
    for name, width in (("page", 1440), ("phone", 390), ("mould", 1280), ("dark", 390)):
        picture = cv2.imread(str(tmp_path / f"{name}.jpg"))
        assert picture.shape[1] == width and picture.shape[0] >= 800
        assert picture.std() > 20.0  # something is on it
    light, dark = (cv2.imread(str(tmp_path / f"{name}.jpg")).mean() for name in ("phone", "dark"))
    assert dark < light - 60.0


def test_without_a_browser_a_sentence_says_so(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setattr(screens.shutil, "which", lambda name: None)
    status, said = run("--out", str(tmp_path))
    assert status == 2 and said.count("\n") == 1 and "need Chromium" in said


def test_without_playwright_a_sentence_says_so(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setattr(screens.shutil, "which", lambda name: "/usr/bin/true")
    monkeypatch.setitem(sys.modules, "playwright.sync_api", None)
    status, said = run("--out", str(tmp_path))
    assert status == 2 and "need playwright" in said
