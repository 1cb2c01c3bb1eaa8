"""A bench whose cable is pulled goes on, sends its own calls, and catches up when it is plugged in again."""

from __future__ import annotations

import json
import os
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from cables import Wire, namespace
from database_server import DatabaseServer
from sqlalchemy import func, select

from watcher.storage.awaiting import CARRIED
from watcher.storage.journal import open_journal
from watcher.storage.link import Link
from watcher.storage.shared_outbox import SharedOutbox

BENCH = """
import sys, threading, time
from datetime import UTC, datetime
from bench_stories import story
from watcher.records.bench import Step
from watcher.records.letters import Letter
from watcher.storage.awaiting import Awaiting
from watcher.storage.courier import Courier
from watcher.storage.journal import open_journal
from watcher.storage.link import Link
from watcher.storage.shared_outbox import SharedOutbox
folder, url = sys.argv[1:]
journal = open_journal(f"sqlite:///{folder}/north/journal.db", "north")
awaiting = Awaiting(journal.path, "north")
carrying = Courier(journal, awaiting, Link(url))
carrying.start()
outbox = SharedOutbox(journal.outbox, Link(url), "north")
told = threading.Event()
threading.Thread(target=lambda: (sys.stdin.readline(), told.set()), daemon=True).start()
for one in story(5000, bench_id="north"):
    journal.add(one.step)
    if one.number % 10 == 0:
        outbox.put([Letter("phone", "pot", "tip", time.time(), datetime.now(UTC), (f"a{one.number}",))])
    began = time.monotonic()
    outgoing = outbox.claim("phone", time.time())
    if outgoing is not None:
        outbox.told(outgoing)
        print("repeat" if outgoing.repeat else "first", *outgoing.letter.alert_ids, flush=True)
    if told.is_set():
        break
    time.sleep(max(0.0, 0.1 - (time.monotonic() - began)))
journal.add(Step(one.step.bench), durable=True)
while awaiting.count():
    time.sleep(0.1)
print("done", flush=True)
"""
AIDS = Path(__file__).parents[2] / "aids"


@pytest.fixture(params=["network of its own", "wire"])
def cable(request: pytest.FixtureRequest, database_server: DatabaseServer) -> Iterator[Any]:
    """Return what cuts and mends, a fresh database by TCP and by socket, what a command begins with."""
    near = database_server.fresh()
    name, socket_folder = near.split("@/")[1].split("?host=")
    to = f"{socket_folder}/.s.PGSQL.5432"
    if request.param == "wire":
        wire = Wire("127.0.0.1", to)
        yield wire, f"postgresql+psycopg://postgres@127.0.0.1:{wire.port}/{name}", near, []
        wire.close()
        return
    with namespace() as laid:
        if isinstance(laid, str):
            pytest.skip(f"{laid}; the wire that is cut stands in for it")
        wire = Wire(laid.host, to)
        yield laid, f"postgresql+psycopg://postgres@{laid.host}:{wire.port}/{name}", near, laid.before
        wire.close()


def counts(ask: Any) -> dict[str, int]:
    found = {}
    for table in CARRIED:
        query = select(func.count()).select_from(table).where(table.c.bench_id == "north")
        found[table.name] = ask(lambda connection, query=query: int(connection.execute(query).scalar_one()))
    return found


def test_a_bench_that_is_cut_off_sends_its_own_calls_and_catches_up_without_loss_or_double(
    tmp_path: Path, cable: Any
) -> None:
    cutter, far, near, before = cable
    env = os.environ | {"PYTHONPATH": os.pathsep.join((str(AIDS), os.environ.get("PYTHONPATH", "")))}
    north = subprocess.Popen(
        [*before, sys.executable, "-c", BENCH, str(tmp_path), far],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=env,
    )  # fmt: skip
    lines: queue.Queue[str] = queue.Queue()
    assert north.stdout is not None and north.stdin is not None
    reader = threading.Thread(target=lambda: [lines.put(line.strip()) for line in north.stdout], daemon=True)
    reader.start()
    journal = open_journal(f"sqlite:///{tmp_path}/south/journal.db", "south")
    link = Link(near)
    south = SharedOutbox(journal.outbox, Link(near), "south")
    sent: list[tuple[str, str]] = []

    def listen(seconds: float) -> list[tuple[str, str]]:
        """Hear what north sends, and let south send what it may."""
        heard, began = [], time.monotonic()
        while time.monotonic() - began < seconds:
            while not lines.empty():
                word, _, alert = lines.get().partition(" ")
                heard.append((word, alert))
            outgoing = south.claim("phone", time.time())
            if outgoing is not None:
                south.told(outgoing)
                sent.append(("repeat" if outgoing.repeat else "first", outgoing.letter.alert_ids[0]))
            time.sleep(0.05)
        return heard

    try:
        own: list[tuple[str, str]] = []
        began = time.monotonic()
        while len(own) < 3:
            own += listen(0.5)
            assert time.monotonic() - began < 60.0, "it did not begin"
        time.sleep(1.5)
        cutter.cut()
        own += listen(3.0)
        there = counts(link.do)
        alone = listen(15.0)  # longer than a lease
        assert len(alone) >= 3, "its own calls go out while it is cut off"
        assert counts(link.do) == there, "nothing gets through"
        cutter.mend()
        mended = time.monotonic()
        own += alone + listen(5.0)
        north.stdin.write("stop\n")
        north.stdin.flush()
        while ("done", "") not in own:
            own += listen(0.5)
            assert time.monotonic() - mended < 90.0, "it did not catch up"
        print(f"{json.dumps(counts(link.do))} there; caught up {time.monotonic() - mended:.1f} s after")
        north.kill()
        north.wait()
        beside = open_journal(f"sqlite:///{tmp_path}/north/journal.db", "north")
        here = counts(beside.ask)
        beside.close()
        assert counts(link.do) == here and here["readings"] > 50
    finally:
        north.kill()
        north.wait()
        reader.join()
        north.stdout.close()
        north.stdin.close()
        link.close()
        south._link.close()
        journal.close()
    told = [alert for _, alert in own if alert]
    assert len(told) == len(set(told)), "north sends nothing twice"
    written = {f"a{number}" for number in range(0, 10 * len(told), 10)}
    missed = written - set(told) - {alert for _, alert in sent}
    assert not missed, "and every call has gone out by one of them"
    assert all(word == "repeat" for word, _ in sent), "what another bench sends may be a second time"
