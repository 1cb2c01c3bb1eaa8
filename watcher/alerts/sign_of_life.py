"""A regular sign of life to an address of the caster's choice, which complains when it stops coming.

Who watches the watcher must be somewhere else: a dead computer cannot say that it is dead.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from http.client import HTTPMessage
from threading import Event, Thread
from typing import IO
from urllib.error import HTTPError, URLError
from urllib.parse import urlsplit
from urllib.request import HTTPRedirectHandler, Request, build_opener

from watcher.alerts.channels import masked
from watcher.alerts.senders import UnusableChannel

_LOG = logging.getLogger(__name__)
_ANSWER_S = 10.0
_CLOSE_WITHIN_S = 2.0


class _NoElsewhere(HTTPRedirectHandler):
    """Another kind of address that an answer points to is not followed."""

    def redirect_request(
        self, req: Request, fp: IO[bytes], code: int, msg: str, headers: HTTPMessage, newurl: str
    ) -> Request | None:
        """Follow only to another web address."""
        if urlsplit(newurl).scheme not in ("http", "https"):
            return None
        return super().redirect_request(req, fp, code, msg, headers, newurl)


class SignOfLife:
    """Ask the address for its page, again and again, as long as all is well here.

    Parameters
    ----------
    address : str
        http:// or https://. Holds a key as a rule: never shown, never logged.
    alive : callable
        Whether the bench is being watched right now. When it is not, no sign is given: that is the sign.
    every_s : float
        [s]

    Raises
    ------
    UnusableChannel
        It is no web address.
    """

    def __init__(self, address: str, alive: Callable[[], bool], *, every_s: float = 60.0) -> None:
        parts = urlsplit(address)
        if parts.scheme not in ("http", "https") or not parts.hostname:
            raise UnusableChannel("the address for the sign of life must be http://... or https://...")
        self._address = address
        self._alive = alive
        self._every_s = every_s
        self._stop = Event()
        self._opener = build_opener(_NoElsewhere)
        self.trouble = ""
        self._thread = Thread(target=self._run, name="sign-of-life", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Stop. Twice is fine."""
        self._stop.set()
        self._thread.join(_CLOSE_WITHIN_S)

    def _run(self) -> None:
        while not self._stop.is_set():
            if self._alive():
                self._give()
            self._stop.wait(self._every_s)

    def _give(self) -> None:
        request = Request(self._address, headers={"User-Agent": "Tipbell"})
        try:
            with self._opener.open(request, timeout=_ANSWER_S) as answer:
                answer.read(1024)
            trouble = ""
        except HTTPError as refused:
            refused.close()
            trouble = f"{masked(self._address)} refuses the sign of life (code {refused.code})"
        except (URLError, OSError, ValueError):
            trouble = f"{masked(self._address)} does not take the sign of life: is it up, and the network?"
        if trouble != self.trouble:
            _LOG.warning("event=sign_of_life why=%r", trouble or "taken again")
        self.trouble = trouble
