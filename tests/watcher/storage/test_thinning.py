"""Old readings become fewer, casts stay, and what is worked out from them hardly changes."""

from __future__ import annotations

from pathlib import Path

from bench_stories import CAST_STEPS, story
from journal_places import address
from sqlalchemy import func, select

from watcher.storage.journal import Journal, open_journal
from watcher.storage.schema import READINGS
from watcher.storage.thinning import KEEP_ALL_S


def opened(folder: Path) -> Journal:
    return open_journal(address(folder), "bench1")


def told(folder: Path, steps: int) -> Journal:
    journal = opened(folder)
    for one in story(steps):
        journal.add(one.step, one.said, durable=one.number == steps - 1)
    return journal


def count(journal: Journal) -> int:
    return journal.ask(lambda c: int(c.execute(select(func.count()).select_from(READINGS)).scalar_one()))


def thinned(journal: Journal, now_s: float) -> None:
    journal.thin(now_s)


def test_readings_of_old_casts_become_one_a_minute_with_their_first_and_last(place: Path) -> None:
    journal = told(place, 3 * CAST_STEPS)
    before = journal.casts("beaker")
    thinned(journal, KEEP_ALL_S + 1e6)
    after = journal.casts("beaker")
    journal.close()
    assert [cast.cast_id for cast in after] == [cast.cast_id for cast in before]
    for old, new in zip(before[1:], after[1:], strict=True):
        for thick, filling in zip(old.fillings, new.fillings, strict=True):
            assert filling.readings[0] == thick.readings[0]
            assert filling.readings[-1] == thick.readings[-1]
            # 100 s of readings every 5 s: at most 3 begun minutes and the last one
            assert len(filling.readings) <= 4 < len(thick.readings)
        assert new.drop_mm == old.drop_mm


def test_young_readings_and_a_cast_still_in_its_mould_are_left_alone(tmp_path: Path) -> None:
    journal = told(tmp_path, 3 * CAST_STEPS)
    whole = count(journal)
    thinned(journal, KEEP_ALL_S - 1.0)
    assert count(journal) == whole
    thinned(journal, KEEP_ALL_S + 1e6)
    held = journal.casts("beaker", 1)[0]
    journal.close()
    assert sum(len(filling.readings) for filling in held.fillings) == 35  # steps 1 to 35 of the story


def test_thinning_twice_takes_nothing_more(tmp_path: Path) -> None:
    journal = told(tmp_path, 3 * CAST_STEPS)
    thinned(journal, KEEP_ALL_S + 1e6)
    once = count(journal)
    thinned(journal, KEEP_ALL_S + 2e6)
    assert count(journal) == once
    journal.close()
