"""The real thinking behind the page: a level that sinks by a volume balance of its own is told over HTTP.

Eyes, camera and disk are left out; fit, forecast, alerts, inbox and the page's door are the real ones.
"""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime, timedelta
from typing import Any

import httpx
import numpy as np
import pytest
from sinking import sinking_level, wall_mm

from models.mould import checked_mould
from models.slip import Slip
from watcher.page.app import make_app
from watcher.pipeline import new_bench
from watcher.records.layout import BenchLayout, PlacedMould
from watcher.records.readings import Contents, HoleSighting, LevelReading, Missed, Sighting
from watcher.service.running import RunningBench

START = datetime(2026, 3, 5, 9, 0, tzinfo=UTC)
SLIP = Slip(1.76, 0.63)
POURED_S, K, WANTED_MM = 100.0, 0.6, 2.4
READY_S = POURED_S + 60.0 * WANTED_MM**2 / K  # root-time law: 576 s after the pour
RIM = tuple((200.0 + 30.0 * np.sin(a), 300.0 + 40.0 * np.cos(a)) for a in np.linspace(0.0, 6.0, 12))


class Told:
    """A running bench whose clock and levels are told, and its page asked in process."""

    def __init__(self) -> None:
        profile = checked_mould("cream jug", [[0, 64], [90, 64]], target_wall_mm=WANTED_MM)
        layout = BenchLayout("bench", None, (), (PlacedMould("cream jug", profile),))
        self.now_s = 0.0
        self.levels = sinking_level(
            radius_mm=32.0,
            depth_mm=90.0,
            k_mm2_per_min=K,
            water_per_cake=SLIP.water_per_cake,
            full_mm=4.0,
            seconds=1200,
        )
        self.bench = RunningBench(
            new_bench(layout, SLIP, bench_id="window"), now=lambda: (self.now_s, self.at(self.now_s))
        )
        self.app = make_app(self.bench)

    def at(self, moment_s: float) -> datetime:
        return START + timedelta(seconds=moment_s)

    def go_on(self, until_s: float) -> None:
        """A frame every 10 s, a tick in between."""
        while self.now_s + 10.0 <= until_s:
            self.now_s += 10.0
            self.bench.take(Sighting("bench", self.now_s, self.at(self.now_s), (self._hole(),)))
            self.bench.tick(self.now_s + 1.0, self.at(self.now_s + 1.0))

    def _hole(self) -> HoleSighting:
        if self.now_s < POURED_S:
            return HoleSighting("cream jug", Missed.UNCERTAIN, Contents.EMPTY, rim_rc=RIM)
        noise = np.random.default_rng(int(self.now_s)).normal(0.0, 0.05)
        level_mm = self.levels[int(self.now_s - POURED_S)] + float(noise)
        return HoleSighting("cream jug", LevelReading(level_mm, 0.2, 0.05), Contents.SLIP, rim_rc=RIM)

    def ask(self, method: str, path: str, **more: Any) -> Any:
        async def go() -> httpx.Response:
            transport = httpx.ASGITransport(self.app, client=("127.0.0.1", 50000))
            async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as asking:
                return await asking.request(method, path, **more)

        answer = asyncio.run(go())
        assert answer.status_code == 200, answer.text
        return answer.json()

    def mould(self) -> Any:
        return self.ask("GET", "/bench.json")["moulds"][0]

    def seconds(self, moment: str) -> float:
        return (datetime.fromisoformat(moment) - START).total_seconds()


@pytest.fixture
def told() -> Told:
    return Told()


def test_half_way_the_page_foretells_the_tip_from_the_levels_alone(told):
    told.go_on(POURED_S + 288.0)
    mould = told.mould()
    assert (mould["phase"], mould["seen"], mould["cast_number"]) == ("casting", True, 1)
    assert mould["level_mm"] == pytest.approx(told.levels[int(told.now_s - POURED_S)], abs=0.25)
    truth_mm = wall_mm(K, told.now_s - POURED_S)
    assert mould["wall_mm"] == pytest.approx(truth_mm, abs=0.25)
    assert mould["wall_low_mm"] < mould["wall_mm"] < mould["wall_high_mm"]
    assert told.seconds(mould["ready_at"]) == pytest.approx(READY_S, abs=0.15 * (READY_S - POURED_S))
    assert told.seconds(mould["ready_low"]) < READY_S < told.seconds(mould["ready_high"])


def test_the_curve_runs_through_the_truth_before_and_after_now(told):
    told.go_on(POURED_S + 288.0)
    points = told.ask("GET", "/mould/cream%20jug.json")["curve"]["points"]
    ahead = [point for point in points if told.seconds(point["at"]) > told.now_s + 60.0]
    seen = [point for point in points if POURED_S + 60.0 < told.seconds(point["at"]) < told.now_s]
    assert len(ahead) >= 5 and len(seen) >= 5
    for point in seen + ahead:
        age_s = told.seconds(point["at"]) - POURED_S
        assert point["wall_mm"] == pytest.approx(wall_mm(K, age_s), abs=0.3)
        assert point["level_mm"] == pytest.approx(told.levels[int(age_s)], abs=0.5)


def test_the_call_comes_once_is_heard_and_stays_listed_after_the_tip(told):
    told.go_on(READY_S + 60.0)
    alerts = told.ask("GET", "/bench.json")["alerts"]
    ready = [one for one in alerts if one["kind"] == "ready"]
    assert len(ready) == 1
    assert told.seconds(ready[0]["at"]) == pytest.approx(READY_S, abs=0.15 * (READY_S - POURED_S))

    told.ask("POST", "/said.json", json={"what": "acknowledged", "alert_id": ready[0]["id"]})
    told.go_on(told.now_s + 10.0)
    told.ask("POST", "/said.json", json={"what": "tipped", "mould": "cream jug"})
    told.bench.tick(told.now_s + 2.0, told.at(told.now_s + 2.0))
    after = told.ask("GET", "/bench.json")
    assert after["moulds"][0]["phase"] == "tipped" and after["moulds"][0]["tipped_at"] is not None
    listed = {one["id"]: one for one in after["alerts"]}
    assert listed[ready[0]["id"]]["acked_at"] is not None
    assert [event["event"] for event in told.ask("GET", "/events.json")["events"]][-1] == "tipped"


def test_a_mould_out_of_sight_is_told_as_forecast_and_keeps_its_time(told):
    told.go_on(POURED_S + 288.0)
    before = told.mould()["ready_at"]
    for second in range(200):
        told.now_s += 1.0
        told.bench.tick(told.now_s, told.at(told.now_s))
        assert second or told.mould()["forecast_only"] is False
    after = told.mould()
    assert after["forecast_only"] is True and after["unseen_s"] >= 190.0
    assert abs(told.seconds(after["ready_at"]) - told.seconds(before)) < 30.0
