"""The whole service: how a cast came out moves the next forecast; a stream that stayed reaches its cast."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import quote
from urllib.request import Request, urlopen

import pytest

from models.tip import TipEstimate
from watcher.alerts.senders import Senders
from watcher.clock import ToldClock
from watcher.records.after_tip import AfterStep
from watcher.records.readings import Contents, HoleSighting, LevelReading, Sighting
from watcher.records.said import Said, What
from watcher.records.streams import Glance, StreamSeen
from watcher.service.assembly import Assembled, assembled
from watcher.service.stand_ins import StandIns
from watcher.settings import read_settings

SESSION = Path(__file__).parents[2] / "sample_frames" / "morning_bench"
CUP = "espresso cup"
START = datetime(2026, 3, 5, 7, 0, tzinfo=UTC)
SETTINGS = """
[bench]
name = "north bench"
[camera]
address = "{drop}"
folders = ["{home}"]
[page]
port = 0
"""


class Bench:
    """A service on told time, and what is done at its bench."""

    def __init__(self, parts: Assembled, clock: ToldClock) -> None:
        self.parts, self.clock = parts, clock

    def at(self, now_s: float) -> datetime:
        at = START + timedelta(seconds=now_s)
        self.clock.tell(now_s, at)
        self.parts.running.tick(now_s, at)
        return at

    def cast(self, begins_s: float, *, stream_mm: tuple[float, ...] = ()) -> float:
        """Pour, let it sink with the root of time for ten minutes, tip; return the moment of the tip."""
        running = self.parts.running
        for n, across in enumerate(stream_mm):
            now_s = begins_s + 2.0 * n
            running.take(Glance(now_s, self.at(now_s), (StreamSeen(CUP, across, 1.0),)))
        full_s = begins_s + 40.0
        self.sink(full_s, range(31))
        tip_s = full_s + 620.0
        running.hear(Said(What.TIPPED, tip_s, self.at(tip_s), mould=CUP))
        return tip_s

    def sink(self, full_s: float, looks: range) -> None:
        """See the level at some of the looks, one each 20 s from the moment it was full."""
        for n in looks:
            now_s = full_s + 20.0 * n
            level = LevelReading(3.0 + 1.15 * (20.0 * n / 60.0) ** 0.5, 0.2, 0.05)
            hole = HoleSighting(CUP, level, Contents.SLIP)
            self.parts.running.take(Sighting("bench", now_s, self.at(now_s), (hole,)))

    def spread(self) -> float:
        """Return the width of the wall's range over the wall."""
        cast = self.parts.running.bench().moulds[CUP].cast
        assert cast is not None and isinstance(cast.estimate, TipEstimate)
        return (cast.estimate.wall_high_mm - cast.estimate.wall_low_mm) / cast.estimate.wall_mm

    def setting_min(self, tip_s: float) -> float:
        """Return the forecast from the tip to demoulding, in min."""
        cast = self.parts.running.bench().moulds[CUP].cast
        assert cast is not None
        due = cast.after.expected(AfterStep.DEMOULDED)
        assert due is not None
        return (due.at_s - tip_s) / 60.0

    def came_out(self, at_s: float, what: str) -> None:
        self.at(at_s)
        # said on the page by another thread; the bench hears it with its next tick
        self.ask("finding.json" if what == "fault" else "came_out.json", {"mould": CUP, "what": what})
        self.at(at_s + 1.0)

    def ask(self, path: str, body: dict[str, Any] | None = None) -> Any:
        data = None if body is None else json.dumps(body).encode()
        headers = {"Content-Type": "application/json"}
        with urlopen(
            Request(self.parts.web.address + quote(path, safe="/?=&."), data=data, headers=headers),
            timeout=20,
        ) as answer:
            return json.load(answer)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    described = (SESSION / "recording.toml").read_text(encoding="utf-8")
    (tmp_path / "bench.toml").write_text(re.sub(r"\[clock\]\s*start = .*\n", "", described), encoding="utf-8")
    (tmp_path / "drop").mkdir()
    text = SETTINGS.format(drop=(tmp_path / "drop").as_posix(), home=tmp_path.as_posix())
    (tmp_path / "tipbell.toml").write_text(text, encoding="utf-8")
    return tmp_path


