"""The page as data: shape, figures, order, and what is said when something is not known."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import datetime

import pytest

# The keys that whoever reads /bench.json may rely on.
MOULD_KEYS = {
    "name", "phase", "stage", "seen", "seen_at", "level_mm", "level_sigma_mm", "wall_mm", "wall_low_mm",
    "wall_high_mm", "target_wall_mm", "ready_at", "ready_low", "ready_high", "why",
}  # fmt: skip
ALERT_KEYS = {"id", "mould", "cast", "kind", "at", "acked_at"}


def mould(answer, name):
    return next(one for one in answer["moulds"] if one["name"] == name)


def test_the_bench_is_told_with_the_promised_keys(ask):
    answer = ask("GET", "/bench.json")
    told = answer.json()
    assert answer.status_code == 200
    assert {"now", "bench_id", "moulds", "alerts"} <= set(told)
    assert all(set(one) >= MOULD_KEYS for one in told["moulds"])
    assert told["alerts"] and all(set(one) >= ALERT_KEYS for one in told["alerts"])


def test_every_moment_is_utc_and_readable(ask):
    told = ask("GET", "/bench.json").json()
    moments = [
        told["now"],
        *(one[key] for one in told["moulds"] for key in ("seen_at", "ready_at", "ready_low")),
    ]
    for moment in filter(None, moments):
        assert moment.endswith("Z")
        assert datetime.fromisoformat(moment).tzinfo is not None


def test_seconds_of_the_steady_clock_become_the_right_moments(ask, bench):
    # Poured so that 2.6 mm is reached 640 s after 09:00 plus 2000 s: 2640 s = 44 min, so 09:44:00 UTC.
    told = mould(ask("GET", "/bench.json").json(), "beaker")
    assert told["ready_at"] == "2026-03-05T09:44:00.0Z"
    # 15 % of the 840 s to go, and 30 s: 156 s to either side.
    assert (told["ready_low"], told["ready_high"]) == ("2026-03-05T09:41:24.0Z", "2026-03-05T09:46:36.0Z")


def test_an_empty_mould_has_blanks_and_not_zeros(ask):
    told = mould(ask("GET", "/bench.json").json(), "butter dish")
    assert (told["phase"], told["stage"], told["forecast"]) == ("empty", "empty", "none")
    for key in ("level_mm", "wall_mm", "ready_at", "cast", "drop_mm", "spare_mm", "dampness"):
        assert told[key] is None


def test_a_mould_that_is_not_seen_keeps_its_time_and_is_told_as_forecast(ask):
    told = mould(ask("GET", "/bench.json").json(), "tall vase")
    assert told["seen"] is False and told["missed"] == "hand"
    assert told["forecast_only"] is True and told["ready_at"] is not None
    assert told["unseen_s"] == pytest.approx(200.0)
    assert told["seen_at"] == "2026-03-05T09:26:40.0Z"


def test_spare_and_drop_follow_from_the_level(ask):
    told = mould(ask("GET", "/bench.json").json(), "beaker")
    # The made-up mould is narrowest 18 mm below its rim: there the spare ends.
    assert told["spare_mm"] == pytest.approx(18.0 - told["level_mm"], abs=0.01)
    assert 0 < told["drop_mm"] < told["level_mm"]


def test_the_most_urgent_mould_comes_first(ask):
    order = ask("GET", "/bench.json").json()["order"]
    assert order[:3] == ["cream jug", "tall vase", "beaker"]  # ready, soon, then the next one
    assert set(order[3:]) == {"planter", "sugar bowl", "butter dish"}


def test_two_tips_within_two_minutes_are_told_as_a_clash(ask, bench):
    bench.set(2600.0)  # planter and sugar bowl are poured by now; they are ready at 3600 and 3660 s
    clashes = ask("GET", "/bench.json").json()["clashes"]
    assert {"first": "planter", "second": "sugar bowl", "apart_s": 60.0} in clashes


def test_a_mould_without_a_target_gets_no_ready_but_a_reason(ask, bench):
    bench.plots["beaker"] = replace(bench.plots["beaker"], target_mm=None, filled_s=600.0)
    bench.set(1800.0)
    told = mould(ask("GET", "/bench.json").json(), "beaker")
    assert told["ready_at"] is None and told["target_wall_mm"] is None
    assert told["why"].startswith("no target")
    assert told["wall_mm"] > 0


def test_numbers_that_json_cannot_hold_are_not_known(ask, bench, monkeypatch):
    make = bench._estimate
    monkeypatch.setattr(
        bench, "_estimate", lambda plot: replace(make(plot), wall_high_mm=math.inf, ready_high_s=math.inf)
    )
    bench.set(1800.0)
    answer = ask("GET", "/bench.json")
    told = mould(json.loads(answer.text, parse_constant=pytest.fail), "beaker")
    assert told["wall_high_mm"] is None and told["ready_high"] is None


def test_a_mould_page_as_data_holds_series_curve_and_events(ask):
    told = ask("GET", "/mould/cream%20jug.json").json()
    assert len(told["readings"]) > 30 and set(told["readings"][0]) == {"at", "level_mm", "sigma_mm"}
    points = told["curve"]["points"]
    assert 30 <= len(points) <= 60
    assert all(one["wall_low_mm"] <= one["wall_mm"] <= one["wall_high_mm"] for one in points)
    assert [one["at"] for one in points] == sorted(one["at"] for one in points)
    assert told["events"] == [{"mould": "cream jug", "event": "filled", "at": points[0]["at"], "detail": ""}]
    assert told["history"] == []


def test_the_curve_reaches_past_the_late_end_of_the_tip(ask):
    told = ask("GET", "/mould/beaker.json").json()
    assert told["curve"]["points"][-1]["at"] > told["mould"]["ready_high"]


def test_an_empty_mould_has_no_curve_and_says_why(ask):
    curve = ask("GET", "/mould/butter%20dish.json").json()["curve"]
    assert curve["points"] == [] and curve["why"] == "nothing has been poured yet"


def test_curves_come_for_the_moulds_under_cast_alone(ask):
    assert set(ask("GET", "/curves.json").json()["curves"]) == {"beaker", "cream jug", "tall vase"}


@pytest.mark.parametrize("name", ["ewer/large", "a.json", "50 % & <b>", "Schüssel", "../bench"])
def test_a_mould_may_have_any_name(ask, bench, name):
    from urllib.parse import quote

    plot = bench.plots.pop("beaker")
    bench.plots[name] = replace(plot, name=name)
    bench.set(1800.0)
    path = f"/mould/{quote(name, safe='')}"
    assert ask("GET", f"{path}.json").json()["mould"]["name"] == name
    assert ask("GET", f"/hole/{quote(name, safe='')}.jpg").status_code == 200
    if not name.endswith(".json"):
        page = ask("GET", path)
        assert page.status_code == 200
        assert "<b>" not in page.text.split("<title>")[1].split("</title>")[0]


def test_pictures_are_never_kept(ask):
    for path in ("/picture.jpg?v=1", "/hole/beaker.jpg"):
        answer = ask("GET", path)
        assert answer.headers["content-type"] == "image/jpeg" and answer.content[:2] == b"\xff\xd8"
        assert answer.headers["cache-control"] == "no-store"
        assert len(answer.content) <= 40_000


def test_without_a_camera_there_is_no_picture_and_the_reason_is_told(ask, bench):
    bench.camera = False
    bench.set(1800.0)
    assert ask("GET", "/picture.jpg").json()["error"]["code"] == "no_picture"
    camera = ask("GET", "/bench.json").json()["camera"]
    assert camera["picture"] is None and "unplugged" in camera["why"]


def test_health_says_well_or_not_and_no_more(ask, bench):
    assert (ask("GET", "/health.json").status_code, ask("GET", "/health.json").json()) == (200, {"ok": True})
    bench.lag_s = 60.0  # the bench has not moved on for a minute
    answer = ask("GET", "/health.json")
    assert (answer.status_code, answer.json()) == (503, {"ok": False})


def test_the_description_of_all_this_is_there_without_internet(ask):
    described = ask("GET", "/openapi.json").json()
    assert {"/bench.json", "/said.json", "/mould/{name}.json", "/health.json"} <= set(described["paths"])
    shape = described["components"]["schemas"]["MouldShape"]["properties"]
    assert set(shape) >= MOULD_KEYS
    assert ask("GET", "/docs").status_code == 404


def test_the_curve_jumps_where_the_slip_was_topped_up_and_not_slowly(ask, bench):
    state = bench.bench().moulds["beaker"]
    pour = state.cast.fillings[0]
    top_up = replace(pour, kind=bench.kinds.TOP_UP, earliest_s=1690.0, latest_s=1730.0, readings=())
    cast = replace(state.cast, fillings=(pour, top_up))
    bench.change("beaker", replace(state, cast=cast))
    told = ask("GET", "/mould/beaker.json").json()
    # Somewhere between 28:10 and 28:50; the jump is drawn in the middle, at 28:30, one second wide.
    assert told["fillings"][1]["earliest"] == "2026-03-05T09:28:10.0Z"
    moments = [one["at"] for one in told["curve"]["points"]]
    assert {"2026-03-05T09:28:29.5Z", "2026-03-05T09:28:30.5Z"} <= set(moments)


def test_an_address_that_leads_nowhere_is_a_page_in_a_browser_and_data_for_programs(ask):
    page = ask("GET", "/no/such/place", headers={"accept": "text/html"})
    assert page.status_code == 404 and "There is nothing of that name on this bench" in page.text
    assert ask("GET", "/no/such/place").json()["error"]["say"] == "Not Found"
