"""What is said on one bench's page to another bench: put into its inbox, taken out once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sqlalchemy import BigInteger, Connection, cast, select, update
from sqlalchemy.dialects.postgresql import insert

from watcher.records.others import OtherWord
from watcher.records.said import What
from watcher.storage.schema import MOULDS, SAID
from watcher.storage.schema_shared import INBOX
from watcher.storage.server_clock import NOW_US

SHOWN_S = 10_800.0
"""Words said longer ago are no longer shown where they were said. [s]"""

_US = 1_000_000


@dataclass(frozen=True, slots=True)
class Word:
    """One word for a bench.

    Attributes
    ----------
    owner : str
        The bench that it is for.
    what : What
    mould, cast_id, alert_id, note, who : str
        As in `Said`; the cast is the one that stood in the mould when it was said.
    value : float or None
    word_id : str
        Its name: the bench on whose page it was said, and that bench's number.
    age_s : float
        How long ago it was said, by the shared database's clock. [s]
    """

    owner: str
    what: What
    mould: str = ""
    cast_id: str = ""
    alert_id: str = ""
    value: float | None = None
    note: str = ""
    who: str = ""
    word_id: str = ""
    age_s: float = 0.0


def cast_in(shared: Connection, owner: str, mould: str) -> str | None:
    """Return the cast that stands in a bench's mould (empty: none), or None where it has no such mould."""
    own = MOULDS.c
    row = shared.execute(select(own.cast_id).where(own.bench_id == owner, own.name == mould)).one_or_none()
    return None if row is None else str(row.cast_id or "")


def say(shared: Connection, writer: str, word: Word, number: Callable[[], int]) -> None:
    """Put a word into a bench's inbox under the next number of the writing bench."""
    row = {
        "bench_id": writer,
        "owner": word.owner,
        "what": word.what.value,
        "mould": word.mould,
        "cast_id": word.cast_id,
        "alert_id": word.alert_id,
        "value": word.value,
        "note": word.note,
        "who": word.who,
    }
    while True:  # a number may have been used before a kill that came before it was remembered
        statement = insert(INBOX).values(**row, seq=number(), said_at=NOW_US).on_conflict_do_nothing()
        if shared.execute(statement).rowcount:
            # a hint alone: the owner looks every few seconds all the same
            shared.exec_driver_sql("SELECT pg_notify('tipbell_words', %s)", (word.owner[:200],))
            return


def untaken(shared: Connection, owner: str) -> tuple[Word, ...]:
    """Return the words for a bench that it has not taken yet: each bench's in their order."""
    own = INBOX.c
    query = (
        select(INBOX, NOW_US.label("now"))
        .where(own.owner == owner, own.taken_at.is_(None))
        .order_by(own.said_at, own.bench_id, own.seq)
        .limit(100)
    )
    return tuple(
        Word(
            row.owner,
            What(row.what),
            row.mould,
            row.cast_id,
            row.alert_id,
            row.value,
            row.note,
            row.who,
            f"{row.bench_id}:{row.seq}",
            max(row.now / _US - row.said_at.timestamp(), 0.0),
        )
        for row in shared.execute(query)
    )


def said_from(shared: Connection, writer: str) -> tuple[OtherWord, ...]:
    """Return what was said on a bench's page to others in the last hours, newest first."""
    own = INBOX.c
    query = (
        select(INBOX)
        .where(own.bench_id == writer, cast(own.said_at, BigInteger) > NOW_US - int(SHOWN_S * _US))
        .order_by(own.said_at.desc(), own.seq.desc())
        .limit(20)
    )
    return tuple(
        OtherWord(row.owner, row.mould, What(row.what), row.said_at, row.taken_at is not None, row.answer)
        for row in shared.execute(query)
    )


def took(shared: Connection, word_id: str, answer: str) -> None:
    """Strike a word off, with what became of it."""
    bench_id, _, seq = word_id.rpartition(":")
    own = INBOX.c
    shared.execute(
        update(INBOX)
        .where(own.bench_id == bench_id, own.seq == int(seq))
        .values(taken_at=NOW_US, answer=answer)
    )


def heard_before(journal: Connection, bench_id: str, word_id: str) -> bool:
    """Say whether a word stands in the bench's own journal."""
    own = SAID.c
    query = select(own.seq).where(own.bench_id == bench_id, own.word_id == word_id).limit(1)
    return journal.execute(query).one_or_none() is not None