class Nothing:
    """A camera that shows nothing."""

    def newest(self) -> Sighting:
        return Sighting("bench", 0.0, START, ())

    def close(self) -> None:
        pass


def service(home: Path, clock: ToldClock) -> Any:
    return assembled(
        read_settings(home / "tipbell.toml"), instead=StandIns(clock, 0.0, Nothing(), Senders([]))
    )


@pytest.mark.slow
def test_a_cast_that_stuck_makes_the_next_forecast_later_and_a_restart_forgets_nothing(home: Path) -> None:
    clock = ToldClock(0.0, START)
    with service(home, clock) as parts:
        bench = Bench(parts, clock)
        tip_s = bench.cast(1000.0)
        first = bench.setting_min(tip_s)
        bench.came_out(tip_s + 60.0 * first, "stuck")
        tip_s = bench.cast(tip_s + 60.0 * first + 3600.0)
        second = bench.setting_min(tip_s)
        # at the very minute foretold it was too soon: the next is foretold clearly later
        assert second > 1.2 * first
        bench.came_out(tip_s + 60.0 * second, "slumped")
        tip_s = bench.cast(tip_s + 60.0 * second + 3600.0)
        third = bench.setting_min(tip_s)
        assert third > second
    with service(home, clock) as parts:
        bench = Bench(parts, clock)
        bench.at(clock.now_s() + 5.0)
        assert bench.setting_min(tip_s) == pytest.approx(third, rel=0.02)
        bench.came_out(tip_s + 60.0 * third, "clean")
        tip_s = bench.cast(tip_s + 60.0 * third + 3600.0)
        # clean at that minute: it was time by then, and later than when it stuck
        assert first < bench.setting_min(tip_s) <= 1.02 * third


@pytest.mark.slow
def test_a_mould_that_was_cast_before_is_foretold_closer_from_its_first_minute_also_after_a_restart(
    home: Path,
) -> None:
    clock = ToldClock(0.0, START)
    with service(home, clock) as parts:
        bench = Bench(parts, clock)
        bench.sink(1040.0, range(5))
        unknown = bench.spread()
        bench.sink(1040.0, range(5, 31))
        bench.parts.running.hear(Said(What.TIPPED, 1660.0, bench.at(1660.0), mould=CUP))
        bench.came_out(5000.0, "clean")
        bench.sink(8040.0, range(5))
        known = bench.spread()
        assert known < 0.85 * unknown
    with service(home, clock) as parts:
        bench = Bench(parts, clock)
        bench.sink(8040.0, range(5, 6))
        assert bench.spread() < 0.9 * unknown


@pytest.mark.slow
def test_a_stream_that_stayed_is_a_risk_on_its_cast_and_no_fault_until_one_is_noted(home: Path) -> None:
    clock = ToldClock(0.0, START)
    with service(home, clock) as parts:
        bench = Bench(parts, clock)
        tip_s = bench.cast(1000.0, stream_mm=tuple(4.0 + 0.5 * (n % 3) for n in range(16)))
        bench.came_out(tip_s + 3000.0, "clean")
        tip_s = bench.cast(tip_s + 8000.0, stream_mm=tuple(14.0 * (-1.0) ** (n // 2) for n in range(16)))
        bench.came_out(tip_s + 3000.0, "clean")
        stayed, moved = bench.ask("review.json")["casts"]
        assert stayed["one_spot_s"] == pytest.approx(30.0, abs=2.0)
        assert moved["one_spot_s"] is None
        assert stayed["faults"] == [] and moved["faults"] == []
        whole = bench.ask(f"cast/{stayed['cast']}.json")
        told = {one["event"]: one["detail"] for one in whole["events"]}
        assert told["filled"] == "3.0 mm" and told["one_spot"] == "30 s"
        bench.ask("finding.json", {"cast": stayed["cast"], "kind": "hot_spot", "note": "shows in the glaze"})
        bench.ask("finding.json", {"cast": moved["cast"], "kind": "hot_spot", "note": ""})
        (lesson,) = [one for one in bench.ask("week.json")["lessons"] if one["kind"] == "faults"]
        assert lesson["one_spot"] == 1
        assert lesson["causes"][0] == "poured_on_one_spot"
