"""The other benches on the page: what comes next there, who is silent, and a tap that goes to their inbox."""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from watcher.records.others import OtherAlert, OtherBench, OtherMould, OtherWord
from watcher.records.said import What

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
axe = pytest.importorskip(
    "axe_playwright_python.sync_playwright", reason="axe-playwright-python is not installed"
)
expect = playwright.expect
pytestmark = [pytest.mark.browser, pytest.mark.slow]

RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "resultTypes": ["violations"],
}


class Two:
    """Two other benches: one heard a moment ago, with a call; one not heard any more."""

    def __init__(self, bench) -> None:
        now = bench.now()
        jug = OtherMould("jug", "casting", True, now, 2.1, now + timedelta(minutes=12))
        tall = OtherMould("tall vase", "casting", True, now, 2.6, now - timedelta(minutes=1))
        empty = OtherMould("planter", "empty", False)
        call = OtherAlert("north/tall vase/1/ready", "ready", "tall vase", now - timedelta(minutes=1))
        self.north = OtherBench("north", "http://192.0.2.7:8417/", 1.2, now, (jug, tall, empty), (call,))
        heard = now - timedelta(minutes=20)
        bowl = OtherMould("sugar bowl", "casting", True, heard, 1.1, now - timedelta(minutes=2))
        self.south = OtherBench("south bench by the kiln wall", "", 1200.0, heard, (bowl,))
        self.said = []
        self.why = ""

    def present(self):
        if self.why:
            raise OSError(self.why)
        return self.north, self.south

    def words(self):
        return tuple(
            OtherWord(bench_id, one.mould, one.what, one.at, bench_id == "north")
            for bench_id, one in reversed(self.said)
        )

    def say(self, bench_id, said) -> str:
        self.said.append((bench_id, said))
        return ""


@pytest.fixture
def two(bench):
    return Two(bench)


def test_the_page_says_what_comes_next_on_each_bench_and_which_one_is_not_heard(
    bench, two, memory, serve, open_page
):
    page = open_page(serve(bench, memory, two).url + "/")
    expect(page.locator("#strip li")).to_have_count(2)
    expect(page.locator("#strip li").first).to_contain_text("tall vase: 1 min late")
    expect(page.locator("#strip li").first).to_contain_text("1 call unanswered")
    page.locator("#strip a").first.click()
    expect(page).to_have_title("Benches – Tipbell")
    expect(page.locator(".other")).to_have_count(2)
    north, south = page.locator(".other").all()
    expect(north.locator(".other-next")).to_contain_text("Next: tall vase – 1 min late, since 10:29")
    expect(north).to_contain_text("jug")
    expect(north).to_contain_text("12 min, at 10:42")  # 9:30 UTC and 12 min, on Berlin's clock
    expect(north.locator(".other-heard")).to_have_text("heard 1 s ago")
    expect(south.locator(".other-heard")).to_have_text(
        "Not heard of since 10:10. Its figures are old; look yourself."
    )
    expect(north.get_by_role("link", name="Open its page: north")).to_have_attribute(
        "href", "http://192.0.2.7:8417/"
    )


def test_a_tap_goes_to_the_inbox_of_the_bench_that_owns_the_mould(bench, two, serve, open_page):
    page = open_page(serve(bench, None, two).url + "/benches")
    expect(page.locator("#pulse-word")).to_have_text("live")
    page.get_by_role("button", name="Tipped: tall vase, north").click()
    expect(page.locator("#toast-text")).to_have_text("north, tall vase tipped: passed on")
    page.get_by_role("button", name="Heard it: tall vase, tip now, north").click()
    expect(page.locator("#toast-text")).to_contain_text("heard: passed on")
    page.get_by_role("button", name="Topped up: sugar bowl").click()
    expect(page.locator("#toast-text")).to_contain_text("waits until that bench is heard again")
    assert [(bench_id, one.what, one.mould, one.alert_id) for bench_id, one in two.said] == [
        ("north", What.TIPPED, "tall vase", ""),
        ("north", What.ACKNOWLEDGED, "tall vase", "north/tall vase/1/ready"),
        ("south bench by the kiln wall", What.TOPPED_UP, "sugar bowl", ""),
    ]
    assert bench.heard == [], "nothing of it was said to this bench"
    expect(page.locator("#others-words li").first).to_contain_text("waits there")
    expect(page.locator("#others-words li").last).to_contain_text("taken in")


