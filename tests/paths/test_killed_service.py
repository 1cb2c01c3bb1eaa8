"""The service killed at random while moulds are cast tells the same story as one that was left alone.

Everything but eyes and page is real: the bench's thinking, the journal on disk, the outbox, the message
library, and a receiver of messages. The bench is shown levels that sink by a volume balance of its own; the
time is told, so a session of hours takes seconds. `TIPBELL_KILLS=50` asks for more kills than the usual few.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from receivers import Receiver, http_receiver
from sinking import sinking_level
from sqlalchemy import select

from models.mould import checked_mould
from models.slip import Slip
from watcher.alerts.channels import Channel
from watcher.alerts.postman import Postman
from watcher.alerts.senders import Senders
from watcher.clock import ToldClock
from watcher.pipeline import new_bench, resumed
from watcher.records.kept import KeptCast
from watcher.records.layout import BenchLayout, PlacedMould
from watcher.records.readings import Contents, HoleSighting, LevelReading, Missed, Sighting
from watcher.service.clerk import Clerk
from watcher.service.running import RunningBench
from watcher.storage.journal import Journal, open_journal
from watcher.storage.schema import OUTBOX

KILLS = int(os.environ.get("TIPBELL_KILLS", "6"))
EVERY_S = 10.0
START = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)
SLIP = Slip(1.76, 0.63)
WALL_MM = 2.4
pytestmark = pytest.mark.filterwarnings("ignore:This process .* is multi-threaded:DeprecationWarning")


@dataclass(frozen=True, slots=True)
class Casting:
    """One cast as it truly goes: poured, ready at the root-time law's moment, tipped a minute later."""

    mould: str
    poured_s: float
    k_mm2_per_min: float

    @property
    def ready_s(self) -> float:
        return self.poured_s + WALL_MM**2 / self.k_mm2_per_min * 60.0

    @property
    def tipped_s(self) -> float:
        return self.ready_s + 60.0


SESSION = (
    Casting("beaker", 100.0, 1.9),
    Casting("cream jug", 250.0, 2.6),
    Casting("beaker", 1000.0, 1.5),
    Casting("cream jug", 1100.0, 2.2),
)
STEPS = 150
CURVES = {
    casting: sinking_level(
        radius_mm=32.0,
        depth_mm=90.0,
        k_mm2_per_min=casting.k_mm2_per_min,
        water_per_cake=SLIP.water_per_cake,
        full_mm=4.0,
        seconds=400,
    )
    for casting in SESSION
}


def sighting(number: int) -> Sighting:
    at_s = number * EVERY_S
    holes = tuple(_hole(name, number, at_s) for name in ("beaker", "cream jug"))
    return Sighting("bench", at_s, START + timedelta(seconds=at_s), holes)


def _hole(name: str, number: int, at_s: float) -> HoleSighting:
    for casting in SESSION:
        if casting.mould == name and casting.poured_s <= at_s < casting.tipped_s:
            noise = np.random.default_rng([number, len(name)]).normal(0.0, 0.05)
            level_mm = CURVES[casting][int(at_s - casting.poured_s)] + float(noise)
            return HoleSighting(name, LevelReading(level_mm, 0.2, 0.05), Contents.SLIP)
        if casting.mould == name and casting.tipped_s <= at_s < casting.tipped_s + 60.0:
            return HoleSighting(name, Missed.CARD_LOST, Contents.AWAY)
    return HoleSighting(name, Missed.UNCERTAIN, Contents.EMPTY)


def opened(folder: Path) -> Journal:
    return open_journal(f"sqlite:///{folder / 'journal.db'}", "bench1")


def serve(folder: Path, receiver: Receiver, report: Callable[[int], None]) -> None:
    """Run the service from where the last run ended to the end of the session."""
    journal = opened(folder)
    last = journal.last_moment()
    first = 0 if last is None else round(last.at_s / EVERY_S) + 1
    moulds = tuple(
        PlacedMould(name, checked_mould(name, [[0, 64], [90, 64]], target_wall_mm=WALL_MM))
        for name in ("beaker", "cream jug")
    )
    restored = journal.restore()
    fresh = new_bench(BenchLayout("bench", None, (), moulds), SLIP, bench_id="bench1")
    bench = resumed(fresh, restored.moulds, restored.alerts, 0.0)
    clock = ToldClock(first * EVERY_S, START)
    senders = Senders([Channel("phone", receiver.url)])
    postman = Postman(journal.outbox, senders, clock.now_s)
    clerk = Clerk(journal, senders, postman)
    running = RunningBench(bench, now=lambda: (clock.now_s(), clock.now_at()), carry_out=clerk)
    alerts = bench.alerts
    _posted_within(journal, postman, 20.0)
    for number in range(first, STEPS):
        seen = sighting(number)
        clock.tell(seen.taken_s, seen.taken_at)
        running.take(seen)
        running.tick(seen.taken_s + 1.0, seen.taken_at + timedelta(seconds=1))
        report(number)
        if running.bench().alerts != alerts:
            alerts = running.bench().alerts
            _posted_within(journal, postman, 20.0)
    postman.close()
    journal.close()


