"""A copy made while the service writes is whole, and can be put back; nothing else is ever put back."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from threading import Event, Thread

import pytest
from bench_stories import comes_back, story, without_looks
from small_disks import small_disk
from sqlalchemy import URL

from watcher.storage.backup import BackupFailed, back_up, put_back
from watcher.storage.journal import Journal, open_journal
from watcher.storage.restoring import JUST_STARTED


def opened(folder: Path) -> Journal:
    return open_journal(
        URL.create("sqlite", database=str(folder / "journal.db")).render_as_string(), "bench1"
    )


def test_copies_made_while_it_is_written_each_hold_one_moment_of_the_story(tmp_path: Path) -> None:
    tale, stop = list(story(3000)), Event()
    journal = opened(tmp_path)

    def write() -> None:
        for told in tale:
            journal.add(told.step, told.said, told.letters, durable=told.number % 5 == 0)
            if stop.is_set():
                return

    writer = Thread(target=write)
    writer.start()
    copies = []
    while len(copies) < 5:
        try:
            copies.append(back_up(tmp_path / "journal.db", tmp_path / f"copy{len(copies)}" / "journal.db"))
        except BackupFailed as failed:
            assert "no such table" in str(failed) or "no journal" in str(failed)
    stop.set()
    writer.join()
    journal.close()
    reached = []
    for copy in copies:
        again = opened(copy.path.parent)
        last = again.last_moment()
        moulds = again.restore().moulds
        again.close()
        if last is None:
            continue
        reached.append(round(last.at_s / 5.0))
        assert without_looks(moulds) == comes_back(tale[reached[-1]].step.bench, JUST_STARTED)
    assert reached == sorted(reached)
    assert reached[-1] > 0


def test_a_copy_put_back_is_the_journal_and_what_stood_there_is_kept(tmp_path: Path) -> None:
    tale = list(story(90))
    journal = opened(tmp_path)
    for told in tale[:50]:
        journal.add(told.step, told.said, told.letters)
    journal.add(tale[49].step, durable=True)
    copy = back_up(tmp_path / "journal.db", tmp_path / "copies" / "monday.db")
    for told in tale[50:]:
        journal.add(told.step, told.said, told.letters)
    with pytest.raises(BackupFailed, match="stop it first"):
        put_back(copy.path, tmp_path / "journal.db")
    journal.close()
    put_back(copy.path, tmp_path / "journal.db")
    again = opened(tmp_path)
    assert without_looks(again.restore().moulds) == comes_back(tale[49].step.bench, JUST_STARTED)
    again.close()
    assert (tmp_path / "journal.db.before").exists()
    assert copy.casts == 3


def test_a_folder_with_an_awkward_name_is_a_folder_like_any_other(tmp_path: Path) -> None:
    folder = tmp_path / "Anna's bench #1, 50% & more?"
    journal = opened(folder)
    for told in story(10):
        journal.add(told.step, durable=True)
    assert len(journal.casts()) == 1
    back_up(folder / "journal.db", folder / "copy of it.db")
    journal.close()
    put_back(folder / "copy of it.db", folder / "journal.db")
    again = opened(folder)
    assert len(again.casts()) == 1
    again.close()


def test_a_damaged_copy_or_any_other_file_is_never_put_back(tmp_path: Path) -> None:
    journal = opened(tmp_path)
    for told in story(50):
        journal.add(told.step)
    journal.close()
    before = (tmp_path / "journal.db").read_bytes()
    copy = back_up(tmp_path / "journal.db", tmp_path / "copy.db")
    bytes_ = bytearray(copy.path.read_bytes())
    bytes_[len(bytes_) // 2 : len(bytes_) // 2 + 3000] = b"\xa5" * 3000
    copy.path.write_bytes(bytes_)
    (tmp_path / "letter.txt").write_text("no journal at all")
    with sqlite3.connect(tmp_path / "other.db") as other:
        other.execute("CREATE TABLE shopping (what TEXT)")
    other.close()
    for wrong in ("copy.db", "letter.txt", "other.db", "missing.db"):
        with pytest.raises(BackupFailed):
            put_back(tmp_path / wrong, tmp_path / "journal.db")
    assert (tmp_path / "journal.db").read_bytes() == before


def test_a_copy_for_which_there_is_no_room_leaves_the_older_copy_as_it_was(tmp_path: Path) -> None:
    journal = opened(tmp_path)
    for told in story(10):
        journal.add(told.step)
    with small_disk(tmp_path / "stick", 600) as stick:
        first = back_up(tmp_path / "journal.db", stick / "copy.db")
        for told in story(3000, bench_id="bench1"):
            journal.add(told.step, durable=told.number == 2999)
        with pytest.raises(BackupFailed, match="no room"):
            back_up(tmp_path / "journal.db", stick / "copy.db")
        assert (stick / "copy.db").stat().st_size == first.size_bytes
        assert [path.name for path in stick.iterdir()] == ["copy.db"]
    journal.close()
