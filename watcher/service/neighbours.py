"""The thread that notices when another bench falls silent: one of those left calls, with what is known."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Collection, Mapping
from datetime import datetime
from threading import Event, Thread
from types import MappingProxyType

from sqlalchemy import Connection

from watcher.alerts.silence import is_missed, silence_id, what_is_known
from watcher.records.others import OtherBench
from watcher.storage.link import Away, Link
from watcher.storage.others import other_benches
from watcher.storage.silences import claim_silence, claimed_silences

_LOG = logging.getLogger(__name__)
EVERY_S = 5.0
"""How often the others are looked for. [s]"""

_STOP_WITHIN_S = 1.0


class Neighbours:
    """Looks for the other benches until closed.

    A bench counts as silent once the moment at which it was heard last has stood still for so long before
    these eyes: so neither a database that was away nor a clock that was set makes all the others silent.

    Parameters
    ----------
    link : Link
        To the shared database; used by these eyes alone.
    bench_id : str
        This bench.
    zone : str
        Its time zone.
    silent_s : float
        For how long another one is not heard before that is called. [s]
    now_at : callable
        Gives the bench's present moment.
    called : callable
        Gives the ids of such calls that stand on this bench: they stand until the other one is heard again.
    steady_s : callable
        Seconds that only go on.
    """

    def __init__(
        self,
        link: Link,
        bench_id: str,
        zone: str,
        silent_s: float,
        now_at: Callable[[], datetime],
        called: Callable[[], Collection[str]],
        steady_s: Callable[[], float] = time.monotonic,
    ) -> None:
        self._link = link
        self._bench_id = bench_id
        self._zone = zone
        self._silent_s = silent_s
        self._now_at = now_at
        self._called = called
        self._steady_s = steady_s
        self._heard: dict[str, tuple[datetime, float]] = {}
        self._silences: Mapping[str, str] | None = None
        self._stop = Event()
        self._thread = Thread(target=self._run, name="neighbours", daemon=True)

    def silences(self) -> Mapping[str, str] | None:
        """Return this bench's calls about others, by id, with what is known; None: not asked yet."""
        return self._silences

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def close(self) -> None:
        """Stop."""
        self._stop.set()
        if self._thread.is_alive():
            self._thread.join(_STOP_WITHIN_S)
        self._link.close()

    def look(self) -> None:
        """Look once; while the database is away what was known stands.

        Raises
        ------
        Away
            It does not answer now.
        """
        try:
            others, claimed = self._link.do(
                lambda shared: (other_benches(shared, self._bench_id), claimed_silences(shared))
            )
        except Away:
            self._heard.clear()  # the others were away from it as well: each has its time to come back
            raise
        called, found = self._called(), {}
        for other in others:
            alert_id = silence_id(other)
            known = claimed.get(other.bench_id) == other.heard_at
            if (self._still_s(other) >= self._silent_s or known) and self._is_ours(other, alert_id, called):
                found[alert_id] = what_is_known(other, self._zone)
        self._silences = MappingProxyType(found)

    def _still_s(self, other: OtherBench) -> float:
        """Return for how long a bench has not been heard before these eyes. [s]."""
        now_s = self._steady_s()
        heard_at, since_s = self._heard.get(other.bench_id, (None, now_s))
        if heard_at != other.heard_at:
            since_s = now_s
        self._heard[other.bench_id] = (other.heard_at, since_s)
        return now_s - since_s

    def _is_ours(self, other: OtherBench, alert_id: str, called: Collection[str]) -> bool:
        stands = alert_id in called
        if not stands and not is_missed(other, self._now_at()):
            return False

        def claim(shared: Connection) -> bool:
            return claim_silence(shared, self._bench_id, other.bench_id, other.heard_at, alert_id)

        return self._link.do(claim) or stands

    def _run(self) -> None:
        while not self._stop.wait(EVERY_S):
            try:
                self.look()
            except Away:
                continue  # the page tells of it already
            except Exception:  # noqa: BLE001 nothing that comes from outside may end these rounds
                _LOG.exception("event=neighbours_failed")
