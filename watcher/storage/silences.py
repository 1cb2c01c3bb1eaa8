"""Which bench calls because another one is not heard of any more: one claims it, and renews its claim."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import Connection, or_, select
from sqlalchemy.dialects.postgresql import insert

from watcher.records.notices import AlarmState
from watcher.storage.schema import ALERTS
from watcher.storage.schema_shared import HOMES, SILENCES
from watcher.storage.server_clock import NOW_US

LEASE_S = 30.0
"""Who claimed a silence and is then silent itself loses it after so long. [s]"""

_US = 1_000_000


def claimed_silences(shared: Connection) -> Mapping[str, datetime]:
    """Return of each bench whose silence somebody claimed, when it was heard last then."""
    return {row.bench_id: row.heard_at for row in shared.execute(select(SILENCES))}


def claim_silence(shared: Connection, holder: str, bench_id: str, heard_at: datetime, alert_id: str) -> bool:
    """Ask to be the one that calls because a bench was heard last at a moment; renews a claim of one's own.

    Returns
    -------
    bool
        False: another bench does, the bench is heard again, or somebody has answered that call already.
    """
    home, own = HOMES.c, SILENCES.c
    still = select(home.bench_id).where(home.bench_id == bench_id, home.heard_at == heard_at)
    if shared.execute(still.with_for_update()).one_or_none() is None:
        return False
    told = ALERTS.c
    answered = select(told.seq).where(
        told.alert_id == alert_id,
        told.bench_id != holder,
        told.state.in_([AlarmState.ACKNOWLEDGED.value, AlarmState.SHELVED.value]),
    )
    if shared.execute(answered.limit(1)).one_or_none() is not None:
        return False
    until_us = NOW_US + int(LEASE_S * _US)
    statement = insert(SILENCES).values(
        bench_id=bench_id, heard_at=heard_at, holder=holder, until_us=until_us
    )
    claim = statement.on_conflict_do_update(
        index_elements=["bench_id"],
        set_={"heard_at": heard_at, "holder": holder, "until_us": until_us},
        where=or_(own.heard_at != heard_at, own.holder == holder, own.until_us < NOW_US),
    )
    return shared.execute(claim.returning(own.holder)).scalar() is not None
