"""The bench record as one plain dict: what page, live stream and JSON all show."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable
from dataclasses import dataclass

from watcher.page.fill_view import fill_view
from watcher.page.forecasts import ready_range, wall_range, why_blank
from watcher.page.moments import at_second, iso, iso_or_none
from watcher.page.port import BenchPort, Picture
from watcher.page.shapes import AfterShape, AlertShape, BenchShape, CameraShape, MouldShape, RingShape
from watcher.page.urgency import clashes, urgency_order
from watcher.records.after_tip import AfterStep
from watcher.records.bench import PHASE, Bench, Cast, Forecast, MouldState, Stage
from watcher.records.layout import PlacedMould
from watcher.records.notices import AlarmState, Alert
from watcher.records.readings import HoleSighting, LevelReading

UNSEEN_AFTER_S = 90.0
"""From this age on a level is told as forecast, not as seen: frames may lie 25 s apart, and two may fail."""


Dampness = Callable[[str], float | None]
"""Gives a mould's free water over its dry plaster by the mould's name."""


@dataclass(frozen=True, slots=True)
class BenchText:
    """The dict as JSON text, and a key that changes with it."""

    key: str
    text: str


class BenchViews:
    """Makes the dict once for each present, however many pages look on."""

    def __init__(self, port: BenchPort, dampness: Dampness = lambda name: None) -> None:
        self._port = port
        self._dampness = dampness
        self._lock = threading.Lock()
        self._made: tuple[Bench, str, BenchText] | None = None
        self._count = 0

    def dict(self) -> BenchShape:
        """Return the whole present as a plain dict."""
        bench = self._port.bench()
        return bench_view(bench, self._port, self._port.picture(), self._dampness)

    def json(self) -> BenchText:
        """Return the present as JSON text; made anew only when bench or picture changed."""
        bench, picture = self._port.bench(), self._port.picture()
        picture_id = picture.frame_id if picture is not None else ""
        with self._lock:
            if self._made is not None and self._made[0] is bench and self._made[1] == picture_id:
                return self._made[2]
            text = json.dumps(
                bench_view(bench, self._port, picture, self._dampness),
                ensure_ascii=False,
                separators=(",", ":"),
            )
            if self._made is None or self._made[2].text != text:
                self._count += 1
            made = BenchText(str(self._count), text)
            self._made = (bench, picture_id, made)
            return made


def bench_view(
    bench: Bench, port: BenchPort, picture: Picture | None, dampness: Dampness = lambda name: None
) -> BenchShape:
    """Return the dict that `/bench.json` answers."""
    now = port.now()
    return {
        "now": iso(now),
        "bench_id": bench.bench_id,
        "zone": port.zone,
        "standing_s": round(max((now - bench.now_at).total_seconds(), 0.0), 1) if bench.now_at else 0.0,
        "camera": _camera(bench, picture),
        "troubles": list(bench.troubles),
        "moulds": [
            {**mould_view(bench, placed, n), "dampness": figure(dampness(placed.name), 3)}
            for n, placed in enumerate(bench.layout.moulds, start=1)
        ],
        "order": urgency_order(bench),
        "clashes": [{"first": a, "second": b, "apart_s": round(gap_s, 1)} for a, b, gap_s in clashes(bench)],
        "alerts": [_alert(bench, alert) for alert in bench.alerts],
    }


def mould_view(bench: Bench, placed: PlacedMould, number: int) -> MouldShape:
    """Return one mould of the dict."""
    state = bench.moulds.get(placed.name) or MouldState(placed.name)
    cast = state.cast
    look = _newest_look(bench, state)
    target = placed.profile.target_wall_mm
    wall, ready = wall_range(cast), ready_range(cast)
    level, sigma = _level(state)
    unseen_s = None if state.last_read_s is None else max(bench.now_s - state.last_read_s, 0.0)
    # A cast that was poured only just now has not had its chance to be read yet.
    waiting_s = unseen_s if unseen_s is not None else bench.now_s - cast.began_s if cast else 0.0
    casting = state.stage is Stage.CASTING
    return {
        "name": placed.name,
        "number": number,
        "phase": PHASE[state.stage],
        "stage": state.stage.value,
        "forecast": (cast.forecast if cast and casting else Forecast.NONE).value,
        "in_service": state.in_service,
        "cast": cast.cast_id if cast else None,
        "cast_number": cast.number_today if cast else None,
        "filled_at": at_second(bench, cast.fillings[0].latest_s) if cast and cast.fillings else None,
        "tipped_at": iso_or_none(cast.tipped_at) if cast else None,
        "seen": look is not None and isinstance(look.reading, LevelReading),
        "seen_at": iso_or_none(state.last_read_at),
        "unseen_s": figure(unseen_s, 1),
        "forecast_only": casting and waiting_s > UNSEEN_AFTER_S,
        "missed": look.reading.value
        if look is not None and not isinstance(look.reading, LevelReading)
        else None,
        "contents": look.contents.value if look is not None else "unknown",
        "level_mm": figure(level, 3),
        "level_sigma_mm": figure(sigma, 3),
        "drop_mm": figure(_drop(cast, level), 3),
        "spare_mm": figure(_spare(placed, level), 2) if casting else None,
        "wall_mm": figure(wall.value, 3) if wall else None,
        "wall_low_mm": figure(wall.low, 3) if wall else None,
        "wall_high_mm": figure(wall.high, 3) if wall else None,
        "target_wall_mm": target[0] if target else None,
        "target_thick_mm": target[1] if target else None,
        "ready_at": at_second(bench, ready.value) if ready else None,
        "ready_low": at_second(bench, ready.low) if ready else None,
        "ready_high": at_second(bench, ready.high) if ready else None,
        "why": why_blank(cast),
        "leaking": bool(cast and cast.leaking),
        "fill": fill_view(bench, state),
        "after": _after(bench, cast),
        "dampness": None,
        "notes": list(state.notes),
        "ring": _ring(state, look),
        "curve": curve_key(cast),
        "hole_picture": _hole_picture(state),
    }


def curve_key(cast: Cast | None) -> str:
    """Return a key that changes whenever a cast's curve does; empty without a cast."""
    if cast is None:
        return ""
    readings = sum(len(filling.readings) for filling in cast.fillings)
    return f"{cast.cast_id}/{len(cast.fillings)}/{readings}"


