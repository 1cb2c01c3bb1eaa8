"""The desk's pages as data: what they answer, what they keep, and what they refuse."""

from __future__ import annotations

import csv
import io
import re
from datetime import timedelta
from pathlib import Path
from urllib.parse import quote

import pytest

import watcher.page.app as page_module

PATHS = (
    "/review.json", "/week.json", "/faults.json", "/rack.json", "/slip.json", "/day.json", "/pieces.json",
    "/story/beaker.json",
)  # fmt: skip
PAGES = ("/review", "/slip", "/day", "/day/sheet", "/pieces", "/mould/beaker")


@pytest.fixture
def get(ask, memory):
    def get_it(path: str, status: int = 200):
        answer = ask("GET", path, memory=memory)
        assert answer.status_code == status, answer.text
        return answer.json() if "json" in answer.headers["content-type"] else answer.text

    return get_it


@pytest.fixture
def post(ask, memory):
    def post_it(path: str, body: dict, status: int = 200):
        answer = ask("POST", path, memory=memory, json=body)
        assert answer.status_code == status, answer.text
        return answer.json()

    return post_it


def test_every_page_of_the_desk_is_also_data_and_stands_in_the_description(get):
    described = get("/openapi.json")["paths"]
    for path in PATHS:
        assert get(path)
        assert (path if path != "/story/beaker.json" else "/story/{mould}.json") in described
    for path in PAGES:
        assert "<main" in get(path)


def test_a_bench_without_a_memory_has_no_such_pages_and_shows_no_way_to_them(ask):
    assert ask("GET", "/review.json").status_code == 404
    assert 'class="ways"' not in ask("GET", "/").text


def test_the_newest_day_comes_first_with_its_casts_in_order(get):
    review = get("/review.json")
    assert (review["day"], [one["casts"] for one in review["days"]]) == ("2026-03-05", [2, 6, 6])
    older = get("/review.json?day=2026-03-04")
    began = [cast["began_at"] for cast in older["casts"]]
    assert began == sorted(began) and len(began) == 6
    assert get("/review.json?day=yesterday", 422)["error"]["field"] == "query.day"


def test_one_cast_is_told_with_readings_pictures_and_what_was_said_at_the_time(get, ask, memory):
    cast_id = get("/review.json")["casts"][0]["cast"]
    cast = get(f"/cast/{quote(cast_id)}.json")
    assert len(cast["readings"]) >= 9 and len(cast["points"]) >= 8
    # as test data has it, the wall is the root of 0.35 mm2/min times the minutes
    minutes = cast["cast"]["minutes"]
    assert cast["cast"]["wall"]["value"] == pytest.approx((0.35 * minutes) ** 0.5, abs=0.01)
    shot = ask("GET", f"/crop/{cast['crops'][0]['stamp']}/beaker.jpg", memory=memory)
    assert shot.status_code == 200 and shot.content[:2] == b"\xff\xd8"
    assert "immutable" in shot.headers["cache-control"]
    assert ask("GET", "/crop/0/beaker.jpg", memory=memory).status_code == 404
    assert cast["film"] is False
    assert ask("GET", f"/film/{quote(cast_id)}.mp4", memory=memory).status_code == 404
    kept = memory.cast(cast_id)
    first = memory.pictures(kept, kept.tipped_at)[0].path
    begins = first.with_name(f"{kept.began_at:%H%M%S}.{kept.began_at.microsecond // 1000:03d}.jpg").stem
    first.with_name(f"{begins}-{kept.tipped_at:%H%M%S}.mp4").write_bytes(b"as if it were one")
    assert get(f"/cast/{quote(cast_id)}.json")["film"] is True
    film = ask("GET", f"/film/{quote(cast_id)}.mp4", memory=memory)
    assert film.content == b"as if it were one" and film.headers["content-type"] == "video/mp4"
    assert film.headers["content-disposition"].startswith('attachment; filename="beaker-')
    get("/film/no/such.mp4", 404)
    get("/cast/no/such.json", 404)
    assert "<h1>" in get("/cast/no/such", 404)


