"""`tipbell watch` started once: how long until its page answers, and how much memory it takes."""

from __future__ import annotations

import re
import shutil
import socket
import subprocess
import sys
import tempfile
import threading
from pathlib import Path
from time import perf_counter
from urllib.error import URLError
from urllib.request import urlopen

from watcher.commands.prove_speed import resident_mb, worked_s
from watcher.proof.results import ServiceProof

SETTINGS = """
[bench]
name = "proof"
[camera]
address = "{home}/drop"
folders = ["{home}"]
every_s = 2
[page]
port = {port}
"""
WAIT_S = 60.0
AT_WORK_S = 20.0
BEAT_S = 0.1


def start_once(recording: Path) -> ServiceProof | str:
    """Start the service on a recording's bench, drop its pictures before it for a while, and stop it.

    Returns
    -------
    ServiceProof or str
        A sentence where it could not be started or measured.
    """
    with tempfile.TemporaryDirectory() as name:
        home = Path(name)
        port = _prepare(home, recording)
        command = [sys.executable, "-m", "watcher", "watch", "--settings", str(home / "tipbell.toml")]
        began = perf_counter()
        with (home / "said.txt").open("w") as said:
            process = subprocess.Popen(command, stdout=said, stderr=subprocess.STDOUT, cwd=home)
        try:
            return _watched(process, f"http://127.0.0.1:{port}/health.json", began, recording, home)
        finally:
            process.terminate()
            try:
                process.wait(15.0)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()


def _prepare(home: Path, recording: Path) -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    described = (recording / "recording.toml").read_text(encoding="utf-8")
    (home / "bench.toml").write_text(re.sub(r"\[clock\]\s*start = .*\n", "", described), encoding="utf-8")
    (home / "drop").mkdir()
    (home / "tipbell.toml").write_text(SETTINGS.format(home=home.as_posix(), port=port), encoding="utf-8")
    return port


def _watched(
    process: subprocess.Popen[bytes], health: str, began: float, recording: Path, home: Path
) -> ServiceProof | str:
    beat = threading.Event()
    while not _answers(health):
        if process.poll() is not None:
            said = (home / "said.txt").read_text(encoding="utf-8", errors="replace").strip().splitlines()
            return f"`tipbell watch` ended at once: {said[-1] if said else 'it said nothing'}"
        if perf_counter() - began > WAIT_S:
            return f"`tipbell watch` did not answer within {WAIT_S:g} s"
        beat.wait(BEAT_S)
    after_s = perf_counter() - began
    first, worked = resident_mb(str(process.pid)), worked_s(str(process.pid))
    pictures = sorted((recording / "frames").glob("*.jpg"))
    shown = 0
    while perf_counter() - began < after_s + AT_WORK_S:
        if pictures:
            shutil.copyfile(pictures[shown % len(pictures)], home / "drop" / f"{shown:06d}.jpg")
            shown += 1
        beat.wait(1.0)
    later = resident_mb(str(process.pid))
    if first is None or later is None or worked is None:
        return f"its page answered after {after_s:.1f} s; this system does not tell a process's memory"
    return ServiceProof(after_s, worked, first, later, AT_WORK_S)


def _answers(address: str) -> bool:
    try:
        with urlopen(address, timeout=2.0) as answer:
            return bool(answer.status)
    except URLError as fault:
        return hasattr(fault, "code")  # it answers, if only that all is not well
    except OSError:
        return False
