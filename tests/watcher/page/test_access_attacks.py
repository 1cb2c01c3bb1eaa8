"""What somebody on the network may try against an opened bench, asked over real HTTP."""

from __future__ import annotations

import json
import logging
import re
import socket
from pathlib import Path
from typing import Any

import pytest
from opened_bench import LAN, Served

from watcher.service.logs import keep_log

SAY = {"mould": "cream jug", "what": "tipped"}


@pytest.mark.parametrize("key", ["", "x", "a" * 43, "../../etc/passwd", "é", '"', "a; b", "x" * 3000])
def test_a_key_that_was_never_given_opens_nothing(served: Served, key: str) -> None:
    served.joined()
    cookie = f"{served.access.cookie}={key}".encode()
    assert served.other().get("/bench.json", headers={"cookie": cookie}).status_code == 401
    (guest,) = served.access.book.all()
    for kept in (guest.key_hash, guest.guest_id):
        cookie = f"{served.access.cookie}={kept}".encode()
        assert served.other().get("/bench.json", headers={"cookie": cookie}).status_code == 401


def test_whoever_tries_code_after_code_waits_longer_each_time(served: Served) -> None:
    guesser = served.other()
    for _ in range(3):
        assert guesser.post("/join.json", json={"token": "wrong"}).status_code == 403
    waits = []
    for _ in range(6):
        answer = guesser.post("/join.json", json={"token": "wrong"})
        assert (answer.status_code, answer.json()["error"]["code"]) == (429, "too_soon")
        waits.append(int(answer.headers["retry-after"]))
        right = guesser.post("/join.json", json={"token": served.code()})
        assert right.status_code == 429  # nor is a right one tried meanwhile
        served.wait(waits[-1] + 0.1)
        assert guesser.post("/join.json", json={"token": "wrong"}).status_code == 403
    assert waits == [2, 4, 8, 16, 32, 64]
    served.wait(1000.0)
    assert guesser.post("/join.json", json={"token": served.code()}).status_code == 200


@pytest.mark.parametrize(
    "forged",
    [
        {"x-forwarded-for": "127.0.0.1"}, {"x-real-ip": "127.0.0.1"}, {"forwarded": "for=127.0.0.1"},
        {"x-forwarded-prefix": "/static"}, {"x-forwarded-host": "localhost"}, {"host": "localhost"},
        {"host": "127.0.0.1"}, {"x-original-url": "/health.json"}, {"x-rewrite-url": "/health.json"},
        {"x-http-method-override": "GET"}, {"authorization": "Basic YWRtaW46YWRtaW4="},
    ],
)  # fmt: skip
def test_no_header_makes_a_stranger_the_own_computer(served: Served, forged: dict[str, str]) -> None:
    assert served.other(**forged).get("/bench.json").status_code == 401
    assert served.other(**forged).post("/said.json", json=SAY).status_code == 401


@pytest.mark.parametrize(
    "told", [{"x-forwarded-for": "10.0.0.9"}, {"forwarded": "for=10.0.0.9"}, {"via": "1.1 gate"}]
)
def test_a_proxy_that_nobody_spoke_of_is_not_taken_for_the_own_computer(served: Served, told: Any) -> None:
    assert served.own().get("/bench.json").status_code == 200
    assert served.own(**told).get("/bench.json").status_code == 401
    assert served.own(**told).post("/phones/invite.json", json={"rights": "keep"}).status_code == 401


def test_a_foreign_page_that_points_its_own_name_at_the_bench_is_refused(served: Served) -> None:
    for client in (served.own(), served.joined()):
        for host in ("evil.example", f"evil.example:{served.web.port}", "bench.local.evil.example", ""):
            assert client.get("/bench.json", headers={"host": host}).status_code in (400, 403), host
            answer = client.post("/said.json", json=SAY, headers={"host": host, "origin": f"http://{host}"})
            assert answer.status_code in (400, 403), host
    assert served.own().get("/bench.json", headers={"host": "bench.local:1"}).status_code == 200


def test_a_foreign_page_cannot_speak_with_a_joined_phones_key(served: Served, bench: Any) -> None:
    phone = served.joined()
    for headers in (
        {"origin": "http://evil.example"}, {"origin": "null"}, {"sec-fetch-site": "cross-site"},
        {"content-type": "text/plain"}, {"content-type": "application/x-www-form-urlencoded"},
    ):  # fmt: skip
        for path in ("/said.json", "/leave.json", "/join.json"):
            answer = phone.post(
                path, content=json.dumps(SAY), headers={"content-type": "application/json", **headers}
            )
            assert answer.status_code in (403, 415), (headers, path)
    assert bench.heard == [] and len(served.access.book.all()) == 1
    foreign = served.own().post("/phones/invite.json", json={}, headers={"origin": "http://evil.example"})
    assert foreign.status_code == 403


