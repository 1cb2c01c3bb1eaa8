"""What the caster said last was a mistake: the mould as if it had not been said."""

from __future__ import annotations

from dataclasses import replace

from watcher.records.after_tip import AfterStep, Noted
from watcher.records.bench import Before, BenchEvent, Cast, Forecast, MouldState, Stage
from watcher.records.said import Said, What
from watcher.tracking.afterwards import STAGE_OF
from watcher.tracking.look import Followed
from watcher.tracking.series import with_reading

OF_THE_CAST = frozenset(
    {
        What.FILLED,
        What.TOPPED_UP,
        What.TIPPED,
        What.TIPPED_TOO_SOON,
        What.INVERTED,
        What.UPRIGHT,
        What.SPARE_CUT,
        What.LETTING_GO,
        What.DEMOULDED,
    }
)
"""Words that change a cast or its stage."""

CAN_BE_TAKEN_BACK = OF_THE_CAST | {What.NOTE, What.WRONG, What.OUT_OF_SERVICE, What.IN_SERVICE}


def taken_back(state: MouldState, said: Said) -> Followed:
    """Return the mould without the caster's last word, keeping what was read since.

    After a restart only steps after the tip can be taken back: they are remembered with the cast.
    """
    before = state.before_word
    if before is None:
        return _last_step(state, said)
    state = replace(state, before_word=None)
    told = (_event(said, before.what.value),)
    match before.what:
        case What.NOTE | What.WRONG:
            return replace(state, notes=state.notes[:-1]), told
        case What.OUT_OF_SERVICE | What.IN_SERVICE:
            return replace(state, in_service=before.what is What.OUT_OF_SERVICE), told
        case _:
            return _as_before(state, before), told


def _as_before(state: MouldState, before: Before) -> MouldState:
    """Put stage and cast back as they stood; levels read since then still count."""
    cast = before.cast
    if cast is not None and before.stage is Stage.CASTING:
        cast = _with_later(cast, state, before.at_s)
        if state.stage is not Stage.CASTING:
            # the mould still waits for its tip: it is called again
            cast = replace(cast, forecast=Forecast.NONE)
    return replace(
        state,
        stage=before.stage,
        cast=cast,
        casts_today=before.casts_today,
        pending=(),
        doubt=None,
        doubt_since_s=None,
    )


def _with_later(cast: Cast, state: MouldState, since_s: float) -> Cast:
    """Add the levels that were read since, wherever they were put meanwhile."""
    now = state.cast.fillings if state.cast is not None else ()
    known = {reading.at_s for filling in cast.fillings for reading in filling.readings}
    every = [*(reading for filling in now for reading in filling.readings), *state.pending]
    later = {r.at_s: r for r in every if r.at_s >= since_s and r.at_s not in known}
    return with_reading(cast, *(later[at_s] for at_s in sorted(later))) if later else cast


def _last_step(state: MouldState, said: Said) -> Followed:
    """Take back the newest step after the tip that the caster said."""
    cast = state.cast
    spoken = [noted for noted in cast.after.noted if noted.said] if cast is not None else []
    if cast is None or not spoken:
        return state, (_event(said, "nothing to take back"),)
    newest = max(spoken, key=lambda noted: noted.at_s)
    after = cast.after.without(newest.step)
    left = max(after.noted, key=_place, default=None)
    stage = Stage.TIPPED if left is None else STAGE_OF.get(left.step, Stage.UPRIGHT)
    state = replace(state, cast=replace(cast, after=after), stage=stage)
    return state, (_event(said, newest.step.value),)


def _place(noted: Noted) -> int:
    return list(AfterStep).index(noted.step)


def _event(said: Said, what: str) -> BenchEvent:
    return BenchEvent(said.mould, What.TAKE_BACK.value, said.at_s, said.at, what)
