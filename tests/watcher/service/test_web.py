"""The page's server listens where it should and nowhere else."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI
from starlette.middleware import Middleware
from starlette.requests import Request

from watcher.clock import ComputerClock
from watcher.page.access.access import Access
from watcher.page.access.door import Door, asker_of
from watcher.page.access.proxy import Proxied
from watcher.page.guard import Guard, is_loopback
from watcher.service.web import Web


def app_of(*, opened: bool) -> FastAPI:
    """The page's own doors, with one room behind them that tells who came."""
    access = Access(ComputerClock(), "bench", opened=opened)
    app = FastAPI(
        middleware=[
            Middleware(Proxied),
            Middleware(Guard, opened=opened),
            Middleware(Door, book=access.book, cookie=access.cookie),
        ]
    )

    @app.get("/who")
    def who(request: Request) -> str:
        asker = asker_of(request)
        return str(asker.rights) if asker else "nobody"

    return app


def has_ipv6_loopback() -> bool:
    try:
        socket.create_server(("::1", 0), family=socket.AF_INET6).close()
    except OSError:
        return False
    return True


@pytest.fixture(params=["127.0.0.1", "0.0.0.0"])
def web(request: pytest.FixtureRequest) -> Iterator[Web]:
    served = Web(app_of(opened=request.param == "0.0.0.0"), host=request.param)
    yield served
    served.close()


@pytest.mark.skipif(not has_ipv6_loopback(), reason="this machine has no IPv6 loopback")
def test_the_own_computer_is_the_keeper_by_either_loopback(web: Web) -> None:
    for host in ("127.0.0.1", "[::1]"):
        assert httpx.get(f"http://{host}:{web.port}/who").json() == "keep"
        foreign = httpx.get(f"http://{host}:{web.port}/who", headers={"host": f"evil.example:{web.port}"})
        assert foreign.status_code == 403


@pytest.mark.skipif(not has_ipv6_loopback(), reason="this machine has no IPv6 loopback")
def test_over_ipv6_nothing_else_listens_even_when_the_bench_is_opened(web: Web) -> None:
    listening = [line.split() for line in Path("/proc/net/tcp6").read_text(encoding="ascii").splitlines()[1:]]
    ours = [line[1] for line in listening if line[3] == "0A" and line[1].endswith(f":{web.port:04X}")]
    assert ours == [f"00000000000000000000000001000000:{web.port:04X}"]


@pytest.mark.parametrize(
    ("address", "own"),
    [
        ("127.0.0.1", True),
        ("127.3.2.1", True),
        ("::1", True),
        ("::ffff:127.0.0.1", True),
        ("::ffff:192.0.2.9", False),
        ("::2", False),
        ("fe80::1%lo", False),
        ("0.0.0.0", False),
        ("::", False),
        ("localhost", False),
        ("", False),
    ],
)
def test_which_addresses_are_this_machine_itself(address: str, own: bool) -> None:
    """RFC 1122 3.2.1.3 for 127/8, RFC 4291 2.5.3 for ::1 and 2.5.5.2 for IPv4 inside IPv6."""
    assert is_loopback(address) is own
