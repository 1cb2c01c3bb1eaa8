"""The door of the page: who is turned away, and what every answer carries."""

from __future__ import annotations

import json

import pytest

SAY = {"mould": "cream jug", "what": "tipped"}
PATHS = (
    "/", "/bench.json", "/curves.json", "/events.json", "/health.json", "/openapi.json", "/picture.jpg",
    "/mould/beaker", "/mould/beaker.json", "/hole/beaker.jpg", "/static/bench.js", "/mould/none", "/nothing",
    "/static/../app.py", "/static/%2e%2e/app.py", "/static/none.js",
)  # fmt: skip


def post(ask, headers=None, content=None, **more):
    given = {"content-type": "application/json"} | (headers or {})
    return ask("POST", "/said.json", headers=given, content=content or json.dumps(SAY), **more)


@pytest.mark.parametrize("path", PATHS)
def test_every_answer_carries_the_policy(ask, path):
    answer = ask("GET", path)
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy and "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy and "http" not in policy and "*" not in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "app.py" not in answer.text[:50] and "make_app" not in answer.text


def test_a_breakdown_carries_the_policy_too_and_tells_nothing(ask, bench, monkeypatch):
    def broken():
        raise RuntimeError("the secret of the shed")

    monkeypatch.setattr(bench, "bench", broken)
    answer = ask("GET", "/bench.json")
    assert answer.status_code == 500
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert "secret" not in answer.text
    assert answer.json()["error"]["code"] == "broken"


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "evil.example:8300",
        "127.0.0.1.evil.example",
        "192.168.1.7:8300",
        "localhost@evil.example",
        "",
    ],
)
def test_a_foreign_name_is_refused_for_reading_and_saying(ask, bench, host):
    assert ask("GET", "/bench.json", headers={"host": host}).status_code == 403
    answer = post(ask, {"host": host, "origin": f"http://{host}"})
    assert (answer.status_code, answer.json()["error"]["code"]) == (403, "foreign_host")
    assert bench.heard == []


@pytest.mark.parametrize("host", ["localhost:8300", "127.0.0.1", "[::1]:8300", "LOCALHOST:1"])
def test_this_machine_may_be_called_by_its_own_names(ask, host):
    assert ask("GET", "/bench.json", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "origin",
    [
        "http://evil.example",
        "null",
        "http://127.0.0.1:8301",
        "https://127.0.0.1:8300",
        "http://127.0.0.1",
        "http://[",
        "",
    ],
)
def test_a_foreign_origin_may_say_nothing(ask, bench, origin):
    answer = post(ask, {"origin": origin})
    assert (answer.status_code, answer.json()["error"]["code"]) == (403, "foreign_origin")
    assert bench.heard == []


def test_the_own_page_may_speak(ask, bench):
    assert post(ask, {"origin": "http://127.0.0.1:8300", "sec-fetch-site": "same-origin"}).status_code == 200
    assert [said.what.value for said in bench.heard] == ["tipped"]


def test_a_program_on_this_machine_sends_no_origin_and_may_speak(ask, bench):
    assert post(ask).status_code == 200
    assert len(bench.heard) == 1


def test_without_an_origin_nothing_passes_that_a_foreign_form_could_send(ask, bench):
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", ""):
        assert post(ask, {"content-type": kind}).status_code == 415
    assert post(ask, {"sec-fetch-site": "cross-site"}).status_code == 403
    assert post(ask, {"sec-fetch-site": "same-site"}).status_code == 403
    assert bench.heard == []


def test_a_long_body_is_refused_before_it_is_read(ask, bench):
    answer = post(ask, content=json.dumps(SAY | {"note": "x" * 9000}))
    assert (answer.status_code, answer.json()["error"]["code"]) == (413, "too_long")
    assert bench.heard == []


def test_a_long_body_that_names_no_length_is_refused_too(ask, bench):
    async def pieces():
        for _ in range(1000):
            yield b" " * 1000

    answer = ask("POST", "/said.json", headers={"content-type": "application/json"}, content=pieces())
    assert answer.status_code == 413
    assert bench.heard == []


