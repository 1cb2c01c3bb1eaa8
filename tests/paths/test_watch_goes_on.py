"""`tipbell watch` as its own process: pictures dropped into a folder, killed in the middle, started again."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.request import Request, urlopen

import pytest

SESSION = Path(__file__).parents[2] / "sample_frames" / "morning_bench"
CUP = "espresso cup"
PATIENCE_S = 60.0

SETTINGS = """
[bench]
name = "north bench"
[camera]
address = "{drop}"
every_s = 0.3
folders = ["{home}"]
[page]
port = 0
"""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A folder with settings, the sample bench's description and a place where pictures are dropped."""
    described = (SESSION / "recording.toml").read_text(encoding="utf-8")
    (tmp_path / "bench.toml").write_text(re.sub(r"\[clock\]\s*start = .*\n", "", described), encoding="utf-8")
    drop = tmp_path / "drop"
    drop.mkdir()
    settings = SETTINGS.format(drop=drop.as_posix(), home=tmp_path.as_posix())
    (tmp_path / "tipbell.toml").write_text(settings, encoding="utf-8")
    return tmp_path


@contextmanager
def watching(home: Path) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """Start the command and wait for the line that tells the page's address."""
    command = [sys.executable, "-m", "watcher", "watch", "--settings", str(home / "tipbell.toml")]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=home)
    try:
        line = process.stdout.readline() if process.stdout else ""
        found = re.search(r"http://\S+/", line)
        assert found, f"no address in {line!r}"
        yield process, found.group()
    finally:
        process.kill()
        process.wait()
        if process.stdout:
            process.stdout.close()


def drop(home: Path, number: int) -> None:
    """Drop one frame of the sample session, whole at once."""
    part = home / "drop" / "part.tmp"
    shutil.copyfile(SESSION / "frames" / f"{number:06d}.jpg", part)
    os.replace(part, home / "drop" / f"{number:06d}.jpg")


def mould(address: str, name: str) -> dict[str, object]:
    """Return what the page says of one mould."""
    with urlopen(f"{address}bench.json", timeout=10) as answer:
        return next(m for m in json.load(answer)["moulds"] if m["name"] == name)


def until(address: str, name: str, key: str, wanted: object) -> dict[str, object]:
    """Wait until the page says so."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        now = mould(address, name)
        if now[key] == wanted:
            return now
        time.sleep(0.2)
    raise AssertionError(f"{name}: {key} never became {wanted!r}; it is {now[key]!r}")


@pytest.mark.slow
def test_a_cast_goes_on_after_the_service_was_killed(home: Path) -> None:
    with watching(home) as (process, address):
        for number in (0, 1, 2, 4, 5, 6):
            drop(home, number)
            time.sleep(1.2)
        before = until(address, CUP, "phase", "casting")
        time.sleep(1.0)
        process.send_signal(signal.SIGKILL)
        process.wait()
    with watching(home) as (_, address):
        after = until(address, CUP, "phase", "casting")
        drop(home, 7)
        seen = until(address, CUP, "seen", True)
    assert after["cast"] == before["cast"]
    assert after["filled_at"] == before["filled_at"]
    assert seen["cast_number"] == 1


@pytest.mark.slow
def test_what_the_caster_says_is_kept_and_the_service_stops_when_told(home: Path) -> None:
    with watching(home) as (process, address):
        drop(home, 0)
        until(address, CUP, "phase", "empty")
        body = json.dumps({"mould": CUP, "what": "filled"}).encode()
        headers = {"Content-Type": "application/json", "Origin": address.rstrip("/")}
        with urlopen(Request(f"{address}said.json", data=body, headers=headers), timeout=10) as answer:
            assert answer.status == 200
        until(address, CUP, "phase", "casting")
        began = time.monotonic()
        process.send_signal(signal.SIGTERM)
        assert process.wait(timeout=20) == 0
        assert time.monotonic() - began < 15.0
    log = (home / "tipbell-memory" / "tipbell.log").read_text(encoding="utf-8")
    assert "event=filled" in log
    with watching(home) as (_, address):
        assert until(address, CUP, "phase", "casting")["cast_number"] == 1
