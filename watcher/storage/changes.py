"""What must be written so that the database tells the bench as it is now."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import astuple, dataclass, replace
from typing import Any

from watcher.records.bench import Bench, BenchEvent, Cast, Filling, MouldState, NotYet, Reading, Stage
from watcher.records.notices import Alert
from watcher.records.said import What
from watcher.storage.desk import Desk
from watcher.storage.figures import figures_of
from watcher.storage.known import Draft, Drop, Known, KnownAlert, KnownCast, KnownMould, Row
from watcher.storage.schema import ALERTS, CASTS, ESTIMATES, FILLINGS, MOULDS, READINGS
from watcher.storage.steps import steps_text

FIGURES_EVERY_S = 60.0
"""How often what is foretold is written down while nothing happens: a curve of a point a minute. [s]"""

SEEN_EVERY_S = 30.0
"""How often the last look at a mould is written: after a kill a pour is dated this much less surely. [s]"""

REMEMBERED_S = 86_400.0
"""Casts and alerts older than this are no longer compared: nothing about them changes any more. [s]"""

_NEVER_S = float("-inf")


def changes(bench: Bench, events: Sequence[BenchEvent], known: Known, desk: Desk, draft: Draft) -> Known:
    """Add to a draft what must be written, and return what will be known once it is.

    Parameters
    ----------
    bench : Bench
        The whole present.
    events : sequence of BenchEvent
        What happened since the last time.
    known : Known
        What the database holds.
    desk : Desk
        Gives new rows their numbers, and new casts what they are cast by.
    draft : Draft
        Is added to.
    """
    scribe = _Scribe(bench, known, desk, draft)
    tips = {event.mould: event for event in events if event.event == "tipped"}
    withdrawn = {event.mould for event in events if event.event == What.TAKE_BACK.value}
    moulds, casts = dict(known.moulds), dict(known.casts)
    for name, state in bench.moulds.items():
        before = known.moulds.get(name)
        moulds[name] = scribe.mould(state, before)
        cast, left = state.cast, before.cast_id if before is not None else None
        if left in casts and left is not None and (cast is None or cast.cast_id != left):
            assert before is not None
            casts[left] = scribe.left_behind(casts[left], before, tips.get(name), name in withdrawn)
        if cast is not None:
            casts[cast.cast_id] = scribe.cast(cast, known.casts.get(cast.cast_id))
    alerts = {**known.alerts, **{alert.alert_id: scribe.alert(alert) for alert in bench.alerts}}
    since_s = bench.now_s - REMEMBERED_S
    open_ = {state.cast.cast_id for state in bench.moulds.values() if state.cast is not None}
    return Known(
        moulds,
        {key: cast for key, cast in casts.items() if key in open_ or cast.figures_s > since_s},
        {key: alert for key, alert in alerts.items() if alert.alert.at_s > since_s},
        known.moment_s,
    )


@dataclass(frozen=True, slots=True)
class _Scribe:
    """Writes the draft of one transaction."""

    bench: Bench
    known: Known
    desk: Desk
    draft: Draft

    def mould(self, state: MouldState, before: KnownMould | None) -> KnownMould:
        """Bring a mould's row up to date: at once when its stage changes, else now and then."""
        cast_id = state.cast.cast_id if state.cast is not None else None
        core = (state.stage.value, cast_id, state.in_service, state.casts_today, state.notes)
        waits = (state.pending, state.doubt, state.doubt_since_s)
        same = before is not None and before.core == core
        if before is not None and same and before.waits == waits:
            if self.bench.now_s - before.written_s < SEEN_EVERY_S:
                return before
        row = {
            **self._numbered(None if before is None else before.seq),
            "name": state.name,
            "stage": state.stage.value,
            "cast_id": cast_id,
            "in_service": state.in_service,
            "casts_today": state.casts_today,
            "last_empty_s": state.last_empty_s,
            "last_read_s": state.last_read_s,
            "last_read_at": state.last_read_at,
            "notes": json.dumps(state.notes),
            "pending": json.dumps([astuple(reading) for reading in state.pending]),
            "doubt": state.doubt.value if state.doubt is not None else None,
            "doubt_since_s": state.doubt_since_s,
        }
        self.draft.put(MOULDS, row, new=before is None, durable=not same)
        return KnownMould(row["seq"], core, waits, self.bench.now_s)

    def left_behind(
        self, cast: KnownCast, mould: KnownMould, tip: BenchEvent | None, withdrawn: bool
    ) -> KnownCast:
        """Close a cast that its mould no longer holds: tipped as the next one began, or taken back."""
        row = {**self._numbered(cast.seq), "cast_id": mould.cast_id}
        if tip is not None:
            self.draft.put(CASTS, {**row, "tipped_s": tip.at_s, "tipped_at": tip.at}, new=False)
        elif withdrawn or mould.core[0] == Stage.FILLING.value:
            self.draft.put(CASTS, {**row, "taken_back": True}, new=False)
        return replace(cast, core=())  # should it come back, it is written anew

    def cast(self, cast: Cast, before: KnownCast | None) -> KnownCast:
        """Bring a cast with its fillings and readings up to date."""
        core = core_of(cast)
        same = before is not None and before.core == core
        seq = before.seq if before is not None else None
        figures_s = before.figures_s if before is not None else _NEVER_S
        now_s = self.bench.now_s
        if not same or now_s - figures_s >= FIGURES_EVERY_S:
            figures_s = now_s
            row = self._cast_row(cast, seq)
            seq = row["seq"]
            self.draft.put(CASTS, row, new=before is None, durable=not same)
        assert seq is not None
        fillings = self._fillings(cast, before.fillings if before is not None else ())
        estimate_s = before.estimate_s if before is not None else _NEVER_S
        if now_s - estimate_s >= FIGURES_EVERY_S and not isinstance(cast.estimate, NotYet):
            estimate_s = now_s
            row = {
                "bench_id": self.bench.bench_id,
                "seq": self.desk.numbers.take(),
                "cast_id": cast.cast_id,
                "at_s": now_s,
                "figures": figures_of(cast),
            }
            self.draft.put(ESTIMATES, row, new=True, durable=False)
        return KnownCast(seq, core, fillings, figures_s, estimate_s)

    def alert(self, alert: Alert) -> KnownAlert:
        """Bring an alert's row up to date."""
        before = self.known.alerts.get(alert.alert_id)
        if before is not None and before.alert == alert:
            return before
        row = {
            **self._numbered(None if before is None else before.seq),
            "alert_id": alert.alert_id,
            "kind": alert.kind.value,
            "mould": alert.mould,
            "cast_id": alert.cast_id,
            "at_s": alert.at_s,
            "at": alert.at,
            "state": alert.state.value,
            "acked_at": alert.acked_at,
            "shelved_until_s": alert.shelved_until_s,
            "why": alert.why,
            "due_s": alert.due_s,
            "wall_mm": alert.wall_mm,
            "step": alert.step,
        }
        self.draft.put(ALERTS, row, new=before is None)
        return KnownAlert(row["seq"], alert)

    def _numbered(self, seq: int | None) -> Row:
        return {
            "bench_id": self.bench.bench_id,
            "seq": self.desk.numbers.take() if seq is None else seq,
            "changed": self.desk.numbers.take(),
        }

    def _cast_row(self, cast: Cast, seq: int | None) -> Row:
        row = {
            **self._numbered(seq),
            "cast_id": cast.cast_id,
            "mould": cast.mould,
            "number_today": cast.number_today,
            "began_s": cast.began_s,
            "began_at": cast.began_at,
            "tipped_s": cast.tipped_s,
            "tipped_at": cast.tipped_at,
            "forecast": cast.forecast.value,
            "leaking": cast.leaking,
            "taken_back": False,
            "steps": steps_text(cast.after),
            "figures": figures_of(cast),
        }
        if seq is None:
            boot_id = self.desk.boot.boot_id if self.desk.boot is not None else ""
            profile = self.desk.papers.profiles.get(cast.mould, "")
            row |= {"boot_id": boot_id, "profile_hash": profile, "slip_hash": self.desk.papers.slip}
        return row

    def _fillings(
        self, cast: Cast, stored: tuple[tuple[int, Filling], ...]
    ) -> tuple[tuple[int, Filling], ...]:
        kept: list[tuple[int, Filling]] = []
        for number, filling in enumerate(cast.fillings):
            seq, known = stored[number] if number < len(stored) else (None, None)
            if known is None or _head(known) != _head(filling):
                row = {
                    **self._numbered(seq),
                    "cast_id": cast.cast_id,
                    "number": number,
                    "kind": filling.kind.value,
                    "earliest_s": filling.earliest_s,
                    "latest_s": filling.latest_s,
                }
                seq = row["seq"]
                self.draft.put(FILLINGS, row, new=known is None)
            assert seq is not None
            self._readings(filling.readings, known.readings if known is not None else (), seq)
            kept.append((seq, filling))
        for seq, _ in stored[len(cast.fillings) :]:
            self.draft.drop(Drop(seq, whole=True))
        return tuple(kept)

    def _readings(self, now: tuple[Reading, ...], old: tuple[Reading, ...], filling_seq: int) -> None:
        if now[: len(old)] != old:
            self.draft.drop(Drop(filling_seq, whole=False))
            old = ()
        for reading in now[len(old) :]:
            row = {
                "bench_id": self.bench.bench_id,
                "seq": self.desk.numbers.take(),
                "filling_seq": filling_seq,
                "at_s": reading.at_s,
                "level_mm": reading.level_mm,
                "sigma_mm": reading.sigma_mm,
                "drift_sigma_mm": reading.drift_sigma_mm,
                "placement": reading.placement,
                "clay_mm": reading.clay_mm,
                "mm_per_clay_mm": reading.mm_per_clay_mm,
                "rim_share": reading.rim_share,
            }
            self.draft.put(READINGS, row, new=True, durable=False)


def core_of(cast: Cast) -> tuple[Any, ...]:
    """Return what must be on the disk at once when it changes."""
    dates = (cast.number_today, cast.tipped_s, cast.tipped_at, cast.forecast, cast.leaking, cast.began_s)
    return (*dates, cast.after.noted, cast.after.tip_said)


def _head(filling: Filling) -> tuple[Any, ...]:
    return filling.kind, filling.earliest_s, filling.latest_s