def test_a_fault_noted_weeks_later_by_the_piece_s_number_reaches_its_cast(get, post, bench):
    # the beaker casts now; the planter stands empty after yesterday's casts
    kept = post("/came_out.json", {"mould": "planter", "what": "clean"})
    assert kept["piece"] == 1 and bench.heard[-1].what == "demoulded"
    bench.lag_s = timedelta(days=30).total_seconds()
    post("/piece.json", {"piece": 1, "step": "glazed", "cone": "6", "day": "2026-04-02"})
    post("/finding.json", {"piece": 1, "kind": "hot_spot", "note": "shows in the glaze"})
    cast = get(f"/cast/{quote(kept['cast'])}.json")
    assert cast["cast"]["faults"] == ["hot_spot"] and cast["piece"]["steps"][0]["cone"] == "6"
    counted = {row["group"]: row["counts"] for row in get("/faults.json?days=90")["by_mould"]}
    assert counted["planter"] == {"hot_spot": 1}
    assert counted["beaker"] == {}


def test_what_slumped_is_scrap_and_what_was_no_fault_is_taken_back(get, post):
    kept = post("/came_out.json", {"mould": "planter", "what": "slumped"})
    assert get("/pieces.json")["scrapped"] == 1
    assert get("/faults.json")["scrapped"] == 1
    post("/finding_back.json", {"id": kept["finding"]})
    assert get(f"/cast/{quote(kept['cast'])}.json")["findings"] == []


