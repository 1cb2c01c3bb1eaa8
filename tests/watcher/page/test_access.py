"""Who may do what, asked over real HTTP: the bench's own computer, a joined phone, a stranger."""

from __future__ import annotations

import json
import logging
import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest

from watcher.clock import ToldClock
from watcher.page.access.access import Access
from watcher.page.access.links import Reach
from watcher.page.app import make_app
from watcher.records.guests import Rights
from watcher.service.logs import keep_log
from watcher.service.reachable import lan_addresses
from watcher.service.web import Web

AT = datetime(2026, 3, 5, 9, 0, tzinfo=UTC)
LAN = next(iter(lan_addresses()), None)
SAY = {"mould": "cream jug", "what": "tipped"}
OF_THE_BENCH = (
    "/", "/bench.json", "/curves.json", "/events.json", "/live", "/picture.jpg", "/hole/beaker.jpg",
    "/mould/beaker", "/mould/beaker.json", "/openapi.json", "/me.json", "/phones", "/phones.json", "/nothing",
    "//bench.json", "/bench.json/", "/join/../bench.json", "/static/../bench.json",
    "/static/%2e%2e/bench.json", "/health.json/../bench.json", "/BENCH.JSON", "/%62ench.json",
    "/bench.json?x=/health.json",
)  # fmt: skip


class Served:
    """An opened bench on a real port, with a clock that is told."""

    def __init__(self, bench: Any, **more: Any) -> None:
        self.clock = ToldClock(0.0, AT)
        self.access = Access(
            self.clock,
            "bench",
            opened=True,
            reach=Reach(lambda: (LAN or "127.0.0.1",), ("bench.local",)),
            **more,
        )
        self.web = Web(make_app(bench, access=self.access), host="0.0.0.0")
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


@pytest.fixture
def serve_opened(bench: Any) -> Iterator[Callable[..., Served]]:
    served: list[Served] = []

    def start(**more: Any) -> Served:
        served.append(Served(bench, **more))
        return served[-1]

    yield start
    bench.stop = True
    for one in served:
        one.close()


@pytest.fixture
def served(serve_opened: Callable[..., Served]) -> Served:
    return serve_opened()


def test_a_stranger_on_the_network_learns_nothing_but_whether_the_bench_is_well(served: Served) -> None:
    stranger = served.other()
    for path in OF_THE_BENCH:
        for accept in ("*/*", "text/html"):
            answer = stranger.get(path, headers={"accept": accept})
            assert answer.status_code in (401, 404), (path, answer.status_code)
            for word in ("beaker", "cream jug", "wall_mm", "bench_id", "window", "openapi"):
                assert word not in answer.text.removeprefix("this device"), (path, word)
    assert stranger.get("/health.json").json() == {"ok": True}
    assert stranger.get("/bench.json").json()["error"]["code"] == "not_joined"


def test_a_stranger_reads_one_plain_sentence_on_a_page(served: Served) -> None:
    answer = served.other().get("/", headers={"accept": "text/html"})
    assert answer.status_code == 401
    assert "open Phones and point this device&#39;s camera at the code" in answer.text
    assert "default-src 'none'" in answer.headers["content-security-policy"]


def test_a_stranger_may_say_nothing(served: Served, bench: Any) -> None:
    stranger = served.other()
    for path, body in (
        ("/said.json", SAY), ("/phones/invite.json", {"rights": "keep"}), ("/phones/out.json", {"id": "x"}),
        ("/leave.json", {}),
    ):  # fmt: skip
        assert stranger.post(path, json=body).status_code == 401, path
    assert bench.heard == [] and served.access.book.all() == ()


def test_a_phone_joins_with_a_code_that_works_once(served: Served, bench: Any) -> None:
    code = served.code()
    phone, second = served.other(), served.other()
    joined = phone.post("/join.json", json={"token": code, "name": "Mia's phone"})
    assert joined.json() == {"name": "Mia's phone", "rights": "act"}
    assert phone.get("/bench.json").status_code == 200
    assert phone.get("/picture.jpg").headers["content-type"] == "image/jpeg"
    assert phone.post("/said.json", json=SAY).status_code == 200
    assert [(said.what.value, said.who) for said in bench.heard] == [("tipped", "Mia's phone")]
    again = second.post("/join.json", json={"token": code})
    assert (again.status_code, again.json()["error"]["code"]) == (403, "no_such_code")
    assert second.get("/bench.json").status_code == 401


def test_a_code_is_good_for_ten_minutes_and_no_longer(served: Served) -> None:
    early, late = served.code(), served.code()
    served.wait(599.0)
    assert served.other().post("/join.json", json={"token": early}).status_code == 200
    served.wait(2.0)
    assert served.other().post("/join.json", json={"token": late}).status_code == 403


