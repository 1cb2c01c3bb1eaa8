"""The pages in a real browser: stories of a bench, told on the made-up one."""

from __future__ import annotations

import re
import time

import pytest

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
expect = playwright.expect

pytestmark = [pytest.mark.browser, pytest.mark.slow]
BROKEN = (
    "ERR_CONNECTION_REFUSED",
    "ERR_INCOMPLETE_CHUNKED",
    "ERR_CONNECTION_RESET",
    "ERR_EMPTY_RESPONSE",
    "ERR_NETWORK",
)


def until(page, is_so, seconds=8.0):
    """Wait for something that the page's own policy would not let the browser watch for."""
    end = time.monotonic() + seconds
    while not is_so():
        assert time.monotonic() < end
        page.wait_for_timeout(100)


def test_from_the_fill_to_the_tip_with_an_acknowledged_alert(fakes, serve, open_page):
    bench = fakes.FakeBench([fakes.Plot("cream jug", None), fakes.Plot("beaker", -300.0)], now_s=0.0)
    page = open_page(serve(bench).url)
    card = page.locator(".card[data-mould='cream jug']")
    expect(card.locator(".word")).to_have_text("empty")
    card.get_by_role("button", name="Just poured: cream jug").click()
    expect(card.locator(".word")).to_have_text("casting")
    expect(page.locator("#toast")).to_contain_text("cream jug: just poured")

    ready_s = 60 * 2.6**2 / 0.35  # 1158.9 s after the pour, as the made-up mould grows
    bench.set(600.0)
    expect(card.locator("[data-f=go]")).to_have_text("9 min")  # 558.9 s to go
    expect(card.locator("[data-f=wall]")).to_have_text("Wall 1.9 of 2.6 mm")  # root of 0.35 times 10 min
    expect(page.locator("#next-name")).to_have_text("beaker")

    bench.tipped["beaker"] = 850.0
    bench.set(ready_s + 5.0)
    call = page.locator(".call", has_text="cream jug: tip now")
    expect(call).to_be_visible()
    expect(page).to_have_title("▲ cream jug tip now – Tipbell")
    assert page.locator("#icon").get_attribute("href").endswith("icon-call.svg")
    expect(page.locator("#next-big")).to_have_text("tip now")
    call.get_by_role("button", name="Heard it: cream jug").click()
    expect(call).to_have_count(0)
    expect(page).to_have_title("Bench – Tipbell")
    expect(page.locator("#log li")).to_contain_text(["tip now"])
    expect(page.locator("#log li").first).to_contain_text("heard")

    card.get_by_role("button", name="Tipped: cream jug").click()
    expect(card.locator(".word")).to_have_text("tipped")
    page.get_by_role("button", name="Take back", exact=True).click()
    expect(page.locator("#toast")).to_contain_text("cream jug: taken back")
    assert [said.what.value for said in bench.heard] == ["filled", "acknowledged", "tipped", "take_back"]


def test_a_dead_server_is_said_in_large_letters_within_seconds_and_forgotten_when_it_is_back(
    bench, serve, open_page
):
    server = serve(bench)
    page = open_page(server.url, expect=BROKEN)
    expect(page.locator("#pulse-word")).to_have_text("live")
    server.stop(tell=False)
    began = time.monotonic()
    expect(page.locator("#dead-big")).to_have_text("Tipbell does not answer", timeout=12000)
    noticed_s = time.monotonic() - began
    assert noticed_s < 7.0, noticed_s
    size = page.locator("#dead-big").evaluate("node => parseFloat(getComputedStyle(node).fontSize)")
    assert size >= 30
    page.locator(".card[data-mould=beaker]").get_by_role("button", name="Tipped: beaker").click()
    expect(page.locator("#toast")).to_contain_text("Not heard")
    server.start()
    expect(page.locator("#dead")).to_be_hidden(timeout=12000)
    expect(page.locator("#pulse-word")).to_have_text("live")
    print(f"dead server noticed after {noticed_s:.1f} s")


def test_a_bench_that_stands_still_behind_a_living_server_is_noticed(bench, serve, open_page):
    page = open_page(serve(bench).url)
    expect(page.locator("#pulse-word")).to_have_text("live")
    bench.ticking = False
    # No new present for a while, as when the bench's thread hangs; the server's own life goes on.
    expect(page.locator("#dead-big")).to_have_text("The bench has stood still", timeout=25000)
    bench.ticking = True
    expect(page.locator("#dead")).to_be_hidden()


