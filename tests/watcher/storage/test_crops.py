"""Pictures are kept by the day, found again, and never fill the disk."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from small_disks import small_disk

from watcher.storage.crops import Budget, Crops, safe_name

NOON = datetime(2026, 3, 3, 12, 0, tzinfo=UTC)
ROOMY = Budget(free_bytes=0)


def test_pictures_come_back_in_their_order_with_their_moments(tmp_path: Path) -> None:
    crops = Crops(tmp_path, ROOMY)
    moments = [NOON + timedelta(seconds=5.25 * number) for number in range(4)]
    for number in (2, 0, 3, 1):
        crops.keep("beaker", moments[number], bytes([number]))
    crops.keep("cream jug", NOON, b"other")
    found = crops.pictures("beaker", NOON, NOON + timedelta(seconds=11))
    assert [kept.taken_at for kept in found] == moments[:3]
    assert [kept.path.read_bytes() for kept in found] == [b"\0", b"\1", b"\2"]


def test_a_cast_over_midnight_is_found_whole_and_the_day_is_that_of_utc(tmp_path: Path) -> None:
    crops = Crops(tmp_path, ROOMY)
    berlin = timezone(timedelta(hours=1))
    for hour, minute in ((0, 58), (1, 2)):
        crops.keep("beaker", datetime(2026, 3, 4, hour, minute, tzinfo=berlin), b"x")
    assert sorted(day.name for day in tmp_path.iterdir()) == ["2026-03-03", "2026-03-04"]
    assert len(crops.pictures("beaker", NOON, NOON + timedelta(days=1))) == 2


def test_the_oldest_days_go_when_there_are_too_many_bytes_or_days(tmp_path: Path) -> None:
    crops = Crops(tmp_path, Budget(most_bytes=2500, most_days=30, free_bytes=0))
    for back in range(6):
        crops.keep("beaker", NOON - timedelta(days=back), b"x" * 1000)
    assert crops.prune(NOON) == 4000
    assert sorted(day.name for day in tmp_path.iterdir()) == ["2026-03-02", "2026-03-03"]
    assert crops.prune(NOON) == 0
    assert crops.prune(NOON + timedelta(days=31, hours=1)) == 2000
    assert list(tmp_path.iterdir()) == []


def test_a_nearly_full_disk_gets_no_more_pictures_and_old_ones_make_room(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk", 600) as disk:
        crops = Crops(disk, Budget(free_bytes=300_000))
        kept = [crops.keep("beaker", NOON + timedelta(seconds=n), b"x" * 20_000) for n in range(40)]
        assert None in kept
        assert "nearly full" in crops.trouble
        crops.keep("beaker", NOON + timedelta(days=1), b"x")
        crops.prune(NOON + timedelta(days=1))
        assert crops.keep("beaker", NOON + timedelta(days=1), b"x" * 20_000) is not None
        assert crops.trouble == ""


def test_a_half_written_picture_of_a_killed_service_is_not_shown(tmp_path: Path) -> None:
    crops = Crops(tmp_path, ROOMY)
    whole = crops.keep("beaker", NOON, b"whole")
    assert whole is not None
    whole.with_name("120005.000.part").write_bytes(b"hal")
    assert len(crops.pictures("beaker", NOON, NOON + timedelta(minutes=1))) == 1


@pytest.mark.parametrize(
    "name", ["../../etc", "/etc/passwd", "a/b", "..", "", "krug\n", "Krügchen 3", "x" * 300]
)
def test_no_mould_is_called_so_that_its_pictures_land_elsewhere(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "crops"
    path = Crops(folder, ROOMY).keep(name, NOON, b"x")
    assert path is not None
    assert path.resolve().is_relative_to(folder.resolve() / "2026-03-03")
    assert len(path.relative_to(folder).parts) == 3


def test_two_moulds_never_share_a_folder() -> None:
    names = ["a b", "a_b", "a/b", "a-b", "a:b", "", "_", "x" * 60 + "1", "x" * 60 + "2"]
    assert len({safe_name(name) for name in names}) == len(names)
