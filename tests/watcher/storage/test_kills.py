"""Killed, cut off and full: what was said to be written is there, the rest is cleanly absent."""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from bench_stories import Told, comes_back, story, without_looks
from receivers import Receiver, http_receiver
from small_disks import may_be_written, more_room, small_disk
from sqlalchemy import event, select

from watcher.alerts.channels import Channel
from watcher.alerts.postman import deliver_one
from watcher.alerts.senders import Senders
from watcher.records.bench import Step
from watcher.records.letters import Letter
from watcher.storage.engine import JournalUnusable
from watcher.storage.journal import Journal, open_journal
from watcher.storage.restoring import JUST_STARTED
from watcher.storage.schema import EVENTS, OUTBOX, SAID
from watcher.storage.writer import JournalFailed

KILLS = 20
STEPS = 600
pytestmark = pytest.mark.filterwarnings("ignore:This process .* is multi-threaded:DeprecationWarning")


def opened(folder: Path) -> Journal:
    return open_journal(f"sqlite:///{folder / 'journal.db'}", "bench1")


def in_child(work: Callable[[Callable[[int], None]], None]) -> tuple[int, int]:
    """Run work in a process of its own that can report numbers; return its id and where they can be read."""
    reading, writing = os.pipe()
    child = os.fork()
    if child:
        os.close(writing)
        return child, reading
    try:
        work(lambda number: os.write(writing, number.to_bytes(4)) and None)
    except BaseException as fault:  # noqa: BLE001 a forked test must never return into the test run
        print(fault, file=sys.stderr)
        os._exit(1)
    os._exit(0)


