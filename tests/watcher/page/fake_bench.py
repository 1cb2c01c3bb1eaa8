"""A bench for the page's tests: made-up casts on a told clock, no camera, no fit. Test data only.

The wall grows as the root of time and the level sinks with it, so that a drawn curve looks like one; nothing
here judges the science.
"""

from __future__ import annotations

import math
import threading
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from types import MappingProxyType

import numpy as np
from fake_pictures import HIGH, WIDE, bench_jpeg, hole_jpeg, rims

from models.mould import checked_mould
from models.ranged import Ranged
from models.slip import Slip
from models.tip import TipEstimate
from watcher.page.port import PastCast, Picture
from watcher.records.bench import (
    Bench,
    BenchEvent,
    Cast,
    Filling,
    FillingKind,
    Forecast,
    MouldState,
    NotYet,
    Reading,
    Stage,
)
from watcher.records.layout import BenchLayout, Lens, PlacedMould
from watcher.records.notices import AlarmState, Alert, Kind
from watcher.records.readings import Contents, HoleSighting, LevelReading, Missed, Sighting
from watcher.records.said import Said, What

START = datetime(2026, 3, 5, 9, 0, tzinfo=UTC)
NAMES = ("beaker", "cream jug", "planter", "sugar bowl", "tall vase", "butter dish")
LONG = "very large oval casserole with two handles and a fluted lid, second size"


@dataclass(frozen=True)
class Plot:
    """What one mould does: when it is poured (None: never), its aim, how fast its wall grows."""

    name: str
    filled_s: float | None
    target_mm: float | None = 2.6
    k_mm2_per_min: float = 0.35
    unseen_from_s: float = math.inf
    missed: Missed = Missed.HAND

    @property
    def ready_s(self) -> float:
        return self.filled_s + 60.0 * self.target_mm**2 / self.k_mm2_per_min


