"""What concerns the whole bench: a camera that gives no picture, and what else the service complains of."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from watcher.records.bench import Bench, MouldState, Stage
from watcher.records.notices import Alert, Kind
from watcher.records.readings import Missed

WELL_AGAIN_S = 10.0
"""A camera must give pictures for so long before it counts as seeing again: a loose plug flickers. [s]"""


def noted(bench: Bench, now_s: float) -> Bench:
    """Return the bench with since when its camera is blind or sees again, and when a hand was last seen."""
    bad_s, well_s = bench.camera_bad_s, bench.camera_well_s
    if bench.camera_why:
        bad_s, well_s = (now_s if bad_s is None else bad_s), None
    elif bad_s is not None:
        well_s = now_s if well_s is None else well_s
        bad_s = None if now_s - well_s >= WELL_AGAIN_S else bad_s
    hands_s = bench.hands_s
    seen = bench.last_sighting
    if seen is not None and (hands_s is None or seen.taken_s > hands_s):
        if any(hole.hand_near or hole.reading is Missed.HAND for hole in seen.holes):
            hands_s = seen.taken_s
    same = (bad_s, well_s, hands_s) == (bench.camera_bad_s, bench.camera_well_s, bench.hands_s)
    return bench if same else replace(bench, camera_bad_s=bad_s, camera_well_s=well_s, hands_s=hands_s)


def raised(bench: Bench, now_s: float, now_at: datetime) -> tuple[Alert, ...]:
    """Return an alert for everything of the bench as a whole that stands now."""
    found = [_alert(bench, kind, why, now_s, now_at, now_at) for kind, why in bench.faults.items()]
    bad_s = bench.camera_bad_s
    if bad_s is not None and bench.camera_why and now_s - bad_s >= 60.0 * bench.rules.camera_blind_min:
        since = now_at - timedelta(seconds=now_s - bad_s)
        found.append(_alert(bench, Kind.CAMERA_BLIND, bench.camera_why, now_s, now_at, since))
    found += [_silence(alert_id, why, now_s, now_at) for alert_id, why in (bench.silences or {}).items()]
    return tuple(found)


def stands(bench: Bench, alert: Alert) -> bool:
    """Tell whether what an alert of the whole bench was raised for still stands.

    After a restart nothing is known of the camera before its first picture, or the first try that failed:
    what stood before then still stands. So it is with other benches until they have been asked for.
    """
    if alert.kind is Kind.CAMERA_BLIND:
        return bench.camera_bad_s is not None or bench.last_frame_s is None
    if alert.kind is Kind.BENCH_SILENT:
        return bench.silences is None or alert.alert_id in bench.silences
    return alert.kind in bench.faults


def casting(bench: Bench) -> tuple[MouldState, ...]:
    """Return every mould that is watched and under cast."""
    return tuple(
        state
        for state in bench.moulds.values()
        if state.in_service and state.stage in (Stage.FILLING, Stage.CASTING)
    )


def mutes(bench: Bench, alert: Alert) -> bool:
    """Tell whether an alert is muted by design at the bench's present moment.

    In the silent first days all are. A camera that cannot see is the cause of moulds that are not seen: they
    are muted, and for as long again as it takes to call them once it sees; before the first picture after a
    start nothing is known of the camera. A camera over a bench on which nothing is cast calls nobody.
    """
    silent_until, now_at = bench.rules.silent_until, bench.now_at
    if silent_until is not None and now_at is not None and now_at < silent_until:
        return True
    if alert.kind is Kind.CAMERA_BLIND:
        return not casting(bench)
    if alert.kind is not Kind.BLIND:
        return False
    well_s = bench.camera_well_s
    grace = well_s is not None and bench.now_s - well_s < 60.0 * bench.rules.blind_min
    return bench.camera_bad_s is not None or bench.last_frame_s is None or grace


def _alert(bench: Bench, kind: Kind, why: str, now_s: float, now_at: datetime, since: datetime) -> Alert:
    return Alert(
        alert_id=f"{bench.bench_id}/{kind.value}/{since:%Y%m%dT%H%M%SZ}",
        kind=kind,
        mould="",
        cast_id="",
        at_s=now_s,
        at=now_at,
        why=why,
    )


def _silence(alert_id: str, why: str, now_s: float, now_at: datetime) -> Alert:
    return Alert(alert_id, Kind.BENCH_SILENT, "", "", now_s, now_at, why=why)
