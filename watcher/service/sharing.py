"""What joins a watched bench to others in a database that they share; without one a bench is alone."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, make_url

from watcher.records.bench import Bench
from watcher.records.elsewhere import History, MouldElsewhere
from watcher.records.notices import AlarmState, Kind
from watcher.records.others import OtherBench, OtherWord
from watcher.records.said import Said, What
from watcher.service.neighbours import Neighbours
from watcher.settings import Settings
from watcher.storage.awaiting import Awaiting
from watcher.storage.carrying import Sender
from watcher.storage.courier import Courier
from watcher.storage.elsewhere import history_elsewhere, moulds_elsewhere
from watcher.storage.journal import Journal
from watcher.storage.link import Link
from watcher.storage.others import other_benches
from watcher.storage.shared_outbox import SharedOutbox
from watcher.storage.words import Word, cast_in, said_from, say

_LOG = logging.getLogger(__name__)
FRESH_S = 2.0
"""The other benches are asked for at most this often, however many pages look. [s]"""

WAITED_S = 5.0
"""A word that is older had to wait for its bench; younger ones are dated when they are taken. [s]"""

ENDS = frozenset({What.TIPPED, What.INVERTED})
"""What ends a cast, at the moment at which it was said."""

HISTORY_WITHIN_S = 15.0
"""Years of casts of one mould are asked for within this time. [s]"""

Now = Callable[[], tuple[float, datetime]]


def shared_url(settings: Settings) -> str | None:
    """Return the address of the database that benches share; None: this bench is alone."""
    database = settings.memory.database
    if database is None:
        return None
    url = database.get_secret_value()
    return None if make_url(url).get_backend_name() == "sqlite" else url


class MouldsElsewhere:
    """The moulds of other benches. Both raise OSError where they cannot be asked for.

    Parameters
    ----------
    link : Link
    bench_id : str
        This bench.
    """

    def __init__(self, link: Link, bench_id: str) -> None:
        self._link = link
        self._bench_id = bench_id

    def moulds(self) -> tuple[MouldElsewhere, ...]:
        """Return the moulds that other benches know."""
        return self._link.do(lambda shared: moulds_elsewhere(shared, self._bench_id))

    def history(self, bench_id: str, mould: str) -> History | None:
        """Return all that a bench remembers of a mould."""
        return self._link.do(lambda shared: history_elsewhere(shared, bench_id, mould), HISTORY_WITHIN_S)


class Sharing:
    """A bench among others; implements what the page asks about them.

    Parameters
    ----------
    url : str
        The shared database.
    journal : Journal
        The bench's own, in a file: it is written first, always.
    now : callable
        The bench's present moment.
    """

    def __init__(self, url: str, journal: Journal, now: Now) -> None:
        assert journal.path is not None
        self._journal = journal
        self._now = now
        self._url = url
        self._awaiting = Awaiting(journal.path, journal.bench_id)
        self._letters = Link(url)
        self._asking = Link(url)
        self.elsewhere = MouldsElsewhere(self._asking, journal.bench_id)
        self._courier: Courier | None = None
        self._seen: tuple[float, tuple[tuple[OtherBench, ...], tuple[OtherWord, ...]]] | None = None
        self._neighbours: Neighbours | None = None
        self.outbox = SharedOutbox(journal.outbox, self._letters, journal.bench_id)

    def start(
        self, settings: Settings, bench: Callable[[], Bench], hear: Callable[[Said], None], page: str
    ) -> None:
        """Begin to carry rows out and words in, and to look for the others."""
        inbox = _Inbox(bench, hear, self._now)
        calls, zone, bench_id = settings.calls, settings.bench.zone, self._journal.bench_id
        sender = Sender(bench_id, self._awaiting.home_id, page, calls.hours, zone)
        self._courier = Courier(self._journal, self._awaiting, Link(self._url), sender, inbox.take)
        self._courier.start()
        self._neighbours = Neighbours(
            Link(self._url),
            bench_id,
            zone,
            60.0 * calls.bench_silent_min,
            lambda: self._now()[1],
            lambda: _silences_called(bench()),
        )
        self._neighbours.start()

    def silences(self) -> Mapping[str, str] | None:
        """Return the calls about benches that are not heard of; None: not known yet."""
        return None if self._neighbours is None else self._neighbours.silences()

    def trouble(self) -> str:
        """Return a plain sentence while the shared database cannot be used; else empty."""
        return "" if self._courier is None else self._courier.trouble

    def close(self) -> None:
        """Let go of everything."""
        if self._neighbours is not None:
            self._neighbours.close()
        if self._courier is not None:
            self._courier.close()
        self._letters.close()
        self._asking.close()

    def present(self) -> tuple[OtherBench, ...]:
        """Return the other benches.

        Raises
        ------
        OSError
            The shared database does not answer, with a plain sentence.
        """
        return self._asked()[0]

    def words(self) -> tuple[OtherWord, ...]:
        """Return what was said from here to others; raises as `present`."""
        return self._asked()[1]

    def _asked(self) -> tuple[tuple[OtherBench, ...], tuple[OtherWord, ...]]:
        now_s, bench_id = self._now()[0], self._journal.bench_id
        seen = self._seen
        if seen is None or not 0.0 <= now_s - seen[0] < FRESH_S:
            found = self._asking.do(
                lambda shared: (other_benches(shared, bench_id), said_from(shared, bench_id))
            )
            self._seen = seen = (now_s, found)
        return seen[1]

    def say(self, bench_id: str, said: Said) -> str:
        """Put a word into another bench's inbox; return why not, or an empty text.

        Raises
        ------
        OSError
            The shared database does not answer, with a plain sentence.
        """
        if bench_id not in {one.bench_id for one in self.present()}:
            return "there is no other bench of that name"

        def put(shared: Connection) -> str:
            cast_id = cast_in(shared, bench_id, said.mould) if said.mould else ""
            if cast_id is None:
                return "there is no mould of that name on that bench"
            word = Word(
                bench_id, said.what, said.mould, cast_id, said.alert_id, said.value, said.note, said.who
            )
            say(shared, self._journal.bench_id, word, self._journal.next_number)
            return ""

        refused = self._asking.do(put)
        self._seen = None
        return refused


@dataclass(frozen=True, slots=True)
class _Inbox:
    """Takes words from other benches' pages in."""

    bench: Callable[[], Bench]
    hear: Callable[[Said], None]
    now: Now

    def take(self, word: Word) -> str:
        bench = self.bench()
        state = bench.moulds.get(word.mould)
        if word.mould and state is None:
            return "there is no mould of that name on this bench"
        cast_id = state.cast.cast_id if state is not None and state.cast is not None else ""
        if word.cast_id and word.cast_id != cast_id:
            return "that cast has come to its end meanwhile"
        if word.alert_id and word.alert_id not in {alert.alert_id for alert in bench.alerts}:
            return "there is no such call on this bench"
        at_s, at = self.now()
        if word.age_s > WAITED_S and state is not None and state.cast is not None and word.what in ENDS:
            # this bench was away when it was said: the tip was then, not now
            began = state.cast.fillings[-1].latest_s if state.cast.fillings else state.cast.began_s
            back_s = min(word.age_s, max(at_s - began, 0.0))
            at_s, at = at_s - back_s, at - timedelta(seconds=back_s)
        said = Said(
            word.what, at_s, at, word.mould, word.alert_id, word.value, word.note, word.who, word.word_id
        )
        self.hear(said)
        return ""


def _silences_called(bench: Bench) -> frozenset[str]:
    """Return the ids of the calls about other benches whose cause still stands."""
    return frozenset(
        alert.alert_id
        for alert in bench.alerts
        if alert.kind is Kind.BENCH_SILENT
        and alert.state not in (AlarmState.NORMAL, AlarmState.RETURNED_UNACKNOWLEDGED)
    )


def own_page(settings: Settings, addresses: Callable[[], Iterable[str]], port: int) -> str:
    """Return by what address others reach this bench's page; empty where it is not opened to them."""
    page = settings.page
    if not page.open:
        return ""
    if page.proxy and page.names:
        return f"https://{page.names[0]}{page.path}/"
    scheme = "https" if page.certificate is not None else "http"
    host = next(iter((*page.names, *addresses())), "")
    return f"{scheme}://{host}:{port}/" if host else ""
