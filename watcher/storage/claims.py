"""Who may send a letter: claims with a lease and a fencing number, in the shared database.

A claim lasts ten seconds by the server's clock. Whoever takes a letter over raises the fencing number, so the
one that was stopped meanwhile can no longer say how it ended. There is no leader: every bench looks itself.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select, update
from sqlalchemy.dialects.postgresql import insert

from watcher.records.letters import Letter, LetterState, Urgency
from watcher.storage.outbox import OPEN
from watcher.storage.schema import OUTBOX
from watcher.storage.schema_shared import CLAIMS
from watcher.storage.server_clock import NOW_US

LEASE_S = 10.0
"""A claim that is not renewed lasts so long. [s]"""

OTHERS_WITHIN_S = 3600.0
"""Letters of another bench that came longer ago are left to that bench. [s]"""

_US = 1_000_000


@dataclass(frozen=True, slots=True)
class Claim:
    """What came of asking for one letter.

    Attributes
    ----------
    fence : int or None
        The fencing number where it may be sent; None: it may not.
    by : str
        Who holds it, or held it before.
    ended : bool
        It was sent, or needs to be sent no more.
    """

    fence: int | None
    by: str = ""
    ended: bool = False


@dataclass(frozen=True, slots=True)
class Taken:
    """A letter of another bench that may be sent here."""

    bench_id: str
    seq: int
    fence: int
    letter: Letter
    tries: int


def arrive(shared: Connection, bench_id: str, letters: Sequence[tuple[int, LetterState]]) -> None:
    """Take in letters of a bench as they stand: its own claim on new ones begins, ended ones are closed."""
    own = CLAIMS.c
    for seq, state in letters:
        if state in OPEN:
            row = {"bench_id": bench_id, "seq": seq, "holder": bench_id, "fence": 1, "tries": 0}
            moments = {"until_us": NOW_US + int(LEASE_S * _US), "arrived_us": NOW_US}
            statement = insert(CLAIMS).values(**row, **moments, state=LetterState.WAITING.value)
            shared.execute(statement.on_conflict_do_nothing())
        else:
            shared.execute(
                update(CLAIMS)
                .where(own.bench_id == bench_id, own.seq == seq, own.state == LetterState.WAITING.value)
                .values(state=state.value)
            )


def claim_own(shared: Connection, bench_id: str, seq: int) -> Claim:
    """Ask for a letter of one's own bench."""
    own = CLAIMS.c
    before = shared.execute(
        select(CLAIMS, NOW_US.label("now")).where(own.bench_id == bench_id, own.seq == seq).with_for_update()
    ).one_or_none()
    if before is None:
        arrive(shared, bench_id, [(seq, LetterState.WAITING)])
        return Claim(1, bench_id)
    if before.state != LetterState.WAITING.value:
        return Claim(None, before.holder, ended=True)
    if before.holder != bench_id and before.until_us >= before.now:
        return Claim(None, before.holder)
    return Claim(_renew(shared, bench_id, seq, bench_id), before.holder)


def claim_other(shared: Connection, holder: str, channel: str) -> Taken | None:
    """Take over the oldest letter of another bench that nobody holds any more; None: there is none.

    Rows that somebody else is just looking at are passed over, so that nobody waits.
    """
    own, out = CLAIMS.c, OUTBOX.c
    query = (
        select(OUTBOX, own.tries.label("claim_tries"))
        .join(CLAIMS, (own.bench_id == out.bench_id) & (own.seq == out.seq))
        .where(
            own.state == LetterState.WAITING.value,
            out.bench_id != holder,
            out.channel == channel,
            out.state.in_([state.value for state in OPEN]),
            own.until_us < NOW_US,
            own.arrived_us > NOW_US - int(OTHERS_WITHIN_S * _US),
        )
        .order_by(own.arrived_us)
        .limit(1)
        .with_for_update(of=CLAIMS, skip_locked=True)
    )
    row = shared.execute(query).one_or_none()
    if row is None:
        return None
    fence = _renew(shared, row.bench_id, row.seq, holder)
    letter = Letter(
        row.channel,
        row.title,
        row.text,
        row.written_s,
        row.written_at,
        tuple(json.loads(row.alert_ids)),
        Urgency(row.urgency),
        row.step,
    )
    return Taken(row.bench_id, row.seq, fence, letter, row.claim_tries)


def end_claim(
    shared: Connection, bench_id: str, seq: int, fence: int, state: LetterState, rest_s: float = 0.0
) -> bool:
    """Note how sending went; False: somebody else has taken the letter over, so it is not ours to say.

    Parameters
    ----------
    state : LetterState
        Told; anything else leaves it to be sent, by whoever comes first after `rest_s`.
    """
    own = CLAIMS.c
    told = state is LetterState.TOLD
    values = {
        "state": state.value if told else LetterState.WAITING.value,
        "tries": own.tries + 1,
        "until_us": NOW_US + int(rest_s * _US),
    }
    done = shared.execute(
        update(CLAIMS).where(own.bench_id == bench_id, own.seq == seq, own.fence == fence).values(**values)
    )
    return bool(done.rowcount)


def _renew(shared: Connection, bench_id: str, seq: int, holder: str) -> int:
    own = CLAIMS.c
    statement = (
        update(CLAIMS)
        .where(own.bench_id == bench_id, own.seq == seq)
        .values(holder=holder, fence=own.fence + 1, until_us=NOW_US + int(LEASE_S * _US))
        .returning(own.fence)
    )
    return int(shared.execute(statement).scalar_one())
