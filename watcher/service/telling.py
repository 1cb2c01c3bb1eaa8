"""Tell the caster elsewhere than on the page; in its own thread, as a phone may be slow."""

from __future__ import annotations

import logging
import queue
import threading

from watcher.alerts.senders import Senders
from watcher.alerts.wording import sentence
from watcher.records.bench import Bench
from watcher.records.letters import SendFailed
from watcher.records.notices import Notice

log = logging.getLogger(__name__)


class Telling:
    """Sends notices one after the other.

    Parameters
    ----------
    senders : Senders
        The channels the caster named.
    """

    def __init__(self, senders: Senders) -> None:
        self._senders = senders
        self._notices: queue.Queue[tuple[Notice, str] | None] = queue.Queue()
        self._thread = threading.Thread(target=self._run, name="telling", daemon=True)
        self._thread.start()

    def tell(self, notices: tuple[Notice, ...], bench: Bench | None = None) -> None:
        """Put notices in line; with the present bench its times and moulds can be named."""
        for notice in notices:
            self._notices.put((notice, sentence(notice, bench)))

    def close(self, timeout_s: float = 5.0) -> None:
        """End after what is in line has been sent, or after the time given."""
        self._notices.put(None)
        self._thread.join(timeout_s)

    def _run(self) -> None:
        while (waiting := self._notices.get()) is not None:
            notice, text = waiting
            outcome = self._senders.send(notice, text)
            told = "failed" if isinstance(outcome, SendFailed) else "told"
            log.info("alert=%s outcome=%s", notice.alert.alert_id, told)
