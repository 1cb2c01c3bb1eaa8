"""The desk finds a bench's days and casts again, and gives them as tables that no spreadsheet runs."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

import pytest
from past_days import SINKS, Poured, opened, remember

from models.mould import checked_mould
from models.slip import Slip
from watcher.desk import tables
from watcher.desk.local_day import day_of, span_of
from watcher.desk.memory import BenchMemory
from watcher.desk.slip_paper import slips_of_today
from watcher.records.afterwards import FindingKind
from watcher.records.layout import BenchLayout, PlacedMould
from watcher.storage.papers import PaperKind

ZONE = "Europe/Berlin"
LAYOUT = BenchLayout(
    "bench",
    None,
    (),
    tuple(
        PlacedMould(name, checked_mould(name, [[0, 70], [90, 56]], target_wall_mm=2.6))
        for name in ("beaker", "planter")
    ),
)
NIGHT = datetime(2026, 3, 4, 23, 30, tzinfo=UTC)  # half past midnight of the 5th in Berlin
CASTS = [
    Poured("beaker", 1, datetime(2026, 3, 4, 8, 0, tzinfo=UTC), 20.0),
    Poured("planter", 1, datetime(2026, 3, 4, 9, 0, tzinfo=UTC), 16.0, k=0.5),
    Poured("beaker", 2, NIGHT, 20.0),
]


@pytest.fixture(scope="module")
def memory(tmp_path_factory: pytest.TempPathFactory) -> Iterator[BenchMemory]:
    journal, found = opened(tmp_path_factory.mktemp("desk"))
    remember(journal, LAYOUT, CASTS, pictures=found, jpeg=b"\xff\xd8picture\xff\xd9", every_min=2.0)
    yield found
    journal.close()


def test_the_day_in_which_the_clocks_change_has_23_hours() -> None:
    begins, ends = span_of(date(2026, 3, 29), ZONE)  # the last Sunday of March, EU summer time
    assert (begins, ends - begins) == (datetime(2026, 3, 28, 23, tzinfo=UTC), timedelta(hours=23))
    assert day_of(NIGHT, ZONE) == date(2026, 3, 5) and day_of(NIGHT, "UTC") == date(2026, 3, 4)


def test_casts_are_found_by_the_bench_s_own_days(memory: BenchMemory) -> None:
    assert memory.days() == {date(2026, 3, 5): 1, date(2026, 3, 4): 2}
    assert [cast.cast_id for cast in memory.casts_of(date(2026, 3, 4))] == [
        CASTS[1].cast_id,
        CASTS[0].cast_id,
    ]
    assert [cast.cast_id for cast in memory.casts_of(date(2026, 3, 4), 2, "beaker")] == [
        CASTS[2].cast_id,
        CASTS[0].cast_id,
    ]


def test_a_cast_comes_with_its_pictures_and_what_was_foretold(memory: BenchMemory) -> None:
    cast = memory.cast(CASTS[0].cast_id)
    assert cast is not None and cast.tipped_at == CASTS[0].full_at + timedelta(minutes=20)
    pictures = memory.pictures(cast, NIGHT)
    assert len(pictures) == 21  # one a minute, from full to tip
    assert memory.picture("beaker", pictures[3].taken_at) == b"\xff\xd8picture\xff\xd9"
    assert memory.picture("../../etc/passwd", pictures[3].taken_at) is None
    assert len(memory.foretold(cast.cast_id)) == 10


def test_every_cast_stands_in_the_table_with_the_figures_it_ended_with(memory: BenchMemory) -> None:
    rows = list(csv.DictReader(io.StringIO("".join(tables.cast_table(memory, memory.all_casts())))))
    assert [row["mould"] for row in rows] == ["beaker", "planter", "beaker"]
    # 20 min at K = 0.35 make sqrt(7) = 2.646 mm; it was read from 2 min (0.837 mm) on
    assert float(rows[0]["wall_mm"]) == pytest.approx(2.646, abs=0.001)
    assert float(rows[0]["drop_mm"]) == pytest.approx(SINKS * (2.6458 - 0.8367), abs=0.01)
    assert float(rows[0]["minutes"]) == pytest.approx(20.0)
    assert rows[0]["poured_at"] == "2026-03-04T07:59:20Z"


def test_the_readings_table_holds_every_reading(memory: BenchMemory) -> None:
    rows = list(csv.DictReader(io.StringIO("".join(tables.reading_table(memory, memory.all_casts())))))
    assert len(rows) == 11 + 9 + 11
    assert {row["kind"] for row in rows} == {"pour"}


def test_a_note_that_looks_like_a_formula_is_text_in_the_table(memory: BenchMemory) -> None:
    memory.after.find(CASTS[0].cast_id, FindingKind.OTHER, NIGHT, note='=HYPERLINK("http://example.com")')
    table = tables.fault_table(memory, memory.all_casts())
    assert "'=HYPERLINK" in table and ",=HYPERLINK" not in table and ',"=HYPERLINK' not in table


def test_only_slips_kept_today_count_each_from_its_own_moment_on(memory: BenchMemory) -> None:
    def text(gravity: float) -> str:
        return f"[slip]\nspecific_gravity = {gravity}\ncake_solids_fraction = 0.62\n"

    today = datetime(2026, 3, 5, 7, 0, tzinfo=UTC)
    memory.keep(PaperKind.SLIP, "slip", text(1.70), why="", at=today - timedelta(days=1))
    memory.keep(PaperKind.SLIP, "slip", text(1.74), why="good", at=today)
    memory.keep(PaperKind.SLIP, "slip", text(1.78), why="", at=today + timedelta(hours=2))
    found = slips_of_today(memory, Slip(1.76, 0.62), 50_000.0, today + timedelta(hours=3))
    assert [(at_s, slip.specific_gravity) for at_s, slip in found] == [
        (50_000.0 - 3 * 3600.0, 1.74),
        (50_000.0 - 3600.0, 1.78),
    ]