def _posted_within(journal: Journal, postman: Postman, seconds: float) -> None:
    """Wait for the post: ten told seconds pass in no time, in which no letter could leave."""
    journal.write(lambda connection: None)  # letters may leave once they are written
    until = time.monotonic() + seconds
    while journal.outbox.waiting() and time.monotonic() < until:
        postman.ring()
        time.sleep(0.005)


def in_child(work: Callable[[Callable[[int], None]], None]) -> tuple[int, int]:
    reading, writing = os.pipe()
    child = os.fork()
    if child:
        os.close(writing)
        return child, reading
    try:
        work(lambda number: os.write(writing, bytes([number])) and None)
    except BaseException as fault:  # noqa: BLE001 a forked test must never return into the test run
        print(repr(fault), file=sys.stderr)
        os._exit(1)
    os._exit(0)


def killed_at(child: int, reading: int, step: int) -> bool:
    """Kill the process as soon as it has come to a step; return whether it lived so long."""
    with os.fdopen(reading, "rb", buffering=0) as reports:
        while told := reports.read(1):
            if told[0] >= step:
                os.kill(child, signal.SIGKILL)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


def story(casts: tuple[KeptCast, ...]) -> list[tuple[object, ...]]:
    return [
        (
            cast.mould,
            cast.number_today,
            cast.cast_id,
            len(cast.fillings),
            cast.tipped_s is not None,
            cast.leaking,
        )
        for cast in casts
    ]


def posted(journal: Journal) -> Counter[tuple[str, str]]:
    """Count the letters of the outbox by title and state."""
    query = select(OUTBOX.c.title, OUTBOX.c.state)
    return Counter((row.title, row.state) for row in journal.ask(lambda c: c.execute(query).all()))


def arrived(receiver: Receiver, *, marked: bool) -> Counter[str]:
    """Count what arrived by title: with the word that it may be a repeat, or without."""
    return Counter(got["title"] for got in receiver.got if ("(Sent again" in got["message"]) is marked)


def test_a_service_killed_at_random_tells_the_same_story_and_loses_no_call(tmp_path: Path) -> None:
    chance = random.Random(int(os.environ.get("TIPBELL_SEED", "50")))
    with http_receiver() as alone, http_receiver() as killed:
        # in a child too: the message library's threads, once started here, would be dead in every later child
        assert not killed_at(*in_child(lambda report: serve(tmp_path / "alone", alone, report)), STEPS + 1)
        kills = 0
        places = sorted(chance.sample(range(5, STEPS - 2), KILLS))
        for place in places:
            child, reading = in_child(lambda report: serve(tmp_path / "killed", killed, report))
            kills += killed_at(child, reading, place)
        assert not killed_at(*in_child(lambda report: serve(tmp_path / "killed", killed, report)), STEPS + 1)
    first, second = opened(tmp_path / "alone"), opened(tmp_path / "killed")
    calm, cut = first.casts(), second.casts()
    calm_alerts, cut_alerts = first.restore().alerts, second.restore().alerts
    calm_letters, cut_letters = posted(first), posted(second)
    first.close()
    second.close()
    assert kills == KILLS
    assert story(cut) == story(calm)
    assert len(calm) == len(SESSION)
    for left, right in zip(calm, cut, strict=True):
        assert right.fillings[0].latest_s == left.fillings[0].latest_s
        assert right.tipped_s == pytest.approx(left.tipped_s, abs=2 * EVERY_S)
        one, two = (cast.figures["fit"]["k_mm2_per_min"] for cast in (left, right))
        assert one["low"] < two["high"] and two["low"] < one["high"], "their 80 % ranges of K overlap"
        assert two["value"] == pytest.approx(one["value"], rel=0.12)
    assert {alert.alert_id for alert in cut_alerts} == {alert.alert_id for alert in calm_alerts}
    ready = [alert for alert in cut_alerts if alert.kind.value == "ready"]
    assert len(ready) == len(SESSION)
    # a letter that a slow machine had not sent before its mould was tipped is rightly withdrawn
    assert {state for _, state in cut_letters} <= {"told", "withdrawn"}
    plain, repeats = arrived(killed, marked=False), arrived(killed, marked=True)
    for title in {title for title, _ in calm_letters}:
        told_, withdrawn = cut_letters[title, "told"], cut_letters[title, "withdrawn"]
        assert told_ + withdrawn == calm_letters[title, "told"] + calm_letters[title, "withdrawn"]
        assert plain[title] <= told_ + withdrawn, f"{title} came twice without a word"
        assert plain[title] + repeats[title] >= told_, f"{title} never came"
    told = f"alerts={len(cut_alerts)} letters={len(killed.got)} marked={sum(repeats.values())}"
    print(f"kills={kills} casts={len(cut)} {told}")
