"""The slip kept while the bench is watched is that of the casts poured from then on, and of no others."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from models.mould import checked_mould
from models.slip import Slip
from watcher.pipeline import new_bench
from watcher.records.layout import BenchLayout, PlacedMould
from watcher.records.readings import Contents, HoleSighting, LevelReading, Sighting
from watcher.records.said import Said, What
from watcher.service.running import RunningBench

START = datetime(2026, 3, 5, 7, 0, tzinfo=UTC)
FILE, TODAY = Slip(1.76, 0.62), Slip(1.70, 0.62)
NAMES = ("beaker", "planter")


def at(moment_s: float) -> datetime:
    return START + timedelta(seconds=moment_s)


def poured(slips: dict[str, Slip]) -> dict[str, float]:
    """Pour the beaker, keep the slip of the day, pour the planter; levels alike. Return the walls, in mm."""
    profile = checked_mould("x", [[0, 64], [90, 64]], target_wall_mm=2.4)
    layout = BenchLayout("bench", None, (), tuple(PlacedMould(name, profile) for name in NAMES))
    running = RunningBench(new_bench(layout, FILE), now=lambda: (0.0, START))
    for name in NAMES:
        began_s = 1000.0 * (1 + NAMES.index(name))
        if name == "planter" and slips:
            running.use_slip(slips["planter"])
        running.tick(began_s, at(began_s))
        running.hear(Said(What.FILLED, began_s, at(began_s), mould=name))
        for n in range(1, 30):
            now_s = began_s + 20.0 * n
            level = LevelReading(4.0 + 0.55 * (20.0 * n / 60.0) ** 0.5 * 4.0, 0.2, 0.05)
            hole = HoleSighting(name, level, Contents.SLIP)
            running.take(Sighting("bench", now_s, at(now_s), (hole,)))
            running.tick(now_s, at(now_s))
    return {
        name: state.cast.estimate.wall_mm
        for name, state in running.bench().moulds.items()
        if state.cast is not None
    }


def test_the_next_cast_goes_by_the_new_slip_and_the_one_under_way_by_its_own() -> None:
    before, after = poured({}), poured({"planter": TODAY})
    assert after["beaker"] == pytest.approx(before["beaker"], rel=1e-6)
    # the same drop is the same water: the wall it stands for goes with 1/f, but for the ring of cake
    thinner = FILE.water_per_cake / TODAY.water_per_cake
    assert after["planter"] / before["planter"] == pytest.approx(thinner, abs=0.08)
    assert after["planter"] < 0.95 * before["planter"]
