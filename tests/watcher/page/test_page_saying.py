"""What the caster says arrives at the bench as it was said, at the bench's own moment."""

from __future__ import annotations

from datetime import timedelta

import pytest

from watcher.records.said import What


def say(ask, **body):
    return ask("POST", "/said.json", json=body)


def test_a_tip_arrives_with_mould_and_moment(ask, bench):
    assert say(ask, mould="cream jug", what="tipped", who="Mo").json() == {
        "heard": "tipped", "mould": "cream jug", "at": "2026-03-05T09:30:00.0Z",
    }  # fmt: skip
    (said,) = bench.heard
    assert (said.what, said.mould, said.who, said.at_s) == (What.TIPPED, "cream jug", "Mo", 1800.0)


def test_the_moment_lies_past_the_newest_input_when_the_clock_has_gone_on(ask, bench):
    bench.lag_s = 0.7  # the bench last moved on 0.7 s ago
    say(ask, mould="cream jug", what="tipped")
    assert bench.heard[0].at_s == pytest.approx(1800.7)
    assert bench.heard[0].at == bench.at(1800.0) + timedelta(seconds=0.7)


def test_one_alert_or_a_mould_or_everything_can_be_acknowledged(ask, bench):
    alert = next(iter(bench.alerts))
    assert say(ask, what="acknowledged", alert_id=alert).status_code == 200
    assert say(ask, what="acknowledged", mould="cream jug").status_code == 200
    assert say(ask, what="acknowledged").status_code == 200
    assert [(said.mould, said.alert_id) for said in bench.heard] == [("", alert), ("cream jug", ""), ("", "")]


@pytest.mark.parametrize(
    ("what", "value"),
    [
        ("snoozed", 5),
        ("snoozed", None),
        ("looked", 2.15),
        ("ruler", 0),
        ("came_out_right", None),
        ("wrong", None),
    ],
)
def test_numbers_come_along_where_they_belong(ask, bench, what, value):
    body = {"mould": "beaker", "what": what} | ({} if value is None else {"value": value})
    assert say(ask, **body).status_code == 200
    assert bench.heard[0].value == value


def test_every_word_of_the_bench_can_be_said(ask, bench):
    needs = {What.LOOKED: 2.0, What.RULER: 12.0}
    for what in What:
        body = {"mould": "beaker", "what": what.value} | ({"value": needs[what]} if what in needs else {})
        assert say(ask, **body).status_code == 200, what
    assert [said.what for said in bench.heard] == list(What)


def test_an_acknowledged_alert_stays_listed(ask, bench):
    before = ask("GET", "/bench.json").json()["alerts"]
    say(ask, what="acknowledged")
    after = ask("GET", "/bench.json").json()["alerts"]
    assert [one["id"] for one in after] == [one["id"] for one in before]
    assert all(one["state"] == "acknowledged" and one["acked_at"] for one in after)