def test_no_code_or_key_stands_in_any_log_or_address(served: Served, tmp_path: Path) -> None:
    handler = keep_log(tmp_path, level=logging.DEBUG)
    try:
        code = served.code()
        phone = served.other()
        answer = phone.post("/join.json", json={"token": code, "name": "phone\r\nlevel=ERROR forged=1"})
        key = re.search(r"=([\w-]+);", answer.headers["set-cookie"])[1]
        phone.get("/bench.json")
        served.other().post("/join.json", json={"token": code})
        served.other().post("/join.json", json={"token": 7})
        served.own().post("/phones/out.json", json={"id": served.access.book.all()[0].guest_id})
        phone.get("/bench.json")
    finally:
        logging.getLogger().removeHandler(handler)
        handler.close()
    log = (tmp_path / "tipbell.log").read_text(encoding="utf-8")
    assert "event=joined" in log and "event=taken_out" in log
    served_log = "\n".join(
        line for line in log.splitlines() if " in=httpx" not in line and " in=httpcore" not in line
    )
    assert code not in served_log and key not in served_log
    assert not any(line.startswith("level=ERROR") for line in log.splitlines())


def test_the_code_stands_behind_the_hash_of_the_address_alone(served: Served) -> None:
    told = served.own().post("/phones/invite.json", json={"rights": "act"}).json()
    for link in told["links"]:
        before, code = link["address"].split("#")
        assert "?" not in before and code not in before and before.endswith("/join")
        assert link["svg"].startswith("<svg") and "<script" not in link["svg"]
    hosts = [link["address"].split("/")[2].rsplit(":", 1)[0] for link in told["links"]]
    assert hosts == [LAN or "127.0.0.1", "bench.local"]
    page = served.other().get("/join").text
    assert code not in page


def test_a_phones_name_can_neither_hide_nor_turn_the_writing_nor_be_markup(served: Served) -> None:
    served.joined(name="\u202egnp.exe\u0000\n<b>\u200bx</b>\u2028" + "y" * 100)
    (shown,) = served.own().get("/phones.json").json()["phones"]
    assert shown["name"].startswith("gnp.exe<b>x</b>") and len(shown["name"]) == 40
    too_long = served.other().post("/join.json", json={"token": served.code(), "name": "y" * 201})
    assert too_long.status_code == 422


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b"{", 400), (b"[]", 422), (b"{}", 422), (b'{"token": ""}', 422), (b'{"token": null}', 422),
        (b'{"token": "x", "rights": "keep"}', 422), (b'{"token": ["x"]}', 422),
        (b'{"token": "\\ud800"}', 422), (b'{"token": "' + b"x" * 101 + b'"}', 422),
        (b'{"token": "' + b"x" * 9000 + b'"}', 413), (b"\xff\xfe", 400),
    ],
)  # fmt: skip
def test_whatever_a_stranger_sends_in_place_of_a_code_is_refused(
    served: Served, body: bytes, status: int
) -> None:
    answer = served.other().post("/join.json", content=body, headers={"content-type": "application/json"})
    assert answer.status_code == status, answer.text
    assert set(answer.json()["error"]) == {"code", "say", "field"} and "xxx" not in answer.text


def test_no_more_than_forty_devices_join_and_eight_codes_are_open(served: Served) -> None:
    codes = [served.code() for _ in range(9)]
    assert served.other().post("/join.json", json={"token": codes[0]}).status_code == 403
    for _ in range(40):
        served.joined()
    answer = served.other().post("/join.json", json={"token": served.code()})
    assert (answer.status_code, answer.json()["error"]["code"]) == (409, "too_many")


def test_joining_again_does_not_raise_what_a_phone_may_do(served: Served) -> None:
    code = served.code("look")
    phone = served.other()
    assert phone.post("/join.json", json={"token": code, "rights": "keep"}).status_code == 422
    assert phone.post("/join.json", json={"token": code}).json()["rights"] == "look"


def test_every_answer_to_strangers_and_phones_forbids_frames_and_keeping(served: Served) -> None:
    for client in (served.other(), served.joined()):
        for path in ("/", "/join", "/bench.json", "/phones", "/health.json"):
            headers = client.get(path, headers={"accept": "text/html"}).headers
            assert headers["x-frame-options"] == "DENY" and "no-store" in headers["cache-control"], path
            assert "frame-ancestors 'none'" in headers["content-security-policy"]
            assert "server" not in headers


def raw(served: Served, lines: bytes) -> bytes:
    """Send bytes as they are: a client library would mend them first."""
    with socket.create_connection((LAN or "127.0.0.1", served.web.port), timeout=10) as line:
        told = b""
        try:
            line.sendall(lines)
            while more := line.recv(65536):
                told += more
        except ConnectionError:
            pass  # hung up on
    return told