def test_the_key_is_random_hidden_from_scripts_and_stays_on_this_site(served: Served) -> None:
    set_cookie = served.other().post("/join.json", json={"token": served.code()}).headers["set-cookie"]
    key = re.search(r"=([\w-]+);", set_cookie)[1]
    assert len(key) >= 43  # 256 bits are 42.7 signs of 6 bits
    attributes = {part.strip().lower() for part in set_cookie.split(";")[1:]}
    assert {"httponly", "samesite=strict", "path=/"} <= attributes
    assert "secure" not in attributes  # over plain http a browser would not send it back
    assert not any(part.startswith("domain") for part in attributes)
    assert key not in str(served.access.book.all()) and key not in repr(served.access.book.__dict__)
    other = served.other().post("/join.json", json={"token": served.code()}).headers["set-cookie"]
    assert key not in other


def test_a_phone_that_may_look_sees_everything_and_changes_nothing(served: Served, bench: Any) -> None:
    phone = served.joined("look")
    for path in ("/", "/bench.json", "/picture.jpg", "/mould/beaker", "/mould/beaker.json", "/me.json"):
        assert phone.get(path).status_code == 200, path
    assert 'data-rights="look"' in phone.get("/").text
    for path in ("/said.json", "/phones/invite.json", "/phones/out.json", "/bench.json", "/nothing"):
        answer = phone.post(path, json=SAY)
        assert (answer.status_code, answer.json()["error"]["code"]) == (403, "only_looking"), path
    assert phone.request("DELETE", "/bench.json", json={}).status_code == 403
    assert bench.heard == []


@pytest.mark.parametrize("rights", ["look", "act"])
def test_only_the_keeper_sees_who_joined_lets_in_and_takes_out(served: Served, rights: str) -> None:
    phone = served.joined(rights)
    (guest,) = served.access.book.all()
    assert phone.get("/phones.json").status_code == 403
    assert phone.get("/phones").status_code == 403
    assert phone.get("/phones/").status_code in (307, 404)
    assert phone.post("/phones/invite.json", json={"rights": "keep"}).status_code == 403
    assert phone.post("/phones/out.json", json={"id": guest.guest_id}).status_code == 403
    assert phone.get("/phones").text.count("<script") == 0
    shown = served.own().get("/phones.json").json()["phones"]
    assert [(one["name"], one["rights"]) for one in shown] == [("phone 1", rights)]
    assert guest.key_hash not in json.dumps(shown)


def test_a_phone_that_is_taken_out_is_out_at_once_even_in_the_middle_of_its_live_stream(
    served: Served,
) -> None:
    phone = served.joined()
    (guest,) = served.access.book.all()
    with phone.stream("GET", "/live") as live:
        lines = live.iter_lines()
        assert next(lines)
        out = served.own().post("/phones/out.json", json={"id": guest.guest_id})
        assert out.json()["phones"] == []
        list(lines)  # ends by itself, or the client's own limit of 10 s makes this fail
    assert phone.get("/bench.json").status_code == 401
    assert phone.post("/said.json", json=SAY).status_code == 401
    assert served.own().post("/phones/out.json", json={"id": guest.guest_id}).status_code == 404


def test_a_phone_may_leave_by_itself(served: Served) -> None:
    phone = served.joined("look")
    assert phone.post("/leave.json", json={}).status_code == 200
    assert served.access.book.all() == () and phone.get("/bench.json").status_code == 401


def test_a_phone_that_joins_again_is_listed_once(served: Served) -> None:
    phone = served.joined("look")
    first = phone.cookies.jar._cookies.copy()
    assert first and phone.post("/join.json", json={"token": served.code("act")}).status_code == 200
    assert [guest.rights for guest in served.access.book.all()] == [Rights.ACT]


def test_a_phone_unseen_for_ninety_days_joins_again(served: Served) -> None:
    phone = served.joined()
    served.wait(89 * 86400.0)
    assert phone.get("/me.json").status_code == 200
    served.wait(91 * 86400.0)
    assert phone.get("/me.json").status_code == 401


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


def test_a_bench_that_is_not_opened_makes_no_codes(serve: Any, bench: Any) -> None:
    url = serve(bench).url
    answer = httpx.post(f"{url}/phones/invite.json", json={"rights": "act"})
    assert (answer.status_code, answer.json()["error"]["code"]) == (409, "not_opened")
    assert httpx.get(f"{url}/phones.json").json() == {"opened": False, "phones": []}
