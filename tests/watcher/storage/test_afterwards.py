"""What became of casts is kept for good: findings, pieces with their own numbers, moulds on the scale."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

from journal_places import address

from watcher.records.afterwards import Finding, FindingKind, MouldWeighed, PieceMark, PieceStep, ToldKind
from watcher.storage.afterwards import Afterwards
from watcher.storage.journal import open_journal
from watcher.storage.telling import Telling

NOON = datetime(2026, 3, 5, 12, 0, tzinfo=UTC)


def opened(folder: Path) -> tuple[Afterwards, object]:
    journal = open_journal(address(folder), "bench1")
    return Afterwards(journal), journal


def test_a_fault_noted_weeks_later_is_still_there_after_a_restart(place: Path) -> None:
    after, journal = opened(place)
    late = NOON + timedelta(days=30)
    first = after.find("c1", FindingKind.STUCK, NOON, who="Ada")
    after.find("c2", FindingKind.THIN, NOON)
    after.find("c1", FindingKind.HOT_SPOT, late, note="only in the glaze")
    journal.close()
    after, journal = opened(place)
    assert after.findings("c1") == (
        Finding(first.finding_id, "c1", FindingKind.STUCK, NOON, "", "Ada"),
        Finding(after.findings("c1")[1].finding_id, "c1", FindingKind.HOT_SPOT, late, "only in the glaze"),
    )
    assert len(after.findings()) == 3
    journal.close()


def test_what_was_noted_by_mistake_is_taken_back(place: Path) -> None:
    after, journal = opened(place)
    wrong = after.find("c1", FindingKind.CRACK, NOON)
    after.take_back(wrong.finding_id)
    assert after.findings("c1") == ()
    journal.close()


def test_each_piece_gets_a_number_of_its_own_however_many_phones_ask_at_once(place: Path) -> None:
    after, journal = opened(place)
    with ThreadPoolExecutor(6) as phones:
        made = list(phones.map(lambda n: after.number_piece(f"c{n}", "beaker", NOON), range(30)))
    assert sorted(piece.number for piece in made) == list(range(1, 31))
    assert after.number_piece("c7", "beaker", NOON).number == made[7].number
    journal.close()


def test_a_pieces_steps_are_told_in_their_order_with_cone(place: Path) -> None:
    after, journal = opened(place)
    piece = after.number_piece("c1", "cream jug", NOON)
    after.mark(piece.number, PieceMark(PieceStep.FETTLED, NOON + timedelta(days=1)))
    after.mark(piece.number, PieceMark(PieceStep.BISQUE, NOON + timedelta(days=3), "04"))
    (found,) = after.pieces("c1")
    assert [(mark.step, mark.cone) for mark in found.marks] == [
        (PieceStep.FETTLED, ""),
        (PieceStep.BISQUE, "04"),
    ]
    assert not found.scrapped
    after.mark(piece.number, PieceMark(PieceStep.SCRAPPED, NOON + timedelta(days=4)))
    assert after.pieces()[0].scrapped
    journal.close()


def test_what_was_told_is_kept_and_taken_back(place: Path) -> None:
    journal = open_journal(address(place), "bench1")
    telling = Telling(journal)
    drier = telling.keep("beaker", ToldKind.DRIER, NOON, 6.0, warmth_c=40.0)
    trimmings = telling.keep("beaker", ToldKind.RECLAIM, NOON, 82.5, cast_id="c1")
    telling.keep("planter", ToldKind.UNWATCHED, NOON, 1.0)
    journal.close()
    journal = open_journal(address(place), "bench1")
    telling = Telling(journal)
    assert telling.told("beaker") == (drier, trimmings)
    assert telling.told("", ToldKind.RECLAIM) == (trimmings,)
    telling.take_back(drier.told_id)
    assert telling.told("beaker") == (trimmings,)
    journal.close()


def test_weighings_are_kept_by_mould(place: Path) -> None:
    after, journal = opened(place)
    after.weigh("beaker", NOON, 2.45)
    after.weigh("planter", NOON, 3.1)
    assert after.weighings("beaker") == (MouldWeighed("beaker", NOON, 2.45),)
    journal.close()
