"""An opened bench on a real port, asked as its own computer, as a joined phone and as a stranger."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import httpx

from watcher.clock import ToldClock
from watcher.page.access.access import Access
from watcher.page.access.links import Reach
from watcher.page.app import make_app
from watcher.service.reachable import lan_addresses
from watcher.service.web import Web

AT = datetime(2026, 3, 5, 9, 0, tzinfo=UTC)
LAN = next(iter(lan_addresses()), None)


class Served:
    """An opened bench on a real port, with a clock that is told."""

    def __init__(self, bench: Any, others: Any = None, **more: Any) -> None:
        self.clock = ToldClock(0.0, AT)
        self.access = Access(
            self.clock,
            "bench",
            opened=True,
            reach=Reach(lambda: (LAN or "127.0.0.1",), ("bench.local",)),
            **more,
        )
        self.web = Web(make_app(bench, access=self.access, others=others), host="0.0.0.0")
        self.clients: list[httpx.Client] = []

    def own(self, **headers: str) -> httpx.Client:
        """A browser on the bench's own computer."""
        return self._client("127.0.0.1", headers)

    def other(self, **headers: str) -> httpx.Client:
        """A browser elsewhere: it comes by the network's address (without one, by a proxy)."""
        return self._client(LAN or "127.0.0.1", headers if LAN else {"via": "1.1 elsewhere", **headers})

    def code(self, rights: str = "act", name: str = "") -> str:
        """Let one device in; return the code out of its QR code's address."""
        answer = self.own().post("/phones/invite.json", json={"rights": rights, "name": name})
        assert answer.status_code == 200, answer.text
        return str(answer.json()["links"][0]["address"].split("#")[1])

    def joined(self, rights: str = "act", name: str = "") -> httpx.Client:
        """A phone that has joined."""
        phone = self.other()
        answer = phone.post("/join.json", json={"token": self.code(rights), "name": name})
        assert answer.status_code == 200, answer.text
        return phone

    def wait(self, seconds: float) -> None:
        """Let time pass."""
        self.clock.tell(self.clock.now_s() + seconds, self.clock.now_at() + timedelta(seconds=seconds))

    def _client(self, host: str, headers: dict[str, str]) -> httpx.Client:
        self.clients.append(
            httpx.Client(base_url=f"http://{host}:{self.web.port}", headers=headers, timeout=10)
        )
        return self.clients[-1]

    def close(self) -> None:
        for client in self.clients:
            client.close()
        self.web.close()