def killed_after(child: int, reading: int, seconds: float) -> tuple[int, bool]:
    """Kill the process some time after its first report; return its last report, and whether it had ended."""
    first = os.read(reading, 4)
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    with os.fdopen(reading, "rb") as rest:
        told = first + rest.read()
    whole = told[: len(told) // 4 * 4]
    return int.from_bytes(whole[-4:]), os.WIFEXITED(status)


def next_step(journal: Journal) -> int:
    last = journal.last_moment()
    return 0 if last is None else round(last.at_s / 5.0) + 1


def write_on(folder: Path, tale: list[Told], report: Callable[[int], None]) -> None:
    journal = opened(folder)
    for told in tale[next_step(journal) :]:
        durable = told.number % 3 == 0
        journal.add(told.step, told.said, told.letters, durable=durable)
        if durable:
            report(told.number)
    journal.close()


def check_whole(folder: Path, tale: list[Told], acknowledged: int) -> int:
    """Check that the journal tells the story up to one of its steps, the acknowledged one or a later one."""
    with sqlite3.connect(folder / "journal.db") as raw:
        assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    raw.close()
    journal = opened(folder)
    reached = next_step(journal) - 1
    assert reached >= acknowledged
    bench = tale[reached].step.bench if reached >= 0 else replace(tale[0].step.bench, moulds={})
    restored = journal.restore()
    events = journal.ask(lambda c: len(c.execute(select(EVENTS.c.seq)).all()))
    said = journal.ask(lambda c: len(c.execute(select(SAID.c.seq)).all()))
    texts = journal.ask(
        lambda c: [row.text for row in c.execute(select(OUTBOX.c.text).order_by(OUTBOX.c.seq))]
    )
    journal.close()
    so_far = tale[: reached + 1]
    assert without_looks(restored.moulds) == comes_back(bench, JUST_STARTED)
    assert restored.alerts == bench.alerts
    assert events == sum(len(told.step.events) for told in so_far)
    assert said == sum(told.said is not None for told in so_far)
    assert texts == [letter.text for told in so_far for letter in told.letters]
    return reached


def test_killed_twenty_times_while_writing_it_holds_the_same_as_when_left_alone(tmp_path: Path) -> None:
    tale = list(story(STEPS))
    chance = random.Random(20)
    kills = 0
    folder = tmp_path / "killed"
    while kills < KILLS:
        child, reading = in_child(lambda report: write_on(folder, tale, report))
        acknowledged, ended = killed_after(child, reading, chance.uniform(0.0, 0.04))
        reached = check_whole(folder, tale, acknowledged)
        kills += not ended
        if reached == STEPS - 1:
            break
    assert kills >= KILLS // 2, f"only {kills} kills fell into the writing: make the story longer"
    write_on(folder, tale, lambda number: None)
    check_whole(folder, tale, STEPS - 1)
    alone = tmp_path / "alone"
    write_on(alone, tale, lambda number: None)
    killed_journal, whole_journal = opened(folder), opened(alone)
    assert killed_journal.casts() == whole_journal.casts()
    killed_journal.close()
    whole_journal.close()
    print(f"kills={kills}")


def test_a_write_torn_by_a_power_cut_is_cleanly_absent(tmp_path: Path) -> None:
    tale = list(story(900))
    chance = random.Random(21)
    for wait in (0.1, 0.05, 0.02):  # a fast machine may have come to the end and tidied up
        folder = tmp_path / f"cut{wait}"
        child, reading = in_child(lambda report, into=folder: write_on(into, tale, report))
        killed_after(child, reading, wait)
        log = folder / "journal.db-wal"
        if log.exists() and log.stat().st_size > 0:
            break
    size = log.stat().st_size
    assert size > 0
    for place in sorted(chance.uniform(0.3, 1.0) for _ in range(8)):
        torn = tmp_path / f"torn{place:.4f}"
        torn.mkdir()
        shutil.copy(folder / "journal.db", torn)
        shutil.copy(log, torn)
        os.truncate(torn / "journal.db-wal", int(size * place))
        check_whole(torn, tale, acknowledged=-1)


def test_letters_of_a_service_killed_while_sending_all_arrive_and_repeats_say_so(tmp_path: Path) -> None:
    texts = [f"letter {number}" for number in range(120)]
    chance = random.Random(22)
    with http_receiver() as receiver:
        journal = opened(tmp_path)
        told = next(iter(story(1)))
        letters = [Letter("phone", "beaker: ready", text, 0.0, told.step.bench.now_at) for text in texts]
        journal.add(told.step, letters=letters, durable=True)
        journal.close()
        Senders([Channel("phone", receiver.url)])  # loads the message library once, not in every child
        kills = 0
        for _ in range(KILLS):
            child, reading = in_child(lambda report: send_on(tmp_path, receiver, report))
            _, ended = killed_after(child, reading, chance.uniform(0.0, 0.03))
            kills += not ended
        send_on(tmp_path, receiver, lambda number: None)
    seen: set[str] = set()
    repeats = 0
    for got in receiver.got:
        text, _, mark = got["message"].partition("\n")
        if text in seen:
            repeats += 1
            assert "may have reached you before" in mark, f"{text} came twice without a word"
        seen.add(text)
    assert seen == set(texts), "a letter was lost"
    assert kills >= KILLS // 2
    print(f"kills={kills} repeats={repeats}")


def send_on(folder: Path, receiver: Receiver, report: Callable[[int], None]) -> None:
    journal = opened(folder)
    senders = Senders([Channel("phone", receiver.url)])
    report(0)
    while deliver_one(journal.outbox, senders, "phone", lambda: 1e6):
        pass
    journal.close()


def test_a_full_disk_is_told_and_everything_is_written_once_there_is_room(tmp_path: Path) -> None:
    tale = list(story(400))
    with small_disk(tmp_path / "disk", 700) as disk:
        journal = opened(disk)
        (disk / "ballast").write_bytes(b"x" * 4096)
        with pytest.raises(JournalFailed, match="disk is full"):
            for told in tale:
                journal.add(told.step, told.said, told.letters, durable=True)
                with open(disk / "ballast", "ab") as ballast:
                    ballast.write(b"x" * 8192)
        for later in tale[told.number + 1 :]:
            journal.add(later.step, later.said, later.letters)
        assert claimed_within(journal, 4.0), "a full disk must not silence an alarm"
        assert "free" in journal.trouble
        (disk / "ballast").unlink()
        more_room(disk, 8000)
        journal.add(Step(tale[-1].step.bench), durable=True)
        assert journal.trouble == ""
        journal.close()
        check_cast_count(disk, tale)


def claimed_within(journal: Journal, seconds: float) -> bool:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if journal.outbox.claim("phone", 1e9) is not None:
            return True
        time.sleep(0.05)
    return False


def check_cast_count(disk: Path, tale: list[Told]) -> None:
    journal = opened(disk)
    alone = {
        state.cast.cast_id: state.cast.fillings
        for told in tale
        for state in told.step.bench.moulds.values()
        if state.cast is not None
    }
    assert {cast.cast_id: cast.fillings for cast in journal.casts(limit=500)} == alone
    journal.close()


def test_a_disk_that_turns_read_only_is_told_and_written_once_it_is_writable_again(tmp_path: Path) -> None:
    tale = list(story(60))
    journal = opened(tmp_path)
    for told in tale[:20]:
        journal.add(told.step, told.said, told.letters)
    journal.add(Step(tale[19].step.bench), durable=True)
    # a kernel that finds a faulty disk turns it read-only under open files; SQLite's own switch says the same
    turn_read_only(journal, True)
    with pytest.raises(JournalFailed, match="make its disk writable"):
        journal.add(tale[20].step, durable=True)
    turn_read_only(journal, False)
    for told in tale[21:]:
        journal.add(told.step, told.said, told.letters)
    journal.add(Step(tale[-1].step.bench), durable=True)
    journal.close()
    check_cast_count(tmp_path, tale)


def turn_read_only(journal: Journal, on: bool) -> None:
    def switch(connection: Any, _: Any = None) -> None:
        connection.execute(f"PRAGMA query_only={'ON' if on else 'OFF'}")

    engine = journal._writer._engine
    engine.dispose()
    event.listen(engine, "connect", switch)


def test_a_start_on_a_read_only_disk_is_refused_with_a_sentence(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk", 2000) as disk:
        opened(disk).close()
        may_be_written(disk, False)
        with pytest.raises(JournalUnusable, match="another folder"):
            opened(disk)
