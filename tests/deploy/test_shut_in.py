"""The watched bench as its unit shuts it in: a user without any privilege, a disk that cannot be written.

As near to `tipbell.service` as a machine without a running systemd comes: the whole tree is read-only but its
own folder, no capability is left, none can be gained, and memory that can be written can never be run.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.request import urlopen

import pytest

ROOT = Path(__file__).resolve().parents[2]
SESSION = ROOT / "sample_frames" / "morning_bench"
USER = ["--reuid=nobody", "--regid=nogroup", "--clear-groups"]
NOBODY = ["setpriv", *USER, "--no-new-privs", "--bounding-set=-all"]
SETTINGS = """
[camera]
address = "{home}/drop"
every_s = 0.5
folders = ["{home}"]
[page]
port = 0
"""
SHUT_IN = """
set -e
mount --bind "$1" "$1"
for place in $(awk '{print $2}' /proc/self/mounts); do
  case "$place" in "$1"|/proc|/proc/*|/sys|/sys/*|/dev|/dev/*) continue ;; esac
  mount -o remount,bind,ro "$place" || true
done
if touch "$2/.written" 2>/dev/null; then echo "the disk can still be written"; exit 9; fi
shift 2
cd "$HOME"
exec "$@"
"""
NO_NEW_CODE = """
import ctypes, runpy, sys
# PR_SET_MDWE, PR_MDWE_REFUSE_EXEC_GAIN (prctl(2), Linux 6.3): what MemoryDenyWriteExecute= asks for
print("shut" if ctypes.CDLL(None).prctl(65, 1, 0, 0, 0) == 0 else "open", flush=True)
sys.argv[0] = "tipbell"
runpy.run_module("watcher", run_name="__main__")
"""

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(os.geteuid() != 0, reason="only root can shut a program in"),
]


@pytest.fixture
def home() -> Iterator[Path]:
    """A folder that belongs to nobody, where nobody may reach it (pytest's own is closed to others)."""
    home = Path(tempfile.mkdtemp(dir="/var/tmp"))
    try:
        described = (SESSION / "recording.toml").read_text(encoding="utf-8")
        text = re.sub(r"\[clock\]\s*start = .*\n", "", described)
        (home / "bench.toml").write_text(text, encoding="utf-8")
        (home / "drop").mkdir()
        shutil.copyfile(SESSION / "frames" / "000006.jpg", home / "drop" / "now.jpg")
        (home / "tipbell.toml").write_text(SETTINGS.format(home=home), encoding="utf-8")
        for path in (home, *home.rglob("*")):
            shutil.chown(path, "nobody")
        yield home
    finally:
        shutil.rmtree(home)


def why_not() -> str:
    """Say why it cannot be tried: a container may forbid it, others may not reach this folder's Python."""
    loads = f"import sys; sys.path.insert(0, {str(ROOT)!r}); import watcher, cv2"
    for tried, why in (
        (["unshare", "-m", "mount", "--bind", "/var/tmp", "/var/tmp"], "no mount namespace may be made here"),
        ([*NOBODY, sys.executable, "-c", loads], "other users may not read this folder"),
    ):
        try:
            done = subprocess.run(tried, capture_output=True, cwd="/")
        except FileNotFoundError:
            return f"{tried[0]} is missing here"
        if done.returncode != 0:
            return why
    return ""


@contextmanager
def shut_in(home: Path) -> Iterator[subprocess.Popen[str]]:
    """Start the watching, shut in."""
    shut = ["unshare", "-m", "--propagation", "private", "bash", "-c", SHUT_IN, "x", str(home), str(ROOT)]
    watch = [sys.executable, "-c", NO_NEW_CODE, "watch", "--settings", str(home / "tipbell.toml")]
    clean = {"HOME": str(home), "PATH": "/usr/bin:/bin", "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1"}
    command = [*shut, *NOBODY, *watch]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=clean
    ) as process:
        try:
            yield process
        finally:
            process.kill()


def test_it_watches_serves_and_keeps_where_it_may_do_nothing_else(home: Path) -> None:
    if why := why_not():
        pytest.skip(why)
    with shut_in(home) as process:
        assert process.stdout is not None
        assert process.stdout.readline() in ("shut\n", "open\n")  # an older kernel does not know of it
        line = process.stdout.readline()
        found = re.search(r"http://\S+/", line)
        assert found, line + process.stdout.read()
        until, seen = time.monotonic() + 30, [None]
        while not any(seen):
            assert time.monotonic() < until, seen
            time.sleep(0.3)
            with urlopen(f"{found.group()}bench.json", timeout=10) as answer:
                seen = [mould["seen_at"] for mould in json.load(answer)["moulds"]]
        process.send_signal(signal.SIGTERM)
        assert process.wait(15) == 0, process.stdout.read()
    journal = home / "tipbell-memory" / "journal.db"
    assert journal.stat().st_size > 0 and journal.stat().st_uid != 0