@pytest.mark.parametrize(
    ("path", "body", "status"),
    [
        ("/came_out.json", {"mould": "teapot", "what": "clean"}, 404),
        ("/finding.json", {"cast": "x", "kind": "crack"}, 404),
        ("/finding.json", {"kind": "crack"}, 422),
        ("/finding.json", {"piece": 7, "kind": "crack"}, 404),
        ("/finding.json", {"piece": 1, "kind": "other"}, 422),
        ("/piece.json", {"piece": 1, "step": "fettled", "cone": "6"}, 422),
        ("/piece.json", {"piece": 9, "step": "bisque"}, 404),
        ("/piece.json", {"piece": 1, "step": "bisque", "day": "2026-02-30"}, 422),
        ("/weighed.json", {"mould": "beaker", "weight_kg": 0.0}, 422),
        ("/day.json", {"sets": {"jug": ["beaker"]}}, 422),
        ("/day.json", {"sets": {"jug": ["beaker", "teapot"]}}, 404),
        ("/reclaim.json", {"mould": "teapot", "grams": 5.0}, 404),
        ("/reclaim.json", {"mould": "beaker", "cast": "c1", "grams": 5.0}, 422),
        ("/reclaim.json", {"cast": "c1", "grams": 5.0}, 404),
        ("/drier.json", {"mould": "beaker", "hours": 3.0, "warmth_c": 90.0}, 422),
        ("/unwatched.json", {"mould": "beaker", "ago_h": -1.0}, 422),
        ("/untell.json", {"id": 987654321}, 404),
        ("/day.json", {"closing": "25:00"}, 422),
        ("/day.json", {"pots": {"teapot": 1}}, 404),
        ("/slip.json", {"measure": "litre_g", "reading": 1750, "keep": True}, 422),
        ("/slip.json", {"measure": "litre_g", "reading": 500}, 422),
        ("/slip.json", {"measure": "baume_deg", "reading": 60, "stirred": True}, 422),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence(post, path, body, status):
    assert len(post(path, body, status)["error"]["say"]) > 8


def test_the_slip_check_says_what_the_litre_holds_and_what_to_do(post):
    # 1770 g/L with grains of 2.6: Brongniart's (1770 - 1000) x 2.6 / 1.6 = 1251.25 g of dry clay [S1]
    check = post(
        "/slip.json",
        {"measure": "litre_g", "reading": 1770, "stirred": True, "band": [1740, 1760], "tank_l": 20},
    )
    assert check["dry_g_per_litre"] == pytest.approx(1251.25)
    assert check["verdict"] == "too_thick" and check["kept_version"] is None
    # 20 L at 1.77 thinned to 1.75: 20 x (1.77 - 1.75) / (1.75 - 1) = 0.533 L of water
    assert check["mending"]["water_l"] == pytest.approx(20 * 0.02 / 0.75, rel=1e-3)


def test_slip_that_was_not_stirred_is_stirred_before_anything_is_added(post):
    check = post("/slip.json", {"measure": "litre_g", "reading": 1770, "band": [1740, 1760], "tank_l": 20})
    assert check["verdict"] == "stir_first" and check["mending"] is None


def test_the_day_s_slip_is_kept_and_the_running_bench_goes_by_it(get, post, bench):
    assert get("/slip.json")["kept_at"] is None
    kept = post(
        "/slip.json",
        {"measure": "litre_g", "reading": 1745, "stirred": True, "band": [1740, 1760], "keep": True},
    )
    assert kept["kept_version"] == 1
    assert [slip.specific_gravity for slip in bench.slips] == [1.745]
    slip = get("/slip.json")
    assert slip["specific_gravity"] == 1.745 and slip["checks"][0]["verdict"] == "good"
    # the caster's band is remembered: the next check needs none
    again = post("/slip.json", {"measure": "litre_g", "reading": 1765, "stirred": True})
    assert again["verdict"] == "too_thick" and again["own_band_since"] == "2026-03-05"


def test_the_plan_follows_what_is_wanted_and_what_is_left_out(get, post):
    assert get("/day.json")["steps"] == []
    day = post("/day.json", {"closing": "17:00", "pots": {"planter": 3, "sugar bowl": 0}})
    poured = [step["mould"] for step in day["steps"] if step["what"] == "pour"]
    # the other moulds had today's one already, or stand under cast
    assert poured.count("planter") == 3 and "sugar bowl" not in poured
    assert day["closing_at"] == "2026-03-05T16:00:00.0Z"
    assert day["next"]["mould"] == poured[0]
    less = post("/day.json", {"skipped": ["planter"]})
    assert [step for step in less["steps"] if step["mould"] == "planter"] == []
    assert get("/day.json")["moulds"][2]["skipped"] is True


def test_the_plan_is_made_anew_when_a_cast_runs_late(get, post, bench):
    post("/day.json", {"closing": "17:00", "pots": {"planter": 2}})
    before = get("/day.json")["running"]
    bench.plots["beaker"] = type(bench.plots["beaker"])("beaker", bench.plots["beaker"].filled_s, 2.6, 0.2)
    bench.set(bench.now_s)
    after = get("/day.json")["running"]
    assert [one["mould"] for one in after] == [one["mould"] for one in before]
    assert after[0]["ready_at"] > before[0]["ready_at"]


def test_a_weighed_mould_tells_how_damp_it_is_on_its_card_and_on_the_rack(get, post):
    post("/day.json", {"dry_kg": {"planter": 2.0}})
    post("/weighed.json", {"mould": "planter", "weight_kg": 2.2})
    free = get("/story/planter.json")["free_water"]
    # 0.2 kg of water in 2 kg of plaster is 10 %; the scale is believed to 20 g, the diary half as much
    assert free["value"] == pytest.approx(0.10, abs=0.03)
    row = next(row for row in get("/rack.json")["moulds"] if row["mould"] == "planter")
    assert row["weighed"] and row["dry_in_h"]["low"] > 0.0
    card = next(mould for mould in get("/bench.json")["moulds"] if mould["name"] == "planter")
    assert card["dampness"] == pytest.approx(free["value"], abs=0.005)


def test_a_set_of_parts_is_defined_planned_and_dropped_on_the_day_page(get, post):
    (one,) = post("/day.json", {"sets": {"jug with lid": ["planter", "cream jug"]}})["sets"]
    assert (one["moulds"], one["why"]) == (["planter", "cream jug"], "")
    assert {part["mould"] for part in one["pours"]} == {"planter", "cream jug"}
    assert one["draw_slip_at"] < one["join_at"] < one["join_high"]
    assert get("/day.json")["sets"][0]["name"] == "jug with lid"
    assert post("/day.json", {"sets": {"jug with lid": []}})["sets"] == []


def test_reclaim_is_noted_on_the_mould_s_page_and_added_up_on_the_slip_page(get, post):
    post("/reclaim.json", {"mould": "planter", "grams": 82.5})
    other = next(one["cast"] for one in get("/review.json")["casts"] if one["mould"] != "planter")
    kept = post("/reclaim.json", {"cast": other, "grams": 40.0})
    (row,) = get("/slip.json")["reclaim"]
    assert (row["grams"], row["casts"]) == (122.5, 2)
    assert post("/untell.json", {"id": kept["id"]}) == []
    (row,) = get("/slip.json")["reclaim"]
    assert (row["grams"], row["casts"]) == (82.5, 1)


def test_a_cast_that_nobody_watched_counts_in_the_day_and_in_the_plaster(get, post):
    post("/day.json", {"dry_kg": {"planter": 2.0}})
    post("/weighed.json", {"mould": "planter", "weight_kg": 2.2})

    def stands() -> tuple[float, int, int]:
        damp = get("/story/planter.json")["free_water"]["value"]
        rack = next(row for row in get("/rack.json")["moulds"] if row["mould"] == "planter")
        day = next(row for row in get("/day.json")["moulds"] if row["mould"] == "planter")
        return damp, rack["casts_today"], day["poured"]

    damp, rack, poured = stands()
    told = post("/unwatched.json", {"mould": "planter", "ago_h": 0.0})
    wetter, more, again = stands()
    assert (more - rack, again - poured) == (1, 1)
    assert wetter > damp
    post("/untell.json", {"id": told["id"]})
    assert stands() == (pytest.approx(damp, abs=1e-3), rack, poured)


@pytest.mark.parametrize("table", ["casts", "readings", "faults", "calls", "slips", "pieces", "reclaim"])
def test_everything_can_be_had_as_a_table(ask, post, memory, table):
    post("/came_out.json", {"mould": "planter", "what": "stuck"})
    post("/reclaim.json", {"mould": "planter", "grams": 82.0})
    answer = ask("GET", f"/csv/{table}.csv", memory=memory)
    assert answer.headers["content-disposition"].endswith(f'tipbell-{table}-2026-03-05.csv"')
    rows = list(csv.reader(io.StringIO(answer.text)))
    assert all(len(row) == len(rows[0]) for row in rows)
    assert len(rows) > 1 or table in ("calls", "slips")


def test_the_day_sheet_prints_the_plan_in_the_bench_s_own_time(get, post, ask, memory):
    post("/day.json", {"closing": "17:00", "pots": {"planter": 1}})
    steps = get("/day.json")["steps"]
    sheet = get("/day/sheet")
    # Berlin is an hour ahead of UTC in March
    assert steps[0]["what"] == "pour"
    hour, minute = steps[0]["at"][11:13], steps[0]["at"][14:16]
    assert f"<td>{int(hour) + 1:02d}:{minute}</td><td>pour</td><td>{steps[0]['mould']}</td>" in sheet
    german = ask("GET", "/day/sheet", memory=memory, headers={"accept-language": "de"}).text
    assert "<td>füllen</td>" in german


def test_what_a_device_that_may_only_look_could_not_do_is_not_offered_to_it(get):
    style = (Path(page_module.__file__).parent / "static/rights.css").read_text(encoding="utf-8")
    hidden = set(re.findall(r"\.([a-z-]+)", style))
    for path in ("/slip", "/day", "/pieces"):
        forms = re.findall(r"<form id=\"\w+\" class=\"([\w -]+)\"", get(path))
        around = r"<section class=\"([\w -]+)\"[^>]*>(?:(?!</section>).)*<form id"
        sections = re.findall(around, get(path), re.DOTALL)
        assert forms and len(sections) == len(forms)
        assert all("acts" in one.split() for one in sections) and "acts" in hidden
