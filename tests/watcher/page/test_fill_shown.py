"""A pour on the page: counted while it runs, followed by its stream, its height confirmed, its risk told."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from models.mould import checked_mould
from models.slip import Slip
from watcher.page.fill_view import fill_view
from watcher.pipeline import advance, new_bench
from watcher.records.bench import Bench
from watcher.records.layout import BenchLayout, PlacedMould
from watcher.records.readings import Contents, HoleSighting, LevelReading, Missed, Sighting
from watcher.records.streams import Glance, StreamSeen

START = datetime(2026, 3, 5, 7, 0, tzinfo=UTC)
LAYOUT = BenchLayout("b", None, (), (PlacedMould("jug", checked_mould("jug", [[0, 70], [90, 60]])),))


def at(moment_s: float) -> datetime:
    return START + timedelta(seconds=moment_s)


def look(bench: Bench, now_s: float, reading: LevelReading | Missed, contents: Contents) -> Bench:
    hole = HoleSighting("jug", reading, contents, hand_near=isinstance(reading, Missed))
    return advance(bench, Sighting("b", now_s, at(now_s), (hole,))).bench


def glance(bench: Bench, now_s: float, across_mm: float) -> Bench:
    return advance(bench, Glance(now_s, at(now_s), (StreamSeen("jug", across_mm, 1.0),))).bench


def test_a_pour_is_counted_followed_and_confirmed() -> None:
    bench = new_bench(LAYOUT, Slip(1.76, 0.62))
    bench = look(bench, 0.0, Missed.UNCERTAIN, Contents.EMPTY)
    assert fill_view(bench, bench.moulds["jug"]) is None
    bench = look(bench, 10.0, Missed.HAND, Contents.SLIP)
    for second in range(10, 32):
        bench = glance(bench, float(second), 6.0)
    fill = fill_view(bench, bench.moulds["jug"])
    assert fill is not None
    assert (fill["until"], fill["level_mm"], fill["across_mm"]) == (None, None, 6.0)
    assert fill["since"] == "2026-03-05T07:00:10.0Z"
    assert fill["one_spot_s"] == 21.0  # from 10 s to 31 s: more than 15 s on one spot
    bench = look(bench, 45.0, LevelReading(2.4, 0.2, 0.05), Contents.SLIP)
    bench = look(bench, 50.0, LevelReading(2.5, 0.2, 0.05), Contents.SLIP)
    fill = fill_view(bench, bench.moulds["jug"])
    assert fill is not None
    assert fill["until"] is not None and fill["level_mm"] == 2.4
    assert fill["across_mm"] is None and fill["one_spot_s"] == 21.0


def test_a_stream_that_wanders_is_no_risk_and_the_next_pour_begins_anew() -> None:
    bench = new_bench(LAYOUT, Slip(1.76, 0.62))
    bench = look(bench, 10.0, Missed.HAND, Contents.SLIP)
    for second in range(10, 50):
        bench = glance(bench, float(second), 12.0 if second // 4 % 2 else -12.0)
    fill = fill_view(bench, bench.moulds["jug"])
    assert fill is not None and fill["one_spot_s"] is None
