"""What waits to be written, gathered by any thread and taken as a whole by the writer."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection

from watcher.records.bench import Bench, BenchEvent
from watcher.records.said import Said
from watcher.storage.outbox import Posted


@dataclass(frozen=True, slots=True)
class Job:
    """Something else to be done in the writer's next transaction, and who waits for its answer."""

    do: Callable[[Connection], Any]
    answer: Future[Any]


@dataclass(slots=True)
class Stand:
    """The bench as it stood, and all that happened up to then since the stand before."""

    bench: Bench
    events: list[BenchEvent] = field(default_factory=list)


@dataclass(slots=True)
class Pending:
    """What waits.

    Of many benches in a row only the newest is kept, save where a mould let go of a cast: its last state must
    be written too. `said` carries the cast that each word was about.
    """

    stands: list[Stand] = field(default_factory=list)
    said: list[tuple[Said, str]] = field(default_factory=list)
    fresh: list[Posted] = field(
        default_factory=list
    )  # letters that nobody may send before they are tried to be written
    letters: list[Posted] = field(default_factory=list)
    standings: dict[int, Posted] = field(default_factory=dict)
    jobs: list[Job] = field(default_factory=list)
    waiting: list[Future[None]] = field(default_factory=list)

    def __bool__(self) -> bool:
        return bool(
            self.stands
            or self.said
            or self.fresh
            or self.letters
            or self.standings
            or self.jobs
            or self.waiting
        )

    def stand(self, bench: Bench, events: Sequence[BenchEvent]) -> None:
        """Take in a newer bench and what happened."""
        if self.stands and _casts(self.stands[-1].bench) <= _casts(bench):
            self.stands[-1].bench = bench
            self.stands[-1].events.extend(events)
        else:
            self.stands.append(Stand(bench, list(events)))

    def put_back(self, earlier: Pending) -> None:
        """Take in again what could not be written, before what has come since; jobs are not tried again."""
        newer, self.stands = self.stands, earlier.stands
        for stand in newer:
            self.stand(stand.bench, stand.events)
        self.said = earlier.said + self.said
        self.letters = earlier.letters + earlier.fresh + self.letters
        self.standings = {**earlier.standings, **self.standings}

    @property
    def must_last(self) -> bool:
        """Whether it must survive a power cut once written."""
        return bool(self.said or self.fresh or self.letters or self.standings or self.jobs or self.waiting)


def _casts(bench: Bench) -> frozenset[str]:
    return frozenset(state.cast.cast_id for state in bench.moulds.values() if state.cast is not None)