def _camera(bench: Bench, picture: Picture | None) -> CameraShape:
    lens = bench.layout.lens
    frame_at = at_second(bench, bench.last_frame_s)
    if picture is not None:
        size = (picture.frame_width_px, picture.frame_height_px)
        frame_at = iso(picture.taken_at)
    else:
        size = (lens.width_px, lens.height_px) if lens else (0, 0)
    return {
        "why": bench.camera_why,
        "frame_at": frame_at,
        "picture": picture.frame_id if picture is not None else None,
        "width_px": size[0],
        "height_px": size[1],
    }


def _newest_look(bench: Bench, state: MouldState) -> HoleSighting | None:
    """Return what the newest frame told of this mould, or None."""
    if bench.last_sighting is None:
        return None
    for hole in bench.last_sighting.holes:
        if hole.mould == state.name:
            return hole
    return None


def _ring(state: MouldState, look: HoleSighting | None) -> RingShape | None:
    here = look is not None and bool(look.rim_rc)
    shown = look if here else state.last_look
    if shown is None or not shown.rim_rc:
        return None
    # Whole pixels are finer than any screen shows them, and keep the stream short.
    return {"rim_rc": [(round(row), round(col)) for row, col in shown.rim_rc], "seen_here": here}


def _hole_picture(state: MouldState) -> str | None:
    """Return a key for the crop of the pour hole; None where the hole's place is not known."""
    if state.last_look is None or not state.last_look.rim_rc or state.last_look_s is None:
        return None
    return f"{state.last_look_s:.1f}"


def _level(state: MouldState) -> tuple[float | None, float | None]:
    """Newest measured level and its sigma."""
    if state.last_look is not None and isinstance(state.last_look.reading, LevelReading):
        return state.last_look.reading.level_mm, state.last_look.reading.sigma_mm
    for filling in reversed(state.cast.fillings if state.cast else ()):
        if filling.readings:
            return filling.readings[-1].level_mm, filling.readings[-1].sigma_mm
    return None, None


def _drop(cast: Cast | None, level_mm: float | None) -> float | None:
    if cast is None or level_mm is None or not cast.fillings or not cast.fillings[-1].readings:
        return None
    return level_mm - cast.fillings[-1].readings[0].level_mm


def _spare(placed: PlacedMould, level_mm: float | None) -> float | None:
    """Slip above the trim line in mm; None where no trim line is known and the spare has no neck."""
    neck_mm = placed.profile.neck_mm
    return None if level_mm is None or neck_mm <= 0.0 else neck_mm - level_mm


def _after(bench: Bench, cast: Cast | None) -> list[AfterShape]:
    if cast is None:
        return []
    steps: list[AfterShape] = []
    for step in AfterStep:
        noted, due = cast.after.when(step), cast.after.expected(step)
        if noted is None and due is None:
            continue
        steps.append(
            {
                "step": step.value,
                "came_at": at_second(bench, noted.at_s if noted else None),
                "due_at": at_second(bench, due.at_s if due else None),
                "due_low": at_second(bench, due.low_s if due else None),
                "due_high": at_second(bench, due.high_s if due else None),
            }
        )
    return steps


def _alert(bench: Bench, alert: Alert) -> AlertShape:
    return {
        "id": alert.alert_id,
        "mould": alert.mould,
        "cast": alert.cast_id,
        "kind": alert.kind.value,
        "at": iso(alert.at),
        "acked_at": iso_or_none(alert.acked_at),
        "state": alert.state.value,
        "shelved_until": at_second(bench, alert.shelved_until_s)
        if alert.state is AlarmState.SHELVED
        else None,
        "due_at": at_second(bench, alert.due_s),
        "wall_mm": figure(alert.wall_mm, 3),
        "why": alert.why,
    }


def figure(value: float | None, digits: int) -> float | None:
    """Round a figure for JSON; NaN and infinity, which JSON cannot hold, are not known."""
    if value is None or value != value or value in (float("inf"), float("-inf")):
        return None
    return round(float(value), digits)
