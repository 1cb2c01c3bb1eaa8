"""Several benches with one PostgreSQL: nothing lost, nothing twice, every letter out, whoever stops."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from bench_stories import story
from database_server import DatabaseServer
from sqlalchemy import func, select

from watcher.records.bench import Step
from watcher.records.letters import Letter
from watcher.records.said import Said, What
from watcher.storage.awaiting import CARRIED, Awaiting
from watcher.storage.carrying import AnotherHome
from watcher.storage.courier import Courier
from watcher.storage.journal import Journal, open_journal
from watcher.storage.link import Away, Link
from watcher.storage.moving import move
from watcher.storage.others import other_benches
from watcher.storage.shared_outbox import SharedOutbox
from watcher.storage.words import Word, say

AT = datetime(2026, 3, 5, 9, 0, tzinfo=UTC)


def opened(folder: Path, bench_id: str = "bench1") -> Journal:
    return open_journal(f"sqlite:///{folder / bench_id / 'journal.db'}", bench_id)


def courier(journal: Journal, url: str) -> Courier:
    assert journal.path is not None
    return Courier(journal, Awaiting(journal.path, journal.bench_id), Link(url))


def counts(ask: object, bench_id: str) -> dict[str, int]:
    found = {}
    for table in CARRIED:
        query = select(func.count()).select_from(table).where(table.c.bench_id == bench_id)
        found[table.name] = ask(lambda connection, query=query: int(connection.execute(query).scalar_one()))
    return found


def tell(journal: Journal, first: int, end: int) -> None:
    told = None
    for told in story(end, bench_id=journal.bench_id):
        if told.number >= first:
            journal.add(told.step, told.said, told.letters)
    assert told is not None
    journal.add(Step(told.step.bench), durable=True)


def test_a_bench_goes_on_while_the_database_is_away_and_catches_up_without_loss_or_double(
    tmp_path: Path, database_server: DatabaseServer
) -> None:
    url = database_server.fresh()
    journal, link = opened(tmp_path), Link(url)
    carrying = courier(journal, url)
    tell(journal, 0, 30)
    carrying.once()
    assert counts(link.do, "bench1") == counts(journal.ask, "bench1")
    database_server.stop()
    tell(journal, 30, 120)
    with pytest.raises(Away):
        carrying.once()
    assert len(journal.casts()) > 0, "its own memory answers all the same"
    database_server.start()
    until = time.monotonic() + 20.0
    while time.monotonic() < until:
        try:
            if carrying.once().rows == 0:
                break
        except Away:
            time.sleep(0.2)
    here = counts(journal.ask, "bench1")
    assert counts(link.do, "bench1") == here
    assert here["readings"] > 100
    carrying.close()
    link.close()
    journal.close()


def test_a_frozen_database_keeps_no_letter_waiting_for_long(
    tmp_path: Path, database_server: DatabaseServer
) -> None:
    url = database_server.fresh()
    journal, link = opened(tmp_path), Link(url)
    outbox = SharedOutbox(journal.outbox, link, "bench1")
    outbox.put([Letter("phone", "beaker", "tip it", 0.0, AT, ("a1",))])
    link.do(lambda shared: None, 20.0)
    with database_server.frozen():
        began = time.monotonic()
        outgoing = outbox.claim("phone", 20.0)
        waited_s = time.monotonic() - began
    assert outgoing is not None and outgoing.repeat, "20 s old and cut off: it may have been taken over"
    assert waited_s < 4.0
    link.close()
    journal.close()


def test_a_second_computer_of_the_same_name_is_refused_until_it_takes_the_place(
    tmp_path: Path, database_server: DatabaseServer
) -> None:
    url = database_server.fresh()
    for folder in ("one", "two"):
        journal = opened(tmp_path / folder)
        tell(journal, 0, 10 if folder == "one" else 25)
        if folder == "one":
            moved = move(journal, url)
        else:
            with pytest.raises(AnotherHome, match="another name"):
                move(journal, url)
            moved = move(journal, url, instead=True)
            carrying = courier(journal, url)
            assert carrying.once().rows == 0, "all is there already"
            carrying.close()
        assert moved.whole and moved.rows == sum(counts(journal.ask, "bench1").values())
        journal.close()


def test_two_benches_cannot_both_cast_in_a_mould_of_one_name(
    tmp_path: Path, database_server: DatabaseServer
) -> None:
    url = database_server.fresh()
    troubles = []
    for bench_id in ("north", "south"):
        journal = opened(tmp_path, bench_id)
        tell(journal, 0, 10)
        carrying = courier(journal, url)
        carrying.once()
        troubles.append(carrying.trouble)
        carrying.close()
        journal.close()
    assert troubles[0] == ""
    assert "beaker" in troubles[1]


def test_a_word_from_another_page_is_taken_in_once_and_others_see_the_bench(
    tmp_path: Path, database_server: DatabaseServer
) -> None:
    url = database_server.fresh()
    journal, link = opened(tmp_path), Link(url)
    bench = next(iter(story(1))).step.bench
    assert journal.path is not None
    heard: list[Word] = []

    def hear(word: Word) -> str:
        heard.append(word)
        said = Said(word.what, 1.0, AT, word.mould, who=word.who, word_id=word.word_id)
        journal.add(Step(bench), said)
        return ""

    carrying = Courier(journal, Awaiting(journal.path, "bench1"), Link(url), None, hear)
    tell(journal, 0, 5)
    carrying.once()
    numbers = iter(range(7, 99))
    word = Word("bench1", What.TIPPED, "beaker", who="Ada")
    link.do(lambda shared: say(shared, "bench2", word, lambda: next(numbers)))
    for _ in range(3):
        carrying.once()
    again = Courier(journal, Awaiting(journal.path, "bench1"), Link(url), None, hear)
    again.once()
    assert [one.word_id for one in heard] == ["bench2:7"]
    (seen,) = link.do(lambda shared: other_benches(shared, "bench2"))
    assert seen.bench_id == "bench1" and {mould.name for mould in seen.moulds} >= {"beaker"}
    for one in (carrying, again, link, journal):
        one.close()


SENDER = """
import sys, time
from pathlib import Path
from watcher.storage.journal import open_journal
from watcher.storage.link import Link
from watcher.storage.shared_outbox import SharedOutbox
folder, bench_id, url, dies = sys.argv[1:]
journal = open_journal(f"sqlite:///{folder}/{bench_id}/journal.db", bench_id)
outbox = SharedOutbox(journal.outbox, Link(url), bench_id)
began = time.monotonic()
while time.monotonic() - began < 60.0:
    outgoing = outbox.claim("phone", time.monotonic())
    if outgoing is None:
        time.sleep(0.2)
        continue
    if dies != "no":
        print("claimed", flush=True)
        time.sleep(60.0)
    print(f"{'repeat' if outgoing.repeat else 'first'} {outgoing.letter.alert_ids[0]}", flush=True)
    outbox.told(outgoing)