def test_what_changes_there_is_seen_here_within_seconds(bench, two, serve, open_page):
    page = open_page(serve(bench, None, two).url + "/benches")
    two.north = replace(two.north, alerts=(), moulds=two.north.moulds[:1])
    expect(page.locator(".other-next").first).to_contain_text("Next: jug", timeout=9000)
    two.why = "the shared database does not answer; this bench goes on alone"
    expect(page.locator("#others-say")).to_contain_text("cannot be seen just now", timeout=9000)


def test_alone_there_is_no_way_to_a_page_of_others(bench, memory, serve, open_page):
    server = serve(bench, memory)
    page = open_page(server.url)
    expect(page.locator(".ways a")).not_to_have_count(0)
    assert "Benches" not in page.locator(".ways").inner_text()
    page.goto(server.url + "/benches")
    expect(page.locator("#others-say")).to_contain_text("shares no database")


@pytest.mark.parametrize(
    ("light", "width", "locale"), [("light", 390, "en-GB"), ("dark", 1440, "de-DE"), ("light", 360, "de-DE")]
)
def test_the_page_of_the_others_breaks_no_rule_and_fits(
    bench, two, memory, serve, open_page, light, width, locale
):
    server = serve(bench, memory, two)
    page = open_page(server.url + "/benches", width=width, color_scheme=light, locale=locale)
    complaints = []
    for path in ("/benches", "/"):
        page.goto(server.url + path)
        expect(page.locator("#pulse-word")).to_have_text("live")
        expect(page.locator(".other, #strip li").first).to_be_visible()
        results = axe.Axe().run(page, options=RULES)
        complaints += [
            f"{path} {one['id']}: {node['html'][:150]}"
            for one in results.response["violations"]
            for node in one["nodes"]
        ]
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), path
        if pictures := os.environ.get("TIPBELL_PICTURES"):
            name = f"others{path.replace('/', '_')}_{width}_{locale}.png"
            page.screenshot(path=str(Path(pictures) / name), full_page=True)
    assert complaints == []


def test_whoever_may_only_look_is_not_offered_a_tap_and_is_refused_one(serve_opened, two):
    phone = serve_opened(others=two).joined("look")
    tipped = {"bench_id": "north", "mould": "jug", "what": "tipped"}
    refused = phone.post("/benches/said.json", json=tipped)
    assert refused.status_code == 403 and two.said == []
    assert phone.get("/benches").status_code == 200
    hides = Path("watcher/page/static/rights.css").read_text(encoding="utf-8")
    assert "[data-say]" in hides
    assert "dataset.say" in Path("watcher/page/static/benches.js").read_text(encoding="utf-8")


def test_to_hear_of_the_camera_is_not_to_have_heard_all_that_calls(bench, fakes, serve, open_page):
    kind = fakes.Kind
    blind = fakes.Alert("b/camera_blind/1", kind.CAMERA_BLIND, "", "", 900.0, bench.at(900), why="unplugged")
    silent = fakes.Alert("south/bench_silent/1", kind.BENCH_SILENT, "", "", 901.0, bench.at(901), why="gone")
    bench.alerts |= {one.alert_id: one for one in (blind, silent)}
    bench.set(1800.0)
    page = open_page(serve(bench).url)
    expect(page.locator("#pulse-word")).to_have_text("live")
    assert page.locator(".call").count() >= 3, "two of the bench, and those of its moulds"
    page.locator(".call", has_text="camera cannot see").get_by_role("button").first.click()
    expect(page.locator("#toast-text")).not_to_be_empty()
    assert [(one.what, one.alert_id) for one in bench.heard] == [(What.ACKNOWLEDGED, "b/camera_blind/1")]