def test_the_service_stops_at_once_although_pages_are_open(bench, serve, open_page):
    server = serve(bench)
    page = open_page(server.url, expect=BROKEN)
    expect(page.locator("#pulse-word")).to_have_text("live")
    assert server.stop() < 1.9  # the server's own limit on a graceful stop is 2 s: it was not needed


def test_a_tap_before_the_scripts_have_come_waits_for_them_and_is_heard(bench, serve, chromium):
    page = chromium.new_page()
    held = []
    # a slow phone: the page is drawn, its scripts are not there
    page.route("**/static/bench.js", lambda route: held.append(route))
    page.goto(serve(bench).url, wait_until="commit")
    tipped = page.locator(".card[data-mould=beaker]").get_by_role("button", name="Tipped: beaker")
    expect(page.locator("#main[inert]")).to_be_visible()
    page.wait_for_timeout(300)
    held[0].continue_()
    tipped.click()
    expect(page.locator("#toast")).to_contain_text("beaker: tipped")
    page.close()


def test_six_tabs_are_live_and_each_can_still_speak(bench, serve, chromium):
    server = serve(bench)
    context = chromium.new_context()
    pages = [context.new_page() for _ in range(6)]
    for page in pages:
        page.set_default_timeout(8000)
        page.goto(server.url)
    for step, page in enumerate(pages[::2]):
        expect(page.locator("#pulse-word")).to_have_text("live")
        bench.set(1900.0 + 60.0 * step)  # 2640 s - 1900 s = 12.3 min to go, then a minute less each time
        for other in pages:
            go = other.locator(".card[data-mould=beaker] [data-f=go]")
            expect(go).to_have_text(f"{round((740 - 60 * step) / 60)} min")
        page.locator(".card[data-mould=beaker]").get_by_role("button", name="Topped up: beaker").click()
        expect(page.locator("#toast")).to_contain_text("beaker: topped up")
        expect(page.locator("#picture")).to_have_attribute("src", re.compile(rf"v=f{1900 + 60 * step}$"))
    assert len(bench.heard) == 3
    context.close()


def test_what_is_forecast_looks_different_from_what_is_seen(bench, serve, open_page):
    page = open_page(serve(bench).url)
    guess, seen = page.locator(".card[data-mould='tall vase']"), page.locator(".card[data-mould=beaker]")
    expect(guess.locator("[data-f=fresh]")).to_contain_text("forecast only, not seen for 3 min")
    expect(seen.locator("[data-f=fresh]")).to_contain_text("seen")

    def style(card):
        return card.evaluate("node => getComputedStyle(node).borderTopStyle")

    assert style(guess) == "dashed" and style(seen) == "solid"
    expect(page.locator("#labels .mark[data-guess=true]")).to_have_text("5")


def test_every_hole_in_the_picture_has_its_number_where_it_stands(bench, fakes, serve, open_page):
    page = open_page(serve(bench).url, width=1440, height=900)
    expect(page.locator("#picture")).to_be_visible()
    frame = page.locator("#frame").bounding_box()
    for number, rim in enumerate(fakes.rims(6), start=1):
        label = page.locator("#labels li").nth(number - 1)
        expect(label).to_have_text(str(number))
        box = label.bounding_box()
        col = sum(point[1] for point in rim) / len(rim)
        middle = frame["x"] + frame["width"] * col / fakes.WIDE
        assert box["x"] + box["width"] / 2 == pytest.approx(middle, abs=2)
        ring = page.locator("#rings polygon.rim").nth(2 * (number - 1)).bounding_box()
        assert ring["y"] <= box["y"] + box["height"] and box["y"] < ring["y"] + ring["height"] / 2


def test_two_tips_close_together_are_pointed_out(bench, serve, open_page):
    bench.set(2600.0)
    page = open_page(serve(bench).url)
    expect(page.locator("#clashes li").last).to_have_text("3 planter and 4 sugar bowl: only 1 min apart")


def test_numbers_that_change_move_nothing(bench, serve, open_page):
    bench.alerts.clear()
    for name in ("cream jug", "tall vase"):
        bench.tipped[name] = 1750.0
    bench.alerts.clear()
    bench.set(1800.0)
    page = open_page(serve(bench).url, width=1440, height=900)
    expect(page.locator("#pulse-word")).to_have_text("live")
    page.wait_for_timeout(600)
    page.evaluate(
        """() => { window.moved = 0; new PerformanceObserver((list) => {
        for (const entry of list.getEntries()) if (!entry.hadRecentInput) window.moved += entry.value;
        }).observe({ type: "layout-shift" }); }"""
    )
    for now_s in (1801, 1855, 1980, 2041, 2160, 2290, 2380):
        bench.set(float(now_s))
        page.wait_for_timeout(350)
    expect(page.locator(".card[data-mould=beaker] [data-f=go]")).to_have_text("4 min")
    assert page.evaluate("window.moved") < 0.005