"""


@pytest.mark.parametrize("end", [signal.SIGKILL, signal.SIGSTOP])
def test_letters_of_a_bench_that_was_killed_or_stopped_while_sending_go_out_by_another(
    tmp_path: Path, database_server: DatabaseServer, end: signal.Signals
) -> None:
    url = database_server.fresh()
    journal = opened(tmp_path, "north")
    letter = Letter("phone", "beaker", "tip it", 0.0, AT, ("north/beaker/1/ready",))
    journal.outbox.put([letter, replace(letter, alert_ids=("north/beaker/2/ready",))])
    carrying = courier(journal, url)
    carrying.once()
    carrying.close()
    journal.close()

    def sender(bench_id: str, dies: str) -> subprocess.Popen[str]:
        command = [sys.executable, "-c", SENDER, str(tmp_path), bench_id, url, dies]
        return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)

    north = sender("north", "yes")
    south = None
    try:
        assert north.stdout is not None and north.stdout.readline() == "claimed\n"
        os.kill(north.pid, end)
        ended = time.monotonic()
        south = sender("south", "no")
        assert south.stdout is not None
        told = [south.stdout.readline().strip() for _ in range(2)]
        took_s = time.monotonic() - ended
    finally:
        for one in filter(None, (north, south)):
            one.kill()
            one.communicate()
    print(f"taken over {took_s:.1f} s after {end.name}")
    assert sorted(told) == ["repeat north/beaker/1/ready", "repeat north/beaker/2/ready"]
    assert took_s < 25.0  # ten seconds of lease, two between looks, and the start of a process
