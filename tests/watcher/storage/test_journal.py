"""What the bench was told is remembered exactly, restored after a stop, and never lost to a bad disk."""

from __future__ import annotations

import os
import sqlite3
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from bench_stories import CAST_STEPS, START, at, comes_back, story, without_looks
from journal_places import address
from sqlalchemy import select

from watcher.clock import Moment
from watcher.records.bench import Bench, FillingKind, Reading, Stage, Step
from watcher.records.notices import AlarmState
from watcher.records.readings import Contents
from watcher.records.said import Said, What
from watcher.storage.engine import JournalUnusable
from watcher.storage.journal import Journal, open_journal
from watcher.storage.papers import PaperKind, content_hash
from watcher.storage.restoring import JUST_STARTED
from watcher.storage.schema import EVENTS, READINGS, SAID
from watcher.storage.writer import JournalFailed


def opened(folder: Path, bench_id: str = "bench1") -> Journal:
    return open_journal(address(folder), bench_id)


def tell(journal: Journal, steps: int, *, start: int = 0) -> Bench:
    """Tell the journal the story; return the bench as it stands at the end."""
    bench = None
    for told in story(steps, bench_id=journal._bench_id):
        bench = told.step.bench
        if told.number >= start:
            journal.add(told.step, told.said, told.letters)
    assert bench is not None
    journal.add(Step(bench), durable=True)
    return bench


@pytest.mark.parametrize("steps", [1, 19, 25, 33, 38, 57, 100])
def test_a_bench_comes_back_as_it_stood(place: Path, steps: int) -> None:
    journal = opened(place)
    bench = tell(journal, steps)
    journal.close()
    again = opened(place)
    restored = again.restore()
    again.close()
    assert without_looks(restored.moulds) == comes_back(bench, JUST_STARTED)
    assert restored.alerts == bench.alerts


def test_a_restart_in_the_middle_of_a_cast_leaves_the_same_rows_as_none(
    place: Path, other_place: Path
) -> None:
    whole, cut = place, other_place
    journal = opened(whole)
    tell(journal, 70)
    undisturbed = journal.casts()
    journal.close()
    for stop in (7, 23, 41, 70):
        journal = opened(cut)
        done = 0 if journal.last_moment() is None else round(journal.last_moment().at_s / 5.0) + 1
        tell(journal, stop, start=done)
        casts = journal.casts()
        journal.close()
    assert casts == undisturbed
    assert [cast.fillings[1].kind for cast in casts if cast.tipped_s] == [FillingKind.TOP_UP] * 2


def test_what_waits_for_a_second_look_is_not_asked_for_twice_more(place: Path) -> None:
    journal = opened(place)
    bench = tell(journal, 10)
    state = bench.moulds["beaker"]
    doubting = replace(
        state,
        pending=(Reading(45.0, 30.25, 0.2, 0.1, 1, 0.8, 0.9, 0.1), Reading(50.0, 30.5, 0.2, 0.1, 1)),
        doubt=Contents.AWAY,
        doubt_since_s=45.0,
    )
    journal.add(Step(replace(bench, moulds={**bench.moulds, "beaker": doubting})), durable=True)
    journal.close()
    again = opened(place)
    restored = again.restore().moulds["beaker"]
    again.close()
    assert (restored.pending, restored.doubt, restored.doubt_since_s) == (
        doubting.pending,
        Contents.AWAY,
        45.0,
    )


def test_an_answered_alert_stays_answered_after_a_restart(place: Path) -> None:
    journal = opened(place)
    tell(journal, 38)
    journal.close()
    again = opened(place)
    alerts = again.restore().alerts
    again.close()
    assert [alert.state for alert in alerts] == [AlarmState.ACKNOWLEDGED]
    assert alerts[0].acked_at == at(36 * 5.0)


def test_letters_about_an_answered_alert_are_not_sent_any_more_even_after_a_restart(place: Path) -> None:
    journal = opened(place)
    bench = tell(journal, 32)
    (alert,) = bench.alerts
    assert journal.outbox.withdraw({alert.alert_id}) == 1
    assert journal.outbox.claim("phone", 1e9) is None
    journal.close()
    again = opened(place)
    assert again.outbox.waiting() == ()
    again.close()