@pytest.mark.parametrize(
    "path",
    [
        "/static/../bench.json", "/static/..%2fbench.json", "/static/%2e%2e/bench.json",
        "/static//etc/passwd", "/static/../../../../../../etc/passwd", "/static/..%2f..%2f..%2fetc%2fpasswd",
        "/static/%2e%2e%2f%2e%2e%2fapp.py", "/static/..\\app.py", "/static/%00", "/static/.",
        "/static/..;/app.py", "/join/../bench.json",
        "/mould/../../../etc/passwd", "/hole/../../etc/passwd.jpg", "/health.json/../bench.json",
        "http://127.0.0.1/bench.json", "/static/../templates/join.html", "/static/../access/door.py",
    ],
)  # fmt: skip
def test_no_way_of_writing_a_path_leads_out_of_the_public_files(served: Served, path: str) -> None:
    host = f"Host: {LAN or '127.0.0.1'}\r\nVia: 1.1 x\r\nConnection: close\r\n\r\n"
    told = raw(served, f"GET {path} HTTP/1.1\r\n{host}".encode())
    status = int(told.split(b" ", 2)[1])
    assert status in (400, 401, 404), told[:200]
    for inside in (b"root:", b"cream jug", b"import ", b"{% ", b"wall_mm"):
        assert inside not in told


def test_no_line_can_be_smuggled_into_an_answers_head(served: Served) -> None:
    key = served.joined()
    cookie = "; ".join(f"{one.name}={one.value}" for one in key.cookies.jar)
    for path in (
        "/mould/x%0d%0aset-cookie:%20a=b", "/phones%0d%0aset-cookie:%20a=b/", "/join%0d%0a/",
        "/%0d%0ax:%20y/", "//evil.example/%2e%2e", "//evil.example/", "/\\evil.example/",
    ):  # fmt: skip
        host = f"Host: {LAN or '127.0.0.1'}\r\nCookie: {cookie}\r\nConnection: close\r\n\r\n"
        told = raw(served, f"GET {path} HTTP/1.1\r\n{host}".encode())
        head = told.split(b"\r\n\r\n")[0].lower()
        assert b"\r\nset-cookie: a=b" not in head and b"\r\nx: y" not in head, path
        place = re.search(rb"\r\nlocation: (\S*)", head)
        assert place is None or b"//evil.example" not in place[1].removeprefix(b"http://"), path


@pytest.mark.parametrize(
    "lines",
    [
        "POST /join.json HTTP/1.1\r\nHost: {host}\r\nContent-Type: application/json\r\nContent-Length: 5\r\n"
        "Transfer-Encoding: chunked\r\n\r\n0\r\n\r\nGET /bench.json HTTP/1.1\r\nHost: {host}\r\n\r\n",
        "GET /health.json HTTP/1.1\r\nHost: {host}\r\nHost: localhost\r\nConnection: close\r\n\r\n",
        "GET /health.json HTTP/1.1\r\nConnection: close\r\n\r\n",
        "GET /health.json HTTP/1.1\r\nHost: {host}\r\nX: " + "a" * 3_000_000 + "\r\n\r\n",
        "POST /join.json HTTP/1.1\r\nHost: {host}\r\nContent-Type: application/json\r\n"
        "Content-Length: 99999999999\r\nConnection: close\r\n\r\n{{",
        "POST /join.json HTTP/1.1\r\nHost: {host}\r\nContent-Type: application/json\r\n"
        "Content-Length: -1\r\nConnection: close\r\n\r\n",
        "\x16\x03\x01\x02\x00",
    ],
)
def test_requests_that_are_no_http_or_two_at_once_get_no_further(served: Served, lines: str) -> None:
    if lines.startswith("\x16"):
        lines += "\r\n\r\n"
    told = raw(served, lines.format(host=LAN or "127.0.0.1").encode("latin-1"))
    answers = re.findall(rb"HTTP/1\.1 (\d+)", told)
    if len(lines) < 3_000_000:  # else it may hang up before its answer is read
        assert answers
    assert set(answers) <= {b"400", b"403", b"411", b"413", b"431"}, told[:200]
    assert b"wall_mm" not in told


def test_proxies_that_still_speak_http_1_0_are_not_taken_for_the_own_computer(served: Served) -> None:
    with socket.create_connection(("127.0.0.1", served.web.port), timeout=10) as line:
        line.sendall(b"GET /bench.json HTTP/1.0\r\nHost: 127.0.0.1\r\n\r\n")
        assert b" 401 " in line.recv(4096).split(b"\r\n")[0]
