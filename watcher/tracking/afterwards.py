"""From the tip to the empty mould: draining, upright, out of the mould, as far as a picture tells."""

from __future__ import annotations

from dataclasses import replace

from watcher.records.after_tip import AfterStep
from watcher.records.bench import MouldState, Stage
from watcher.records.readings import Contents, Missed
from watcher.tracking.look import SECOND_LOOK_S, Followed, Look

TURNED_OVER_S = 45.0
"""A mould whose hole is out of view for longer than this after its tip hangs upside down to drain, rather
than being held over the bucket (common practice, no source). [s]"""

STANDS_S = 60.0
"""A mould that shows an empty hole so long after its tip was emptied standing (ladle, bung), or poured out
and set back, and is not just being turned over. [s]"""

STAGE_OF = {
    AfterStep.INVERTED: Stage.DRAINING,
    AfterStep.UPRIGHT: Stage.UPRIGHT,
    AfterStep.DEMOULDED: Stage.DEMOULDED,
}
"""The stage that a step leads to; cutting the spare and letting go happen to a mould that stands upright."""


def noted(state: MouldState, step: AfterStep, at_s: float, *, said: bool) -> MouldState:
    """Note a step after the tip, and bring the mould to the stage that it leads to."""
    assert state.cast is not None
    cast = replace(state.cast, after=state.cast.after.with_step(step, at_s, said=said))
    return replace(state, cast=cast, stage=STAGE_OF.get(step, Stage.UPRIGHT))


def gone(look: Look) -> bool:
    """Tell whether the pour hole is out of view: the mould is lifted, turned over or taken away."""
    hole = look.hole
    return hole.contents is Contents.AWAY or (
        hole.contents is Contents.UNKNOWN and hole.reading is Missed.CARD_LOST
    )


def follow_drained(state: MouldState, look: Look) -> Followed:
    """Follow a tipped mould by one look at which no slip was seen.

    | stage    | what is seen                                       | becomes                      |
    |----------|----------------------------------------------------|------------------------------|
    | tipped   | hole out of view for a while                       | draining                     |
    | tipped   | empty hole at two looks, a while after the tip     | upright (ladled, bung)       |
    | draining | empty hole, still so at a second look              | upright                      |
    | upright  | out of view for a while, before it can have set    | draining (turned over again) |
    | upright  | out of view for a while, when it may have set      | demoulded                    |
    """
    away = gone(look)
    if not away and look.hole.contents is not Contents.EMPTY:
        return state, ()
    contents = Contents.AWAY if away else Contents.EMPTY
    since_s = state.doubt_since_s if state.doubt is contents else None
    if since_s is None:
        since_s = look.at_s
    state = replace(
        state, pending=(), last_empty_s=_last_empty_s(state, look), doubt=contents, doubt_since_s=since_s
    )
    step = _step(state, away, look.at_s, since_s)
    if step is None:
        return state, ()
    stage = state.stage
    state = noted(state, step, since_s, said=False)
    return (state, (look.event(step.value),)) if state.stage is not stage else (state, ())


def _last_empty_s(state: MouldState, look: Look) -> float | None:
    """Until when no slip was in the mould: a card that is merely lost tells nothing of that."""
    if look.hole.contents in (Contents.EMPTY, Contents.AWAY):
        return look.at_s
    return state.last_empty_s


def _step(state: MouldState, away: bool, now_s: float, since_s: float) -> AfterStep | None:
    """Tell which step a view that has lasted since then means; None: none, or the caster said otherwise."""
    assert state.cast is not None
    for_s = now_s - since_s
    since_tip_s = now_s - (state.cast.tipped_s if state.cast.tipped_s is not None else now_s)
    match state.stage:
        case Stage.TIPPED if away and for_s >= TURNED_OVER_S:
            return AfterStep.INVERTED
        case Stage.TIPPED if not away and for_s >= SECOND_LOOK_S and since_tip_s >= STANDS_S:
            return AfterStep.UPRIGHT
        case Stage.DRAINING if not away and for_s >= SECOND_LOOK_S:
            return AfterStep.UPRIGHT
        case Stage.UPRIGHT if away and for_s >= TURNED_OVER_S and not _upright_said(state):
            return AfterStep.DEMOULDED if _may_have_set(state, since_s) else AfterStep.INVERTED
        case _:
            return None


def _upright_said(state: MouldState) -> bool:
    """Tell whether it stands upright by the caster's word: perhaps on a shelf that no camera sees."""
    assert state.cast is not None
    upright = state.cast.after.when(AfterStep.UPRIGHT)
    return upright is not None and upright.said


def _may_have_set(state: MouldState, at_s: float) -> bool:
    """Tell whether the piece can be out of the mould by now: the caster cut it loose, or it is time."""
    assert state.cast is not None
    after = state.cast.after
    if after.when(AfterStep.SPARE_CUT) is not None or after.when(AfterStep.LETTING_GO) is not None:
        return True
    due = after.expected(AfterStep.DEMOULDED)
    return due is not None and at_s >= due.low_s
