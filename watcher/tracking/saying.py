"""What the caster says about a mould: their word counts for more than what is seen."""

from __future__ import annotations

from dataclasses import replace

from watcher.records.after_tip import AfterStep, AfterTip
from watcher.records.bench import Before, BenchEvent, Filling, FillingKind, MouldState, Stage
from watcher.records.said import Said, What
from watcher.tracking import filling
from watcher.tracking.afterwards import noted
from watcher.tracking.look import Followed
from watcher.tracking.series import last_reading
from watcher.tracking.taking_back import CAN_BE_TAKEN_BACK, taken_back

POUR_TAKES_S = 30.0
"""A caster says "filled" within about this long of the pour's end. [s]"""

STEPS = {What(step.value): step for step in AfterStep}
"""Steps after the tip, as the caster says them."""


def hear(state: MouldState, said: Said, *, bench_id: str) -> Followed:
    """Return the mould after the caster has said something about it, and what happened."""
    if said.what is What.TAKE_BACK:
        return taken_back(state, said)
    after, events = _heard(state, said, bench_id)
    if said.what in CAN_BE_TAKEN_BACK and after is not state:
        before = Before(said.what, said.at_s, state.stage, state.cast, state.casts_today)
        after = replace(after, before_word=before)
    return after, events


def _heard(state: MouldState, said: Said, bench_id: str) -> Followed:
    match said.what:
        case What.FILLED:
            return _filled(state, said, bench_id)
        case What.TOPPED_UP:
            return _topped_up(state, said, FillingKind.TOP_UP)
        case What.TIPPED:
            return _tipped(state, said)
        case What.TIPPED_TOO_SOON:
            return _topped_up(state, said, FillingKind.REFILL)
        case what if what in STEPS:
            return _step(state, said, STEPS[what])
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
    cast = replace(cast, fillings=(*cast.fillings, top_up), tipped_s=None, tipped_at=None, after=AfterTip())
    return replace(state, stage=Stage.CASTING, cast=cast, pending=()), (_event(said, said.what.value),)


def _tipped(state: MouldState, said: Said) -> Followed:
    """End the casting on the caster's word, seen or not."""
    if state.cast is None or state.stage not in (Stage.CASTING, Stage.FILLING):
        return state, ()
    after = replace(state.cast.after, tip_said=True)
    cast = replace(state.cast, tipped_s=said.at_s, tipped_at=said.at, after=after)
    state = replace(state, stage=Stage.TIPPED, cast=cast, pending=(), doubt=None, doubt_since_s=None)
    return state, (_event(said, "tipped"),)


def _step(state: MouldState, said: Said, step: AfterStep) -> Followed:
    """Note a step after the tip; one that is said while the slip still stands there tells of the tip too."""
    told: tuple[BenchEvent, ...] = ()
    if state.stage in (Stage.CASTING, Stage.FILLING):
        state, told = _tipped(state, said)
    if state.cast is None:
        stage = Stage.EMPTY if step is AfterStep.DEMOULDED else state.stage
        return replace(state, stage=stage), (_event(said, step.value),)
    state = noted(state, step, said.at_s, said=True)
    state = replace(state, pending=(), doubt=None, doubt_since_s=None)
    return state, (*told, _event(said, step.value))
