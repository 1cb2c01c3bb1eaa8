"""Behind a reverse proxy, under a path, and with a certificate."""

from __future__ import annotations

import os
import re
import ssl
import stat
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx
import pytest
from opened_bench import LAN, Served

from watcher.page.access.access import Access
from watcher.page.access.links import Reach
from watcher.page.app import make_app
from watcher.service.keeper_link import keeper_link
from watcher.service.web import Web
from watcher.settings import Settings, SettingsError, read_settings

SAY = {"mould": "cream jug", "what": "tipped"}
HOST = "bench.local"


def by_proxy(served: Served, client: str = "203.0.113.9", **more: str) -> httpx.Client:
    """What a proxy on this machine passes on from a client, as nginx's and Caddy's manuals have it set up."""
    told = {"host": HOST, "x-forwarded-for": client, "x-forwarded-proto": "https"}
    return served.own(**(told | more))


@pytest.fixture
def proxied(serve_opened: Callable[..., Served]) -> Served:
    return serve_opened(proxy="127.0.0.1", path="/bench")


def join_by_proxy(served: Served, phone: httpx.Client, code: str) -> httpx.Response:
    return phone.post("/bench/join.json", json={"token": code}, headers={"origin": f"https://{HOST}"})


def test_behind_a_proxy_nobody_is_the_own_computer(proxied: Served) -> None:
    for client in (
        by_proxy(proxied), by_proxy(proxied, "127.0.0.1"), by_proxy(proxied, "::1"), by_proxy(proxied, ""),
        by_proxy(proxied, "127.0.0.1, 203.0.113.9"), by_proxy(proxied, "203.0.113.9, 127.0.0.1"),
        proxied.own(), proxied.own(host=HOST), by_proxy(proxied, "unknown"),
    ):  # fmt: skip
        assert client.get("/bench/bench.json").status_code == 401
        assert client.post("/bench/said.json", json=SAY).status_code in (401, 403)


def test_the_keeper_joins_by_the_link_in_a_file_and_lets_others_in(proxied: Served) -> None:
    keeper = by_proxy(proxied)
    answer = join_by_proxy(proxied, keeper, proxied.access.keeper_code())
    assert answer.json() == {"name": "keeper", "rights": "keep"}
    cookie = answer.headers["set-cookie"]
    assert "Secure" in cookie and "Path=/bench/" in cookie
    keeper.cookies.clear()
    keeper.headers["cookie"] = cookie.split(";")[0]
    told = keeper.post("/bench/phones/invite.json", json={}, headers={"origin": f"https://{HOST}"}).json()
    addresses = [link["address"].split("#")[0] for link in told["links"]]
    assert addresses == [f"https://{HOST}/bench/join"]


def test_the_page_works_whether_the_proxy_leaves_the_path_on_or_takes_it_off(proxied: Served) -> None:
    phone = by_proxy(proxied)
    cookie = join_by_proxy(proxied, phone, proxied.access.keeper_code()).headers["set-cookie"]
    phone.headers["cookie"] = cookie.split(";")[0]
    for before in ("/bench", ""):
        page = phone.get(f"{before}/mould/beaker")
        assert page.status_code == 200
        links = set(re.findall(r'(?:href|src)="([^"#:]+)"', page.text))
        assert links and all(not link.startswith("/") for link in links)
        assert phone.get(f"{before}/static/tool.css").status_code == 200
        assert phone.get(f"{before}/bench.json").status_code == 200
    away = phone.get("/bench")
    assert (away.status_code, away.headers["location"]) == (307, "/bench/")


def test_only_the_named_proxy_is_believed(serve_opened: Callable[..., Served]) -> None:
    served = serve_opened(proxy="203.0.113.1", path="/bench")
    assert served.own().get("/bench.json").status_code == 200  # no proxy there: the own computer itself
    forged = {"x-forwarded-for": "127.0.0.1", "x-forwarded-proto": "https", "x-forwarded-prefix": "/static"}
    assert served.other(**forged).get("/bench.json").status_code == 401
    code = served.code()
    joined = served.other(**forged).post("/join.json", json={"token": code})
    assert joined.status_code == 200 and "Secure" not in joined.headers["set-cookie"]


def test_the_brake_is_each_clients_own_behind_a_proxy_and_cannot_be_dodged(proxied: Served) -> None:
    def wrong(client: str) -> int:
        return join_by_proxy(proxied, by_proxy(proxied, client), "wrong").status_code

    # what a client writes itself stands before what the proxy adds
    assert [wrong(f"10.0.0.{i}, 203.0.113.9") for i in range(4)] == [403, 403, 403, 429]
    assert wrong("203.0.113.10") == 403