def test_another_machine_is_refused_until_the_bench_is_opened(ask):
    assert ask("GET", "/bench.json", client="192.168.1.30").json()["error"]["code"] == "not_opened"
    near = {"host": "192.168.1.7:8300"}
    assert ask("GET", "/health.json", client="192.168.1.30", opened=True, headers=near).status_code == 200
    unjoined = ask("GET", "/bench.json", client="192.168.1.30", opened=True, headers=near)
    assert (unjoined.status_code, unjoined.json()["error"]["code"]) == (401, "not_joined")


def test_an_opened_bench_goes_by_its_address_and_its_given_names_alone(ask):
    for host, status in (
        ("10.0.0.5:8300", 200),
        ("bench.local", 200),
        ("other.local", 403),
        ("evil.example", 403),
    ):
        answer = ask("GET", "/bench.json", opened=True, names=("Bench.local",), headers={"host": host})
        assert answer.status_code == status, host


@pytest.mark.parametrize(
    ("body", "status", "field"),
    [
        ("{", 400, ""),
        ("[]", 422, ""),
        ("{}", 422, "what"),
        ('{"what": "shout", "mould": "beaker"}', 422, "what"),
        ('{"what": "tipped"}', 422, ""),
        ('{"what": "tipped", "mould": "ewer"}', 404, "mould"),
        ('{"what": "tipped", "mould": "beaker", "colour": 1}', 422, "colour"),
        ('{"what": "acknowledged", "alert_id": "none"}', 404, "alert_id"),
        ('{"what": "looked", "mould": "beaker"}', 422, ""),
        ('{"what": "looked", "mould": "beaker", "value": -1}', 422, ""),
        ('{"what": "looked", "mould": "beaker", "value": NaN}', 422, "value"),
        ('{"what": "looked", "mould": "beaker", "value": "2"}', 422, "value"),
        ('{"what": "looked", "mould": "beaker", "value": true}', 422, "value"),
        ('{"what": "tipped", "mould": "beaker", "value": 2}', 422, ""),
        ('{"what": "note", "note": "a\\u0000b"}', 422, "note"),
        ('{"what": "note", "note": "half a letter: \\ud800"}', 422, "note"),
        ('{"what": "note", "mould": 7}', 422, "mould"),
        (f'{{"what": "note", "note": "{"x" * 501}"}}', 422, "note"),
    ],
)
def test_what_cannot_be_is_refused_in_one_shape(ask, bench, body, status, field):
    answer = post(ask, content=body)
    assert answer.status_code == status, answer.text
    error = answer.json()["error"]
    assert set(error) == {"code", "say", "field"} and error["say"]
    assert error["field"] == field
    assert bench.heard == []


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "POST"])
def test_other_methods_change_nothing(ask, bench, method):
    answer = ask(method, "/bench.json", headers={"content-type": "application/json"}, content=b"{}")
    assert answer.status_code == 405
    assert set(answer.json()["error"]) == {"code", "say", "field"}


def test_a_refusal_does_not_repeat_a_long_or_hostile_name(ask):
    answer = post(ask, content=json.dumps({"what": "tipped", "mould": "<script>" + "x" * 190}))
    assert answer.status_code == 404 and "<script>" not in answer.text


def test_data_in_the_page_cannot_end_its_script_element(ask, bench):
    from dataclasses import replace

    hostile = "</script><img src=x onerror=alert(1)>"
    bench.plots[hostile] = replace(bench.plots.pop("beaker"), name=hostile)
    bench.set(1800.0)
    for path in ("/", "/mould/%3C%2Fscript%3E%3Cimg%20src%3Dx%20onerror%3Dalert(1)%3E"):
        answer = ask("GET", path)
        assert answer.status_code == 200
        assert hostile not in answer.text and "<img src=x" not in answer.text