def usual_plots(count: int = 6, long_names: bool = False) -> list[Plot]:
    """At 1800 s: one ready, one soon and unseen, two close together, one far, one empty; and so round."""
    takes_s = 60.0 * 2.6**2 / 0.35
    ready_at = (2640.0, 1790.0, 3600.0, 3660.0, 1990.0, None)
    plots = []
    for i in range(count):
        ready = ready_at[i % 6]
        name = NAMES[i % 6] if i < 6 else f"{NAMES[i % 6]} {i // 6 + 1}"
        later = 400.0 * (i // 6)
        filled = None if ready is None else ready + later - takes_s
        unseen = 1600.0 if i % 6 == 4 else math.inf
        plots.append(Plot(f"{LONG} {i + 1}" if long_names else name, filled, unseen_from_s=unseen))
    return plots


class FakeFit:
    """Level and wall at any moment, as the curve asks for them."""

    def __init__(self, plot: Plot, bench_now_s: float) -> None:
        self.plot, self.now_s = plot, bench_now_s

    def at(self, time_s: float):
        wall = wall_mm(self.plot, time_s)
        wide = 0.03 + 0.12 * max(0.0, time_s - self.now_s) / 1200.0
        level = level_mm(self.plot, time_s)
        return _Moment(
            Ranged(level, level - 3 * wide, level + 3 * wide), Ranged(wall, wall - wide, wall + wide)
        )


@dataclass(frozen=True)
class _Moment:
    level_mm: Ranged
    wall_mm: Ranged


def wall_mm(plot: Plot, time_s: float) -> float:
    return math.sqrt(plot.k_mm2_per_min * max(0.0, time_s - plot.filled_s) / 60.0)


def level_mm(plot: Plot, time_s: float) -> float:
    return 4.0 + 4.2 * wall_mm(plot, time_s)


class FakeBench:
    """The port that the page wants, on a clock that the test sets."""

    zone = "Europe/Berlin"
    kinds = FillingKind

    def __init__(self, plots: list[Plot] | None = None, now_s: float = 1800.0, camera: bool = True) -> None:
        self.plots = {plot.name: plot for plot in (plots or usual_plots())}
        self.camera = camera
        self.heard: list[Said] = []
        self.tipped: dict[str, float] = {}
        self.alerts: dict[str, Alert] = {}
        self.stop = False
        self.slips: list[Slip] = []
        self.past: tuple[PastCast, ...] = ()
        self.lag_s = 0.0
        self.ticking = True
        self._jpeg = bench_jpeg(len(self.plots))
        self._lock = threading.Lock()
        self.set(now_s)

    # the port
    def now(self) -> datetime:
        return START + timedelta(seconds=self.now_s + self.lag_s)

    def bench(self) -> Bench:
        # A running bench is replaced at every tick of its clock, whether or not anything changed.
        return replace(self._bench) if self.ticking else self._bench

    def picture(self) -> Picture | None:
        if not self.camera:
            return None
        return Picture(self._jpeg, f"f{self.now_s:.0f}", self.now(), 960, 540, WIDE, HIGH)

    def hole_picture(self, mould: str) -> Picture | None:
        if not self.camera or self.plots[mould].filled_s is None:
            return None
        return Picture(hole_jpeg(), f"h{self.now_s:.0f}", self.now(), 320, 320, 320, 320)

    def events(self, mould: str) -> tuple[BenchEvent, ...]:
        found = []
        for plot in self.plots.values():
            if plot.filled_s is not None and mould in ("", plot.name) and plot.filled_s <= self.now_s:
                found.append(BenchEvent(plot.name, "filled", plot.filled_s, self.at(plot.filled_s)))
        return tuple(found)

    def history(self, mould: str) -> tuple[PastCast, ...]:
        return self.past

    def stopping(self) -> bool:
        return self.stop

    def use_slip(self, slip: Slip) -> None:
        self.slips.append(slip)

    def say(self, said: Said) -> None:
        with self._lock:
            self.heard.append(said)
            if said.what is What.TIPPED:
                self.tipped[said.mould] = self.now_s
                self._close(said.mould)
            elif said.what is What.FILLED:
                self.tipped.pop(said.mould, None)
                self.plots[said.mould] = replace(self.plots[said.mould], filled_s=self.now_s)
            elif said.what in (What.ACKNOWLEDGED, What.SNOOZED):
                shelved = said.what is What.SNOOZED
                for alert in list(self.alerts.values()):
                    if said.mould in ("", alert.mould):
                        state = AlarmState.SHELVED if shelved else AlarmState.ACKNOWLEDGED
                        until = self.now_s + 60.0 * (said.value or 5.0) if shelved else None
                        acked = None if shelved else self.now()
                        self.alerts[alert.alert_id] = replace(
                            alert, state=state, acked_at=acked, shelved_until_s=until
                        )
        self.set(self.now_s)

    # the test's side
    def at(self, moment_s: float) -> datetime:
        return START + timedelta(seconds=moment_s)

    def set(self, now_s: float) -> None:
        """Move the clock and make the whole present anew."""
        self.now_s = now_s
        places = rims(len(self.plots))
        moulds, holes = {}, []
        for (name, plot), rim in zip(self.plots.items(), places, strict=True):
            look = self._look(plot, rim)
            holes.append(look)
            moulds[name] = self._state(plot, look)
        self._raise(moulds)
        layout = BenchLayout(
            "cam", Lens(WIDE, HIGH, 1000, 1000, 639.5, 359.5), (), tuple(map(_placed, self.plots.values()))
        )
        sighting = Sighting("cam", now_s, self.at(now_s), tuple(holes)) if self.camera else None
        self._bench = Bench(
            bench_id="window bench",
            layout=layout,
            slip=Slip(1.75, 0.62),
            now_s=now_s,
            now_at=self.at(now_s),
            moulds=MappingProxyType(moulds),
            alerts=tuple(self.alerts.values()),
            camera_why="" if self.camera else "The camera is unplugged: plug it in again.",
            last_frame_s=now_s if self.camera else None,
            last_sighting=sighting,
        )

    def change(self, name: str, state: MouldState) -> None:
        """Put another state of one mould into the present."""
        moulds = dict(self._bench.moulds) | {name: state}
        self._bench = replace(self._bench, moulds=MappingProxyType(moulds))

    def _casting(self, plot: Plot) -> bool:
        return plot.filled_s is not None and plot.filled_s <= self.now_s and plot.name not in self.tipped

    def _look(self, plot: Plot, rim) -> HoleSighting:
        if not self._casting(plot):
            return HoleSighting(plot.name, Missed.NOT_GIVEN, Contents.EMPTY, rim_rc=rim)
        if self.now_s >= plot.unseen_from_s:
            return HoleSighting(plot.name, plot.missed, Contents.UNKNOWN, rim_rc=rim)
        reading = LevelReading(level_mm(plot, self.now_s), 0.21, 0.08)
        return HoleSighting(plot.name, reading, Contents.SLIP, rim_rc=rim)

    def _state(self, plot: Plot, look: HoleSighting) -> MouldState:
        tipped_s = self.tipped.get(plot.name)
        if plot.filled_s is None or (plot.filled_s > self.now_s):
            return MouldState(plot.name, Stage.EMPTY, last_look=look, last_look_s=self.now_s)
        read_s = min(self.now_s, plot.unseen_from_s if self.camera else self.now_s - 240.0)
        readings = tuple(
            Reading(t, level_mm(plot, t) + 0.05 * math.sin(t), 0.21, 0.08, 0)
            for t in np.arange(plot.filled_s + 20.0, read_s, 20.0)
        )
        cast = Cast(
            f"{plot.name}-1",
            plot.name,
            2,
            plot.filled_s - 40.0,
            self.at(plot.filled_s - 40.0),
            (Filling(FillingKind.POUR, plot.filled_s - 5.0, plot.filled_s, readings),),
            fit=FakeFit(plot, read_s),
            estimate=self._estimate(plot),
            forecast=self._forecast(plot),
            tipped_s=tipped_s,
            tipped_at=None if tipped_s is None else self.at(tipped_s),
        )
        stage = Stage.CASTING if tipped_s is None else Stage.DRAINING
        return MouldState(
            plot.name, stage, cast, look, self.now_s, None, read_s, self.at(read_s), casts_today=2
        )

    def _estimate(self, plot: Plot) -> TipEstimate | NotYet:
        if self.now_s < plot.filled_s + 30.0:
            return NotYet("the pour has just begun")
        wall = wall_mm(plot, self.now_s)
        wide = 0.06 + 0.05 * wall
        if plot.target_mm is None:
            why = "no target: say how thick the wall should be, or which cast was good"
            return TipEstimate(wall, wall - wide, wall + wide, None, None, None, why)
        unsure_s = 30.0 + 0.15 * max(0.0, plot.ready_s - self.now_s)
        low, high = plot.ready_s - unsure_s, plot.ready_s + unsure_s
        return TipEstimate(wall, wall - wide, wall + wide, plot.ready_s, low, high)

    def _forecast(self, plot: Plot) -> Forecast:
        if plot.target_mm is None or self.now_s < plot.ready_s - 240.0:
            return Forecast.NONE
        if self.now_s < plot.ready_s:
            return Forecast.SOON
        return Forecast.READY if self.now_s < plot.ready_s + 120.0 else Forecast.LATE

    def _raise(self, moulds: dict[str, MouldState]) -> None:
        for name, state in moulds.items():
            if state.stage is not Stage.CASTING or state.cast.forecast is Forecast.NONE:
                continue
            kind = Kind(state.cast.forecast.value)
            alert_id = f"{state.cast.cast_id}/{kind}"
            if alert_id not in self.alerts:
                ready = self.plots[name].ready_s
                self.alerts[alert_id] = Alert(
                    alert_id, kind, name, state.cast.cast_id, self.now_s, self.now(), due_s=ready
                )

    def _close(self, mould: str) -> None:
        for alert in list(self.alerts.values()):
            if alert.mould == mould and alert.acked_at is None:
                self.alerts[alert.alert_id] = replace(alert, state=AlarmState.NORMAL)


def _placed(plot: Plot) -> PlacedMould:
    bore = ((0.0, 60.0), (18.0, 52.0), (40.0, 70.0), (90.0, 64.0))
    return PlacedMould(plot.name, checked_mould(plot.name, bore, target_wall_mm=plot.target_mm))
