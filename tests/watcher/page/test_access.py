"""Who may do what, asked over real HTTP: the bench's own computer, a joined phone, a stranger."""

from __future__ import annotations

import json
import re
import time
from typing import Any

import httpx
import pytest
from opened_bench import Served

from watcher.records.guests import Rights

SAY = {"mould": "cream jug", "what": "tipped"}
OF_THE_BENCH = (
    "/", "/bench.json", "/curves.json", "/events.json", "/live", "/picture.jpg", "/hole/beaker.jpg",
    "/mould/beaker", "/mould/beaker.json", "/openapi.json", "/me.json", "/phones", "/phones.json", "/nothing",
    "//bench.json", "/bench.json/", "/join/../bench.json", "/static/../bench.json",
    "/static/%2e%2e/bench.json", "/health.json/../bench.json", "/BENCH.JSON", "/%62ench.json",
    "/bench.json?x=/health.json",
)  # fmt: skip


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
    assert "open Settings, Let a phone in, and point this device&#39;s camera at the code" in answer.text
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
        began = time.monotonic()
        for _ in lines:  # ends by itself with the next beat, a second later
            assert time.monotonic() - began < 10.0, "the stream goes on"
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


def test_each_page_gives_the_key_anew_so_that_ninety_days_count_from_the_last_visit(served: Served) -> None:
    phone = served.joined("look")
    (held,) = phone.cookies.jar
    for path, given in (
        ("/", True),
        ("/mould/beaker", True),
        ("/bench.json", False),
        ("/picture.jpg", False),
    ):
        line = phone.get(path).headers.get("set-cookie", "")
        assert (held.value in line) is given, path
        if given:
            attributes = {part.strip().lower() for part in line.split(";")[1:]}
            assert {"httponly", "samesite=strict", "path=/", f"max-age={90 * 86400}"} <= attributes


def test_a_phone_unseen_for_ninety_days_joins_again(served: Served) -> None:
    phone = served.joined()
    served.wait(89 * 86400.0)
    assert phone.get("/me.json").status_code == 200
    served.wait(91 * 86400.0)
    assert phone.get("/me.json").status_code == 401


def test_a_bench_that_is_not_opened_makes_no_codes(serve: Any, bench: Any) -> None:
    url = serve(bench).url
    answer = httpx.post(f"{url}/phones/invite.json", json={"rights": "act"})
    assert (answer.status_code, answer.json()["error"]["code"]) == (409, "not_opened")
    assert httpx.get(f"{url}/phones.json").json() == {"opened": False, "phones": []}
