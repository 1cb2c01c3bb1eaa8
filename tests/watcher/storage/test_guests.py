"""Joined devices outlive a restart; the one that was taken out does not; the key itself lies nowhere."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from journal_places import address

from watcher.clock import ToldClock
from watcher.page.access.guestbook import GuestBook
from watcher.records.guests import Guest, Rights
from watcher.storage.guests import JournalGuests
from watcher.storage.journal import open_journal

AT = datetime(2026, 3, 5, 9, 0, tzinfo=UTC)
PHONE = Guest("a1", "Käthe's phone", Rights.ACT, AT, AT, "f" * 64)
TABLET = Guest("b2", "tablet by the shelf", Rights.LOOK, AT, AT, "0" * 64)


def url(folder: Path) -> str:
    return address(folder)


def test_who_joined_is_still_there_after_a_restart_and_who_was_taken_out_is_not(place: Path) -> None:
    journal = open_journal(url(place), "bench1")
    kept = JournalGuests(journal)
    kept.add(PHONE)
    kept.add(TABLET)
    later = replace(TABLET, seen_at=AT + timedelta(hours=3))
    kept.seen(later)
    kept.remove("a1")
    kept.remove("nobody")
    journal.close()
    again = open_journal(url(place), "bench1")
    assert JournalGuests(again).guests() == (later,)
    again.close()


def test_two_benches_in_one_database_have_their_own_guests(place: Path) -> None:
    for bench_id, guest in (("bench1", PHONE), ("bench2", TABLET)):
        journal = open_journal(url(place), bench_id)
        JournalGuests(journal).add(guest)
        JournalGuests(journal).remove("b2" if bench_id == "bench1" else "a1")
        assert JournalGuests(journal).guests() == (guest,)
        journal.close()


def test_a_key_can_not_be_read_out_of_the_journal(tmp_path: Path) -> None:
    journal = open_journal(url(tmp_path), "bench1")
    book = GuestBook(ToldClock(0.0, AT), JournalGuests(journal))
    guest, key = book.join(Rights.ACT, "phone")
    journal.close()
    for file in tmp_path.iterdir():
        assert key.encode() not in file.read_bytes(), file.name
    again = open_journal(url(tmp_path), "bench1")
    restarted = GuestBook(ToldClock(0.0, AT), JournalGuests(again))
    assert restarted.known(key) == guest
    assert restarted.known(guest.key_hash) is None  # what is kept opens nothing
    again.close()


def test_a_phone_that_cannot_be_kept_is_not_let_in(tmp_path: Path) -> None:
    journal = open_journal(url(tmp_path), "bench1")
    book = GuestBook(ToldClock(0.0, AT), JournalGuests(journal))
    with closing(sqlite3.connect(tmp_path / "journal.db")) as raw:
        raw.execute("DROP TABLE guests")
        raw.commit()
    with pytest.raises(OSError, match="no such table"):
        book.join(Rights.ACT, "phone")
    assert book.all() == ()
    journal.close()
