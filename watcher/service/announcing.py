"""The page's name on the network: told to whoever looks for pages nearby (DNS-SD over multicast, RFC 6763).

An extra. It is told under a name of its own, not the computer's, which the system itself may already tell:
two that tell the same name take each other for a stranger, and one of them changes it.
"""

from __future__ import annotations

import importlib.util
import logging
import socket
from collections.abc import Callable
from threading import Event, Thread
from typing import Any

from watcher.service.reachable import own_names

log = logging.getLogger(__name__)

KIND = "_http._tcp.local."
EVERY_S = 30.0
"""How often it is looked whether this computer's addresses have changed. [s]"""

_CLOSE_WITHIN_S = 2.0


def announced_name() -> str:
    """Return the name that is told, such as `tipbell-kiln.local`; empty where it cannot be told."""
    names = own_names()
    if not names or importlib.util.find_spec("zeroconf") is None:
        return ""
    return f"tipbell-{names[-1][:40]}.local"


class Announcer:
    """Tells the page's name for as long as it is open.

    Parameters
    ----------
    name : str
        From `announced_name`.
    bench : str
        The bench's name, which people see in a list of pages nearby.
    port : int
        Of the page.
    addresses : callable
        Gives this computer's IPv4 addresses; told anew when they change.
    every_s : float
        [s]
    """

    def __init__(
        self,
        name: str,
        bench: str,
        port: int,
        addresses: Callable[[], tuple[str, ...]],
        *,
        every_s: float = EVERY_S,
    ) -> None:
        self._name = name
        self._bench = bench
        self._port = port
        self._addresses = addresses
        self._every_s = every_s
        self._stop = Event()
        self._thread = Thread(target=self._run, name="announcing", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Say goodbye. Twice is fine."""
        self._stop.set()
        self._thread.join(_CLOSE_WITHIN_S)

    def _run(self) -> None:
        told: tuple[str, ...] = ()
        teller: Any = None
        while True:
            now = self._addresses()
            if now != told:
                _goodbye(teller)
                teller, told = self._told(now), now
            if self._stop.wait(self._every_s):
                break
        _goodbye(teller)

    def _told(self, addresses: tuple[str, ...]) -> Any:
        if not addresses:
            return None
        from zeroconf import IPVersion, ServiceInfo, Zeroconf

        info = ServiceInfo(
            KIND,
            f"{_label(self._bench)}.{KIND}",
            addresses=[socket.inet_aton(one) for one in addresses],
            port=self._port,
            properties={"path": "/"},
            server=f"{self._name}.",
        )
        try:
            teller = Zeroconf(interfaces=list(addresses), ip_version=IPVersion.V4Only)
            teller.register_service(info, allow_name_change=True)
        except (OSError, ValueError) as fault:
            log.warning("event=not_announced why=%r", str(fault))
            return None
        log.info("event=announced name=%s addresses=%s", self._name, ",".join(addresses))
        return teller


def _goodbye(teller: Any) -> None:
    if teller is None:
        return
    try:
        teller.unregister_all_services()
    finally:
        teller.close()


def _label(bench: str) -> str:
    """Return the bench's name as one label of at most 63 bytes (RFC 6763, 4.1.1)."""
    plain = " ".join(bench.replace(".", " ").split())
    return f"Tipbell {plain}".encode()[:60].decode("utf-8", "ignore").strip()