def test_inches_german_and_dark_are_remembered(bench, serve, open_page):
    page = open_page(serve(bench).url, timezone_id="America/New_York")
    # The bench stands in Berlin, an hour past UTC in March; the reader's own zone does not matter.
    expect(page.locator("#clock")).to_have_text("10:30")
    page.get_by_role("button", name="Settings").click()
    page.get_by_text("inches").click()
    expect(page.locator(".card[data-mould=beaker] [data-f=wall]")).to_have_text("Wall 0.05 of 0.10 in")
    page.locator(".pick", has_text="dark").click()
    page.get_by_text("Deutsch").click()
    expect(page.locator("#hour-title")).to_have_text("Die nächste Stunde")
    expect(page.locator(".card[data-mould=beaker] [data-f=wall]")).to_have_text("Wand 0,05 von 0,10 in")
    assert page.evaluate("document.documentElement.dataset.light") == "dark"
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(25, 28, 30)"


def test_the_wall_that_was_looked_at_is_said_in_millimetres_even_when_typed_in_inches(
    bench, serve, open_page
):
    page = open_page(serve(bench).url + "/mould/beaker")
    page.evaluate("document.documentElement.dataset.unit = 'in'")
    page.locator("summary").click()
    page.get_by_role("spinbutton", name="I looked, the wall is").fill("0.1")
    page.get_by_role("button", name="Say it: I looked, the wall is").click()
    expect(page.locator("#toast")).to_contain_text("beaker: looked at the wall")
    assert bench.heard[0].value == pytest.approx(2.54)  # 25.4 mm to the inch


def test_the_alarm_is_unlocked_by_one_tap_and_rings_for_what_is_new(bench, serve, open_page):
    page = open_page(serve(bench).url)
    # Count the strokes of the bell: each starts three partial tones.
    page.evaluate(
        """() => { window.tones = 0; const start = OscillatorNode.prototype.start;
        OscillatorNode.prototype.start = function (...given) {
            window.tones += 1; return start.apply(this, given);
        }; }"""
    )
    assert page.locator("#sound").get_attribute("aria-pressed") == "false"
    page.locator("#sound").click()
    expect(page.locator("#sound")).to_have_attribute("aria-pressed", "true")
    assert page.evaluate("window.tones") == 3  # one stroke says that it works
    bench.set(1800.0 + 200.0)  # the tall vase, soon till now, is ready
    until(page, lambda: page.evaluate("window.tones") >= 3 + 9)  # three strokes


def test_a_browser_without_sound_unlocked_still_shows_the_alarm(bench, serve, open_page):
    page = open_page(serve(bench).url)
    expect(page.locator("#calls")).to_be_visible()
    assert page.locator("#sound").get_attribute("aria-pressed") == "false"


def test_the_mould_page_follows_a_cast(bench, serve, open_page):
    page = open_page(serve(bench).url + "/mould/beaker", width=1440, height=900)
    expect(page.locator("#go")).to_have_text("14 min")
    expect(page.locator("#crop")).to_be_visible()
    dots = page.locator("#chart path.dots").get_attribute("d").count("M")
    assert page.locator("#chart path.band").count() == 2 and page.locator("#chart path.ahead").count() == 2
    bench.set(1900.0)
    expect(page.locator("#go")).to_have_text("12 min")
    until(page, lambda: page.locator("#chart path.dots").get_attribute("d").count("M") >= dots + 5)


@pytest.mark.parametrize(("count", "long_names"), [(1, False), (6, True), (24, False)])
def test_nothing_is_wider_than_the_screen(fakes, serve, open_page, count, long_names):
    bench = fakes.FakeBench(fakes.usual_plots(count, long_names))
    server = serve(bench)
    page = open_page(server.url)
    expect(page.locator(".card")).to_have_count(count)
    for path in ("/", f"/mould/{bench.bench().layout.moulds[0].name}"):
        page.goto(server.url + path)
        expect(page.locator("#pulse-word")).to_have_text("live")
        for width in (360, 390, 768, 1440):
            page.set_viewport_size({"width": width, "height": 800})
            page.wait_for_timeout(100)
            assert page.evaluate("document.documentElement.scrollWidth") == width, (path, width)
