"""What the caster says about a mould: their word counts for more than what is seen."""

from __future__ import annotations

from dataclasses import replace

from watcher.records.bench import BenchEvent, Filling, FillingKind, MouldState, Stage
from watcher.records.said import Said, What
from watcher.tracking import filling
from watcher.tracking.look import Followed
from watcher.tracking.series import last_reading

POUR_TAKES_S = 30.0
"""A caster says "filled" within about this long of the pour's end. [s]"""


def hear(state: MouldState, said: Said, *, bench_id: str) -> Followed:
    """Return the mould after the caster has said something about it, and what happened."""
    match said.what:
        case What.FILLED:
            return _filled(state, said, bench_id)
        case What.TOPPED_UP:
            return _topped_up(state, said, FillingKind.TOP_UP)
        case What.TIPPED:
            return _tipped(state, said)
        case What.TIPPED_TOO_SOON:
            return _topped_up(state, said, FillingKind.REFILL)
        case What.UPRIGHT if state.cast is not None:
            return replace(state, stage=Stage.UPRIGHT), (_event(said, "upright"),)
        case What.DEMOULDED:
            return replace(state, stage=Stage.EMPTY, cast=None, pending=(), doubt=None), (
                _event(said, "demoulded"),
            )
        case What.OUT_OF_SERVICE:
            return replace(state, in_service=False), (_event(said, "out_of_service"),)
        case What.IN_SERVICE:
            return replace(state, in_service=True), (_event(said, "in_service"),)
        case What.NOTE | What.WRONG if said.note:
            return replace(state, notes=(*state.notes, said.note)), (_event(said, said.what.value),)
        case _:
            return state, (_event(said, said.what.value),)


def _event(said: Said, name: str) -> BenchEvent:
    return BenchEvent(said.mould, name, said.at_s, said.at, said.note)


def _filled(state: MouldState, said: Said, bench_id: str) -> Followed:
    """Slip has just been poured: open the cast, or date the pour of the one just seen."""
    if (
        state.stage in (Stage.FILLING, Stage.CASTING)
        and state.cast is not None
        and len(state.cast.fillings) == 1
    ):
        if said.at_s - state.cast.began_s < 2.0 * filling.UNREAD_POUR_S:
            return replace(state, stage=Stage.CASTING), (_event(said, "filled"),)
    opened = filling.begin(state, said.at_s, said.at, bench_id=bench_id)
    assert opened.cast is not None
    pour = Filling(FillingKind.POUR, said.at_s - POUR_TAKES_S, said.at_s)
    cast = replace(opened.cast, fillings=(pour,))
    return replace(opened, stage=Stage.CASTING, cast=cast), (_event(said, "filling"), _event(said, "filled"))


def _topped_up(state: MouldState, said: Said, kind: FillingKind) -> Followed:
    """Start the level anew, not the wall: slip was added, or tipped too soon and poured again at once."""
    cast = state.cast
    if cast is None:
        return state, ()
    before = last_reading(cast)
    earliest_s = max(said.at_s - POUR_TAKES_S, before.at_s if before else cast.began_s)
    top_up = Filling(kind, min(earliest_s, said.at_s), said.at_s)
    cast = replace(cast, fillings=(*cast.fillings, top_up), tipped_s=None, tipped_at=None)
    return replace(state, stage=Stage.CASTING, cast=cast, pending=()), (_event(said, said.what.value),)


def _tipped(state: MouldState, said: Said) -> Followed:
    """End the casting on the caster's word, seen or not."""
    if state.cast is None or state.stage not in (Stage.CASTING, Stage.FILLING):
        return state, ()
    cast = replace(state.cast, tipped_s=said.at_s, tipped_at=said.at)
    return replace(state, stage=Stage.TIPPED, cast=cast, pending=(), doubt=None), (_event(said, "tipped"),)
