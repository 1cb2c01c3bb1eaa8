"""What no camera saw counts all the same: casts while unwatched, hours in a drier, spare and trimmings."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from types import MappingProxyType

import psychrolib
import pytest

from models.air import Room
from models.mould import checked_mould
from models.slip import Slip
from watcher.desk.mould_diary import dampness_of, diary_of
from watcher.desk.reclaim import reclaim_sums
from watcher.desk.unseen import airs, warmed_air, with_unwatched
from watcher.desk.wishes import DayWishes, MouldWish
from watcher.records.afterwards import MouldWeighed, Told, ToldKind
from watcher.records.kept import KeptCast

NOON = datetime(2026, 3, 5, 12, 0, tzinfo=UTC)
WISHES = DayWishes(NOON.date(), moulds=MappingProxyType({"beaker": MouldWish(1, 2.0)}))
SLIP = Slip(1.75, 0.606)


def told(
    number: int, kind: ToldKind, at: datetime, amount: float = 1.0, warmth_c: float | None = None
) -> Told:
    return Told(number, "beaker", kind, at, amount, warmth_c)


def profile():
    return checked_mould("beaker", [(0.0, 60.0), (100.0, 60.0)], target_wall_mm=(4.0, 5.0))


def free_water(*tale: Told, weighed_kg: float = 2.3) -> float:
    """Water in the plaster at noon, of a mould weighed at six in the morning."""
    scale = [MouldWeighed("beaker", NOON - timedelta(hours=6), weighed_kg)]
    diary = diary_of(profile(), SLIP, [], scale, WISHES, tale)
    assert diary is not None
    damp = dampness_of(diary, NOON, profile())
    assert damp is not None
    return damp.free_water.value


def test_a_drier_holds_the_room_s_own_water_as_a_reference_library_has_it() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    ratio = psychrolib.GetHumRatioFromRelHum(20.0, 0.5, 101325.0)
    wanted = psychrolib.GetRelHumFromHumRatio(40.0, ratio, 101325.0)
    assert warmed_air(Room(20.0, 0.5), 40.0).relative_humidity == pytest.approx(wanted, rel=1e-3)


def test_a_mould_out_of_the_drier_is_drier_than_one_that_stood_in_the_room() -> None:
    room = free_water()
    warm = free_water(told(1, ToldKind.DRIER, NOON, 4.0, 40.0))
    longer = free_water(told(1, ToldKind.DRIER, NOON, 6.0, 40.0))
    assert longer < warm < room - 0.005


def test_a_cast_that_nobody_watched_leaves_its_water_in_the_mould() -> None:
    dry, cast = free_water(), free_water(told(1, ToldKind.UNWATCHED, NOON - timedelta(hours=1)))
    # 60 mm wide and 100 mm deep it wets 217 cm2: 4 mm of wall are 87 mL of cake, which gave up 0.29 of its
    # volume in water (0.606 / 0.469 - 1, mass balance [S28]), 25 mL, and 10 mL more as it stiffens from 0.25
    # to 0.18 of its dry mass: 35 mL in 2 kg of plaster are 1.8 %, of which an hour dries a little
    assert 0.010 < cast - dry < 0.020


def test_told_casts_count_in_the_day_and_stand_in_their_order() -> None:
    watched = KeptCast("w", "beaker", 1, 0.0, NOON - timedelta(hours=2), 60.0, NOON, False)
    tale = [told(1, ToldKind.UNWATCHED, NOON - timedelta(hours=1)), told(2, ToldKind.DRIER, NOON, 3.0, 40.0)]
    merged = with_unwatched([watched], tale)
    assert [cast.cast_id for cast in merged] == ["unwatched 1", "w"]


def test_driers_that_overlap_are_counted_once() -> None:
    tale = [
        told(1, ToldKind.DRIER, NOON, 4.0, 40.0),
        told(2, ToldKind.DRIER, NOON + timedelta(hours=1), 4.0, 45.0),
    ]
    room = Room(20.0, 0.5)
    noon_h = NOON.timestamp() / 3600.0
    found = airs(room, noon_h - 10.0, tale)
    assert [air.from_h - noon_h for air in found] == pytest.approx([-10.0, -4.0, 0.0, 0.0, 1.0])
    assert [air.room.temperature_c for air in found] == [20.0, 40.0, 20.0, 45.0, 20.0]


def test_reclaim_is_added_up_by_day_and_by_slip() -> None:
    rows = [
        Told(n, "beaker", ToldKind.RECLAIM, NOON + timedelta(days=day), grams, None, cast)
        for n, (day, grams, cast) in enumerate(
            [(0, 80.0, "a"), (0, 20.5, "a"), (0, 60.0, "b"), (1, 5.0, "c")]
        )
    ]
    sums = reclaim_sums([*rows, told(9, ToldKind.UNWATCHED, NOON)], {"a": "1.750", "c": "1.740"}, "UTC")
    assert [(one.day, one.slip, one.grams, one.casts) for one in sums] == [
        (date(2026, 3, 6), "1.740", 5.0, 1),
        (date(2026, 3, 5), "1.750", 100.5, 1),
        (date(2026, 3, 5), "", 60.0, 1),
    ]
