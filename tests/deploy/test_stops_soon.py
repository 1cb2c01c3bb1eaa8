"""The bench as a service: it says that it is ready and moves on, and stops soon with pages open."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from urllib.parse import urlsplit

import pytest

SESSION = Path(__file__).parents[2] / "sample_frames" / "morning_bench"
STOPS_WITHIN_S = 5.0
SETTINGS = """
[camera]
address = "{home}/drop"
every_s = 0.5
folders = ["{home}"]
[page]
port = 0
"""

pytestmark = pytest.mark.slow


@pytest.fixture
def home(tmp_path: Path) -> Path:
    described = (SESSION / "recording.toml").read_text(encoding="utf-8")
    (tmp_path / "bench.toml").write_text(re.sub(r"\[clock\]\s*start = .*\n", "", described), encoding="utf-8")
    (tmp_path / "drop").mkdir()
    (tmp_path / "drop" / "now.jpg").write_bytes((SESSION / "frames" / "000000.jpg").read_bytes())
    (tmp_path / "tipbell.toml").write_text(SETTINGS.format(home=tmp_path.as_posix()), encoding="utf-8")
    return tmp_path


@pytest.fixture
def manager(tmp_path: Path) -> Iterator[socket.socket]:
    """Hears what a service manager would be told."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as heard:
        heard.bind(str(tmp_path / "notify"))
        heard.settimeout(30.0)
        yield heard


def asked(address: str, path: str, *, whole: bool = True) -> socket.socket:
    """Ask for a page and leave the line open."""
    parts = urlsplit(address)
    line = socket.create_connection((parts.hostname, parts.port), timeout=10)
    line.sendall(
        f"GET {path} HTTP/1.1\r\nHost: {parts.netloc}\r\n{chr(13) + chr(10) if whole else ''}".encode()
    )
    if whole:
        assert line.recv(4096).startswith(b"HTTP/1.1 200")
    return line


def test_it_is_ready_moves_on_and_stops_within_five_seconds_with_pages_open(
    home: Path, manager: socket.socket
) -> None:
    told = {"NOTIFY_SOCKET": str(manager.getsockname()), "WATCHDOG_USEC": "8000000"}
    command = [sys.executable, "-m", "watcher", "watch", "--settings", str(home / "tipbell.toml")]
    with ExitStack() as open_pages, subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, cwd=home, env=os.environ | told
    ) as process:  # fmt: skip
        open_pages.callback(process.kill)
        assert process.stdout is not None
        found = re.search(r"http://\S+/", process.stdout.readline())
        assert found
        assert manager.recv(1000).startswith(b"READY=1\n")
        assert manager.recv(1000) == b"WATCHDOG=1"
        for _ in range(4):
            open_pages.enter_context(asked(found.group(), "/live"))
        open_pages.enter_context(asked(found.group(), "/"))
        open_pages.enter_context(asked(found.group(), "/bench.json", whole=False))
        began = time.monotonic()
        process.send_signal(signal.SIGTERM)
        assert process.wait(timeout=30) == 0
        assert time.monotonic() - began < STOPS_WITHIN_S
        said = b""
        while not said.startswith(b"STOPPING=1"):
            said = manager.recv(1000)