def test_earlier_casts_come_with_readings_verdict_and_notes_newest_first(place: Path) -> None:
    journal = opened(place)
    bench = tell(journal, 2 * CAST_STEPS + 10)
    first = f"bench1/beaker/{0}"
    for what, note in ((What.TOO_THIN, ""), (What.CAME_OUT_RIGHT, ""), (What.NOTE, "thin at the foot")):
        said = Said(what, 405.0, at(405.0), mould="beaker", note=note)
        # said of the cast that stands in the mould now
        journal.add(Step(bench), said, durable=True)
    casts = journal.casts("beaker")
    journal.close()
    assert [cast.number_today for cast in casts] == [3, 2, 1]
    assert casts[0].verdict == "came_out_right"
    assert casts[0].notes == ("thin at the foot",)
    assert casts[-1].cast_id == first
    assert casts[-1].verdict == ""
    drop = casts[-1].drop_mm
    assert drop is not None
    # 0.9 mm/sqrt(s) over both fillings of the story, first to last reading, and its saw-tooth of 0.01 mm
    by_hand_mm = 0.9 * ((96.0**0.5 - 6.0**0.5) + (76.0**0.5 - 1.0)) + 0.01 * (
        (19 % 3 - 1 % 3) + (35 % 3 - 20 % 3)
    )
    assert drop[0] == pytest.approx(by_hand_mm, abs=1e-9)
    assert drop[1] == pytest.approx(0.05 * 2.0)


def test_a_pour_that_was_none_is_not_counted_among_the_casts(place: Path) -> None:
    journal = opened(place)
    told = next(iter(story(1)))
    filling = replace(told.step.bench.moulds["beaker"], stage=Stage.FILLING)
    bench = replace(told.step.bench, moulds={"beaker": filling})
    journal.add(Step(bench))
    journal.add(Step(bench), durable=True)
    assert len(journal.casts("beaker")) == 1
    taken_back = replace(filling, stage=Stage.EMPTY, cast=None, casts_today=0)
    journal.add(Step(replace(bench, moulds={"beaker": taken_back})), durable=True)
    assert journal.casts("beaker") == ()
    journal.close()


def test_a_top_up_that_is_taken_back_takes_its_readings_with_it(place: Path) -> None:
    journal = opened(place)
    bench = tell(journal, 24)
    state = bench.moulds["beaker"]
    assert state.cast is not None
    one = replace(state, cast=replace(state.cast, fillings=state.cast.fillings[:1]))
    journal.add(Step(replace(bench, moulds={**bench.moulds, "beaker": one})), durable=True)
    casts = journal.casts("beaker")
    left = journal.ask(lambda connection: connection.execute(select(READINGS.c.filling_seq).distinct()).all())
    journal.close()
    assert casts[0].fillings == state.cast.fillings[:1]
    assert len(left) == 2, "one filling of each mould"


def test_profile_versions_are_only_added_and_a_cast_names_the_one_it_was_cast_by(place: Path) -> None:
    journal = opened(place)
    noon = datetime(2026, 3, 3, 12, tzinfo=UTC)
    first = journal.keep(PaperKind.PROFILE, "beaker", "target_wall_mm = 2.4\n", why="measured", at=noon)
    same = journal.keep(PaperKind.PROFILE, "beaker", "target_wall_mm = 2.4\n", why="saved again", at=noon)
    second = journal.keep(PaperKind.PROFILE, "beaker", "target_wall_mm = 3.0\n", why="too thin", at=noon)
    back = journal.keep(PaperKind.PROFILE, "beaker", "target_wall_mm = 2.4\n", why="was right", at=noon)
    tell(journal, 3)
    kept = journal.versions(PaperKind.PROFILE, "beaker")
    casts = journal.casts("beaker")
    journal.close()
    assert (first.version, same.version, second.version, back.version) == (1, 1, 2, 3)
    assert [paper.version for paper in kept] == [3, 2, 1]
    # SHA-256 of the text by the coreutils tool: printf 'target_wall_mm = 2.4\n' | sha256sum
    assert first.content_hash == "792707f09c6c24fac20a874df3593f9d6d45d74af19156222a769bda540f443b"
    assert casts[0].profile_hash == content_hash("target_wall_mm = 2.4\n")


