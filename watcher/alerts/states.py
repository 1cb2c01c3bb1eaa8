"""The states of an alarm and what leads from one to the next, in the words of IEC 62682.

The table is drawn from memory of the standard's state diagram (the same as in ISA-18.2); the standard itself
was not at hand. Latching, which it allows, is not used.

| from                      | returns to normal       | acknowledged | shelved | muted      | out of service |
|---------------------------|-------------------------|--------------|---------|------------|----------------|
| normal                    | normal                  | normal       | shelved | suppressed | out of service |
| unacknowledged            | returned unacknowledged | acknowledged | shelved | suppressed | out of service |
| acknowledged              | normal                  | acknowledged | shelved | suppressed | out of service |
| returned unacknowledged   | the same                | normal       | shelved | suppressed | out of service |

From any of them an alarm that occurs (again) becomes unacknowledged, except from acknowledged, where it
stands already. Out of the last three states an alarm comes by their own ends alone: it is then unacknowledged
where its cause stands, else normal. Out of service outweighs muted, and muted outweighs shelved.
"""

from __future__ import annotations

from enum import StrEnum

from watcher.records.notices import AlarmState


class Happening(StrEnum):
    """What can happen to an alarm."""

    OCCURRED = "occurred"
    RETURNED = "returned"  # its cause has passed
    ACKNOWLEDGED = "acknowledged"
    SHELVED = "shelved"  # put off by the caster, for a time
    UNSHELVED = "unshelved"
    MUTED = "muted"  # suppressed by design: another alarm is its cause, or calls are off
    UNMUTED = "unmuted"
    TAKEN_OUT = "taken_out"  # out of service
    PUT_BACK = "put_back"


_FREE = {
    (AlarmState.NORMAL, Happening.OCCURRED): AlarmState.UNACKNOWLEDGED,
    (AlarmState.RETURNED_UNACKNOWLEDGED, Happening.OCCURRED): AlarmState.UNACKNOWLEDGED,
    (AlarmState.UNACKNOWLEDGED, Happening.RETURNED): AlarmState.RETURNED_UNACKNOWLEDGED,
    (AlarmState.UNACKNOWLEDGED, Happening.ACKNOWLEDGED): AlarmState.ACKNOWLEDGED,
    (AlarmState.ACKNOWLEDGED, Happening.RETURNED): AlarmState.NORMAL,
    (AlarmState.RETURNED_UNACKNOWLEDGED, Happening.ACKNOWLEDGED): AlarmState.NORMAL,
}
_AWAY = {
    Happening.SHELVED: AlarmState.SHELVED,
    Happening.MUTED: AlarmState.SUPPRESSED,
    Happening.TAKEN_OUT: AlarmState.OUT_OF_SERVICE,
}
_ENDS = {
    AlarmState.SHELVED: Happening.UNSHELVED,
    AlarmState.SUPPRESSED: Happening.UNMUTED,
    AlarmState.OUT_OF_SERVICE: Happening.PUT_BACK,
}
_WEIGHT = {AlarmState.SHELVED: 1, AlarmState.SUPPRESSED: 2, AlarmState.OUT_OF_SERVICE: 3}


def after(state: AlarmState, happening: Happening, *, standing: bool) -> AlarmState:
    """Return the state after something has happened.

    Parameters
    ----------
    state : AlarmState
        The state before.
    happening : Happening
        What happened. One that means nothing in this state leaves it as it is.
    standing : bool
        Whether the alarm's cause stands at this moment; asked where an alarm comes back from being shelved,
        muted or out of service.
    """
    if happening in _AWAY:
        aim = _AWAY[happening]
        return aim if _WEIGHT[aim] >= _WEIGHT.get(state, 0) else state
    if state in _ENDS:
        if happening is not _ENDS[state]:
            return state
        return AlarmState.UNACKNOWLEDGED if standing else AlarmState.NORMAL
    return _FREE.get((state, happening), state)
