"""The reverse-proxy example with a real nginx in front of the page: https, a path, live pages, phones."""

from __future__ import annotations

import re
import socket
import ssl
import subprocess
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType
from typing import Any

import httpx
import pytest

from watcher.clock import ComputerClock
from watcher.page.access.access import Access
from watcher.page.access.links import Reach
from watcher.page.app import make_app
from watcher.service.web import Web

HERE = Path(__file__).resolve().parent
EXAMPLE = HERE.parents[1] / "deploy" / "system" / "nginx-tipbell.conf"
NAME = "bench.example"
WHOLE = """
daemon off; pid {home}/pid; error_log {home}/error.log; {user}
events {{ worker_connections 64; }}
http {{
    client_body_temp_path {home}/b; proxy_temp_path {home}/p; fastcgi_temp_path {home}/f;
    uwsgi_temp_path {home}/u; scgi_temp_path {home}/s;
    include {home}/tipbell.conf;
}}
"""

pytestmark = pytest.mark.slow


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as found:
        return int(found.getsockname()[1])


def answers(port: int) -> bool:
    with socket.socket() as trying:
        return trying.connect_ex(("127.0.0.1", port)) == 0


@pytest.fixture(scope="module")
def behind() -> Iterator[tuple[Access, Web, Any]]:
    """The page of a made-up bench, as its settings would have it behind a proxy."""
    import importlib.util
    import sys

    def load(name: str) -> ModuleType:
        spec = importlib.util.spec_from_file_location(name, HERE.parent / "watcher" / "page" / f"{name}.py")
        assert spec is not None and spec.loader is not None
        module = sys.modules.setdefault(name, importlib.util.module_from_spec(spec))
        spec.loader.exec_module(module)
        return module

    load("fake_pictures")
    bench = load("fake_bench").FakeBench()
    access = Access(
        ComputerClock(),
        "bench",
        opened=True,
        reach=Reach(lambda: (), (NAME,)),
        proxy="127.0.0.1",
        path="/bench",
    )
    web = Web(make_app(bench, access=access))
    yield access, web, bench
    bench.stop = True
    web.close()


@pytest.fixture(scope="module")
def proxy(
    behind: tuple[Access, Web, Any],
    nginx_path: str,
    openssl_path: str,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[tuple[int, int, Path]]:
    """nginx with the example, only its ports, certificate and the page's port replaced."""
    home = tmp_path_factory.mktemp("nginx")
    pem, key = home / "fullchain.pem", home / "key.pem"
    subprocess.run(
        [openssl_path, "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes",
         "-days", "30", "-subj", f"/CN={NAME}", "-addext", f"subjectAltName=DNS:{NAME}", "-keyout", str(key),
         "-out", str(pem)],
        check=True, capture_output=True,
    )  # fmt: skip
    https, http = free_port(), free_port()
    text = EXAMPLE.read_text(encoding="utf-8")
    for old, new in (
        (r"listen 443", f"listen 127.0.0.1:{https}"),
        (r"listen \[::\]:443[^;]*;", ""),
        (r"listen 80", f"listen 127.0.0.1:{http}"),
        (r"listen \[::\]:80;", ""),
        (r"/etc/ssl/tipbell", str(home)),
        (r"127\.0\.0\.1:8417", f"127.0.0.1:{behind[1].port}"),
    ):
        text, times = re.subn(old, new, text)
        assert times, old
    (home / "tipbell.conf").write_text(text, encoding="utf-8")
    user = "user root;" if Path("/proc/self").stat().st_uid == 0 else ""
    (home / "nginx.conf").write_text(WHOLE.format(home=home, user=user), encoding="utf-8")
    with (home / "said").open("w") as said:
        running = subprocess.Popen([nginx_path, "-c", str(home / "nginx.conf")], stdout=said, stderr=said)
    try:
        until = time.monotonic() + 10
        while not answers(https):
            assert running.poll() is None and time.monotonic() < until, (home / "said").read_text()
            time.sleep(0.05)
        yield https, http, pem
    finally:
        running.terminate()
        running.wait(10)


@pytest.fixture
def visitor(proxy: tuple[int, int, Path]) -> Iterator[httpx.Client]:
    """A browser that goes to the proxy by the bench's name."""
    https, _, pem = proxy
    trusting = ssl.create_default_context(cafile=str(pem))
    with httpx.Client(
        base_url=f"https://127.0.0.1:{https}",
        verify=trusting,
        headers={"host": NAME, "origin": f"https://{NAME}"},
        timeout=10,
    ) as client:
        yield client


def ask(visitor: httpx.Client, method: str, path: str, **more: Any) -> httpx.Response:
    return visitor.request(method, path, extensions={"sni_hostname": NAME}, **more)


def test_a_keeper_joins_by_the_proxy_and_acts_there(
    visitor: httpx.Client, behind: tuple[Access, Web, Any]
) -> None:
    assert ask(visitor, "GET", "/bench/bench.json").status_code == 401
    joined = ask(visitor, "POST", "/bench/join.json", json={"token": behind[0].keeper_code()})
    assert joined.status_code == 200 and joined.json()["rights"] == "keep"
    attributes = {part.strip() for part in joined.headers["set-cookie"].split(";")}
    assert {"Secure", "HttpOnly", "SameSite=strict", "Path=/bench/"} <= attributes
    key = joined.headers["set-cookie"].split(";")[0]
    seen = ask(visitor, "GET", "/bench/bench.json", headers={"cookie": key})
    assert seen.status_code == 200 and seen.json()["moulds"]
    invited = ask(visitor, "POST", "/bench/phones/invite.json", json={}, headers={"cookie": key})
    assert invited.json()["links"][0]["address"].startswith(f"https://{NAME}/bench/join#")
    foreign = {"cookie": key, "origin": "https://evil.example"}
    assert ask(visitor, "POST", "/bench/phones/invite.json", json={}, headers=foreign).status_code == 403


def test_the_living_page_comes_through_as_it_is_sent(
    visitor: httpx.Client, behind: tuple[Access, Web, Any]
) -> None:
    joined = ask(visitor, "POST", "/bench/join.json", json={"token": behind[0].keeper_code()})
    key = joined.headers["set-cookie"].split(";")[0]
    began = datetime.now(UTC)
    with visitor.stream(
        "GET", "/bench/live", headers={"cookie": key}, extensions={"sni_hostname": NAME}
    ) as live:
        assert live.headers["content-type"].startswith("text/event-stream")
        first = next(live.iter_text())
    assert "data:" in first or first.startswith(":")
    assert (datetime.now(UTC) - began).total_seconds() < 3.0


def test_nobody_is_the_own_computer_behind_it_whatever_they_say(visitor: httpx.Client) -> None:
    for forged in ({"x-forwarded-for": "127.0.0.1"}, {"forwarded": "for=127.0.0.1"}, {"x-real-ip": "::1"}):
        assert ask(visitor, "GET", "/bench/bench.json", headers=forged).status_code == 401


def test_a_foreign_name_is_refused_and_plain_http_is_sent_on(
    visitor: httpx.Client, proxy: tuple[int, int, Path]
) -> None:
    assert ask(visitor, "GET", "/bench/health.json", headers={"host": "evil.example"}).status_code == 403
    sent_on = httpx.get(f"http://127.0.0.1:{proxy[1]}/bench/", headers={"host": NAME})
    assert (sent_on.status_code, sent_on.headers["location"]) == (301, f"https://{NAME}/bench/")
    assert ask(visitor, "GET", "/bench").headers["location"].endswith("/bench/")
    assert ask(visitor, "GET", "/").status_code == 404