def test_the_proxys_word_on_https_is_what_an_origin_is_held_against(proxied: Served, bench: Any) -> None:
    phone = by_proxy(proxied)
    cookie = join_by_proxy(proxied, phone, proxied.access.keeper_code()).headers["set-cookie"]
    phone.headers["cookie"] = cookie.split(";")[0]
    for origin, status in ((f"https://{HOST}", 200), (f"http://{HOST}", 403), ("https://evil.example", 403)):
        answer = phone.post("/bench/said.json", json=SAY, headers={"origin": origin})
        assert answer.status_code == status, origin
    assert len(bench.heard) == 1


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory, openssl_path: str) -> tuple[Path, Path]:
    """A certificate made out to this machine, as anybody makes one with openssl."""
    folder = tmp_path_factory.mktemp("tls")
    pem, key = folder / "bench.pem", folder / "bench.key"
    subprocess.run(
        [openssl_path, "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes",
         "-days", "30", "-subj", "/CN=bench.local", "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1",
         "-keyout", str(key), "-out", str(pem)],
        check=True, capture_output=True,
    )  # fmt: skip
    return pem, key


def test_with_a_certificate_the_page_is_https_and_its_key_travels_no_other_way(
    bench: Any, certificate: tuple[Path, Path]
) -> None:
    from watcher.clock import ComputerClock

    pem, key = certificate
    access = Access(ComputerClock(), "bench", opened=True, reach=Reach(lambda: ("192.0.2.7",), (HOST,)))
    web = Web(make_app(bench, access=access), certificate=pem, key=key)
    try:
        assert web.address.startswith("https://")
        trusting = ssl.create_default_context(cafile=str(pem))
        with httpx.Client(base_url=web.address, verify=trusting) as own:
            told = own.post(
                "/phones/invite.json", json={}, headers={"origin": web.address.rstrip("/")}
            ).json()
            first = told["links"][0]["address"]
            assert first.startswith(f"https://{HOST}:")  # the name that a certificate is made out to
            joined = own.post("/join.json", json={"token": first.split("#")[1]})
            assert {"Secure", "HttpOnly"} <= {
                part.strip() for part in joined.headers["set-cookie"].split(";")
            }
        with pytest.raises(httpx.HTTPError):
            httpx.get(web.address.replace("https", "http"))
    finally:
        bench.stop = True
        web.close()


def test_a_certificate_that_cannot_be_used_is_said_at_the_start(
    bench: Any, certificate: tuple[Path, Path], tmp_path: Path
) -> None:
    pem, key = certificate
    (tmp_path / "other.pem").write_text("not a certificate", encoding="utf-8")
    for given in ((tmp_path / "none.pem", key), (tmp_path / "other.pem", key), (pem, tmp_path / "none.key")):
        with pytest.raises(OSError, match=r"certificate .* cannot be used"):
            Web(make_app(bench), certificate=given[0], key=given[1])


def settings(tmp_path: Path, page: str) -> Settings:
    file = tmp_path / "tipbell.toml"
    file.write_text(f'[camera]\naddress = "{tmp_path.as_posix()}"\n[page]\n{page}\n', encoding="utf-8")
    return read_settings(file)


@pytest.mark.parametrize(
    ("page", "said"),
    [
        ('certificate = "a.pem"', "go together"),
        ('names = ["http://bench"]', "names"),
        ('names = ["*"]', "names"),
        ('proxy = "localhost"', "number address"),
        ('path = "bench"', "path"),
        ('path = "/../x"', "path"),
        ('path = "/a\\r\\nb"', "path"),
    ],
)
def test_settings_of_the_page_that_cannot_be_are_refused_in_one_sentence(
    tmp_path: Path, page: str, said: str
) -> None:
    with pytest.raises(SettingsError, match=said):
        settings(tmp_path, page)


def test_the_keepers_link_is_for_this_user_alone_and_gone_at_the_end(tmp_path: Path, served: Served) -> None:
    given = settings(
        tmp_path, 'open = true\nproxy = "127.0.0.1"\nnames = ["bench.example"]\npath = "/studio"'
    )
    given.memory.folder.mkdir()
    file = given.memory.folder / "keeper-link.txt"
    elsewhere = tmp_path / "elsewhere"
    elsewhere.write_text("as it was", encoding="utf-8")
    file.symlink_to(elsewhere)
    with keeper_link(given, served.access, "http://127.0.0.1:8417/"):
        assert stat.S_IMODE(os.lstat(file).st_mode) == 0o600
        address, code = file.read_text(encoding="utf-8").strip().split("#")
        assert address == "https://bench.example/studio/join"
        joined = served.other().post("/join.json", json={"token": code})
        assert joined.json()["rights"] == "keep"
    assert not file.exists() and elsewhere.read_text(encoding="utf-8") == "as it was"


@pytest.mark.skipif(LAN is None, reason="this machine has no address on a network")
def test_an_unopened_bench_does_not_even_listen_beyond_this_machine(serve: Any, bench: Any) -> None:
    web = Web(make_app(bench))
    try:
        with pytest.raises(httpx.ConnectError):
            httpx.get(f"http://{LAN}:{web.port}/health.json", timeout=3)
    finally:
        bench.stop = True
        web.close()