def test_two_benches_share_one_database_without_mixing(place: Path) -> None:
    left = opened(place, "left")
    tell(left, 30)
    left.close()
    right = opened(place, "right")
    assert right.last_moment() is None
    tell(right, 10)
    assert {cast.cast_id.split("/")[0] for cast in right.casts()} == {"right"}
    rows = right.ask(lambda c: c.execute(select(EVENTS.c.bench_id, EVENTS.c.seq)).all())
    right.close()
    assert len(set(rows)) == len(rows)


def test_numbers_never_come_twice_even_after_rows_were_taken_out(place: Path) -> None:
    journal = opened(place)
    tell(journal, 30)
    before = journal._writer.desk.numbers.last
    journal.write(lambda connection: connection.exec_driver_sql("DELETE FROM readings") and None)
    journal.close()
    again = opened(place)
    assert again._writer.desk.numbers.take() > before - 1
    again.close()


def test_the_clock_of_the_last_run_is_given_back(place: Path) -> None:
    journal = opened(place)
    journal.began(Moment(0.0, START, "boot-a", 120.0))
    bench = tell(journal, 20)
    journal.close()
    again = opened(place)
    last = again.last_moment()
    again.close()
    assert last == Moment(bench.now_s, at(bench.now_s), "boot-a", 120.0)


def test_a_second_service_is_refused_with_a_sentence(tmp_path: Path) -> None:
    journal = opened(tmp_path)
    with pytest.raises(JournalUnusable, match="another Tipbell"):
        opened(tmp_path)
    journal.close()
    journal.close()
    opened(tmp_path).close()


def test_a_journal_from_a_newer_version_is_left_alone(tmp_path: Path) -> None:
    opened(tmp_path).close()
    with sqlite3.connect(tmp_path / "journal.db") as raw:
        raw.execute("UPDATE alembic_version SET version_num = '9999'")
    raw.close()
    with pytest.raises(JournalUnusable, match="newer Tipbell"):
        opened(tmp_path)


def test_a_damaged_file_is_refused_with_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "journal.db").write_bytes(b"not a database, but long enough to look at" * 40)
    with pytest.raises(JournalUnusable, match="newest backup"):
        opened(tmp_path)


def test_a_disk_that_refuses_is_told_and_what_waited_is_written_when_it_is_well_again(tmp_path: Path) -> None:
    journal = opened(tmp_path)
    tell(journal, 5)
    # the database's own limit on its size stands in for a full disk: the same code comes back from SQLite
    pages = journal.write(lambda c: c.exec_driver_sql("PRAGMA page_count").scalar())
    with journal._writer._engine.connect() as connection:
        connection.exec_driver_sql(f"PRAGMA max_page_count={pages}")
    stories = list(story(300))
    with pytest.raises(JournalFailed, match="disk is full"):
        for told in stories[5:290]:
            journal.add(told.step, told.said, told.letters, durable=True)
    failed_at = told.number
    assert "disk is full" in journal.trouble
    for told in stories[failed_at + 1 : 295]:
        journal.add(told.step, told.said, told.letters)
    assert journal.outbox.waiting(), "a full disk must not silence an alarm"
    with journal._writer._engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count=1000000")
    for told in stories[295:]:
        journal.add(told.step, told.said, told.letters)
    journal.add(Step(stories[-1].step.bench), durable=True)
    assert journal.trouble == ""
    kept = journal.casts()
    events = journal.ask(lambda c: len(c.execute(select(EVENTS.c.seq)).all()))
    said = journal.ask(lambda c: len(c.execute(select(SAID.c.seq)).all()))
    journal.close()
    other = opened(tmp_path / "other")
    tell(other, 300)
    assert [cast.fillings for cast in kept] == [cast.fillings for cast in other.casts()]
    other.close()
    assert events == sum(len(told.step.events) for told in stories)
    assert said == sum(told.said is not None for told in stories)


def test_opening_and_closing_leaves_no_file_open(tmp_path: Path) -> None:
    opened(tmp_path).close()
    before = len(os.listdir("/proc/self/fd"))
    for _ in range(8):
        journal = opened(tmp_path)
        tell(journal, 2)
        journal.casts()
        journal.close()
    assert len(os.listdir("/proc/self/fd")) == before
