"""Slow down whoever tries one joining code after another."""

from __future__ import annotations

import ipaddress
from collections import OrderedDict, deque
from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock

FREE_TRIES = 3
FIRST_WAIT_S = 2.0
LONGEST_WAIT_S = 300.0
FORGET_AFTER_S = 900.0
MOST_ADDRESSES = 512
"""Addresses that are remembered; the one unheard of for longest is forgotten first."""

ALL_TRIES = 30
ALL_WITHIN_S = 60.0
"""Wrong tries of all addresses together within so long; then everybody waits."""


@dataclass(slots=True)
class _Tries:
    wrong: int
    last_s: float


class Brakes:
    """Count wrong tries by address and in all.

    Parameters
    ----------
    now_s : callable
        Gives steady seconds. [s]
    """

    def __init__(self, now_s: Callable[[], float]) -> None:
        self._now_s = now_s
        self._lock = Lock()
        self._by_address: OrderedDict[str, _Tries] = OrderedDict()
        self._all: deque[float] = deque(maxlen=ALL_TRIES)

    def begin(self, address: str) -> float:
        """Begin a try: return 0, or how long this address must wait first. [s].

        A try counts as wrong until `right` is called, so that many at once do not slip through together.
        """
        place, now_s = _place(address), self._now_s()
        with self._lock:
            wait_s = max(self._own_wait_s(place, now_s), self._common_wait_s(now_s))
            if wait_s > 0.0:
                return wait_s
            before = self._by_address.pop(place, None)
            wrong = before.wrong if before is not None and now_s - before.last_s < FORGET_AFTER_S else 0
            self._by_address[place] = _Tries(wrong + 1, now_s)
            while len(self._by_address) > MOST_ADDRESSES:
                self._by_address.popitem(last=False)
            self._all.append(now_s)
            return 0.0

    def right(self, address: str) -> None:
        """Forget what this address tried: its code was right."""
        with self._lock:
            self._by_address.pop(_place(address), None)
            if self._all:
                self._all.pop()

    def _own_wait_s(self, place: str, now_s: float) -> float:
        tries = self._by_address.get(place)
        if tries is None or tries.wrong < FREE_TRIES:
            return 0.0
        doubled = min(tries.wrong - FREE_TRIES, 10)  # 2 s times 2 ** 10 is past the longest wait
        return tries.last_s + min(FIRST_WAIT_S * 2.0**doubled, LONGEST_WAIT_S) - now_s

    def _common_wait_s(self, now_s: float) -> float:
        if len(self._all) < ALL_TRIES:
            return 0.0
        return self._all[0] + ALL_WITHIN_S - now_s


def _place(address: str) -> str:
    """Return the address, or its network of 64 bits: whoever has one IPv6 address has them all."""
    try:
        parsed = ipaddress.ip_address(address)
    except ValueError:
        return "unknown"
    if isinstance(parsed, ipaddress.IPv4Address):
        return str(parsed)
    if parsed.ipv4_mapped is not None:
        return str(parsed.ipv4_mapped)
    return str(ipaddress.ip_network((int(parsed), 64), strict=False))
