"""The desk's pages in a real browser: stories of looking back, checking the slip and planning the day."""

from __future__ import annotations

import re
from urllib.parse import quote

import pytest

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
expect = playwright.expect

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.fixture
def desk(bench, memory, serve):
    return serve(bench, memory)


def newest_cast(memory) -> str:
    return memory.all_casts("beaker", 1)[0].cast_id


def test_a_cast_is_looked_back_on_dragged_played_and_compared(desk, memory, open_page):
    page = open_page(desk.url + "/review", width=1440, height=900)
    page.get_by_role("link", name=re.compile("^beaker, no. 1 of its day")).click()
    expect(page.locator("#cast-title")).to_contain_text("beaker, 5 Mar, 07:59")
    minutes = float(page.locator("#scrub").get_attribute("max"))
    assert minutes == pytest.approx(19.3, abs=0.5)  # 2.6^2 / 0.35 min, as the test data has it

    page.locator("#scrub").fill("6")
    expect(page.locator("#scrub-say")).to_have_text("6.0 min since it was full")
    expect(page.locator(".shot-at")).to_have_text("08:06:00")  # the picture of that minute, Berlin time
    expect(page.locator(".chart-read")).to_contain_text("08:06 · wall 1.4")  # sqrt(0.35 x 6) = 1.45 mm
    line = page.locator(".chart .cursor").get_attribute("d")

    box = page.locator(".panel .chart-hold").bounding_box()
    page.mouse.move(box["x"] + 0.3 * box["width"], box["y"] + 60)
    page.mouse.down()
    page.mouse.move(box["x"] + 0.8 * box["width"], box["y"] + 60)
    page.mouse.up()
    assert page.locator(".chart .cursor").get_attribute("d") != line
    assert float(page.locator("#scrub").input_value()) > 12.0  # picture and slider went along

    shot = page.locator(".shot").bounding_box()
    page.mouse.click(shot["x"] + 0.5 * shot["width"], shot["y"] + 40)
    assert float(page.locator("#scrub").input_value()) == pytest.approx(0.5 * minutes, abs=0.4)

    page.locator("#scrub").fill("1")
    page.locator("#speed").select_option("240")
    page.get_by_role("button", name="Play").click()
    expect(page.locator("#scrub-say")).to_have_text(re.compile(r"^(4|5|6|7|8|9|1\d)\.\d min"), timeout=4000)
    page.get_by_role("button", name="Pause").click()

    page.locator("#beside").select_option(index=1)
    expect(page.locator(".panel")).to_have_count(2)
    page.locator("#scrub").fill("10")
    expect(page.locator(".shot-at").first).to_have_text("08:10:00")
    expect(page.locator(".shot-at").last).to_have_text(re.compile(r"^\d\d:\d\d:00$"))

    page.get_by_text("hot spot").click()
    page.get_by_label("In your own words").fill("under the handle")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#findings")).to_contain_text("under the handle")
    assert [one.kind for one in memory.after.findings(newest_cast(memory))] == ["hot_spot"]
    page.locator("#back").click()
    expect(page.locator(".row-cast[data-bad=true]")).to_have_count(1)


def test_the_morning_s_slip_is_stirred_checked_and_kept(desk, bench, open_page):
    page = open_page(desk.url + "/slip", expect=("422",))
    page.get_by_role("spinbutton", name="It says").fill("1775")
    page.locator("#band-box").get_by_label("From", exact=True).fill("1740")
    page.locator("#band-box").get_by_label("To", exact=True).fill("1760")
    page.get_by_role("button", name="Check").click()
    expect(page.locator("#verdict")).to_have_text("Stir first")
    expect(page.get_by_role("button", name="Keep it as the day's slip")).to_be_hidden()
    page.get_by_role("button", name=re.compile(r"^Stir: start \d+ min")).click()
    expect(page.locator("#stir-left")).to_have_text(re.compile(r"^\d+:5\d$"))

    page.get_by_text("The whole tank was stirred through").click()
    page.get_by_role("spinbutton", name="It says").fill("1752")
    page.get_by_role("button", name="Check").click()
    expect(page.locator("#verdict")).to_have_text("Good")
    page.get_by_role("button", name="Keep it as the day's slip").click()
    expect(page.locator("#in-use")).to_contain_text("New casts go by 1.752, checked today at 10:30")
    assert [slip.specific_gravity for slip in bench.slips] == [1.752]
    expect(page.locator("#checks-plot .dot")).to_have_count(1)
    # the field gives what the bench's words cannot: refused with its sentence
    page.get_by_role("spinbutton", name="It says").fill("400")
    page.get_by_role("button", name="Check").click()
    expect(page.locator("#toast")).to_contain_text("Not kept")
    page.wait_for_timeout(100)


def test_the_day_is_planned_changed_and_planned_anew_when_a_mould_is_left_out(desk, open_page):
    page = open_page(desk.url + "/day")
    expect(page.locator("#simple-when")).to_have_text(re.compile(r"Pour the next one (in \d+ min|now)"))
    expect(page.locator("#calls")).to_contain_text("cream jug: tip now")  # a call is heard on every page
    page.get_by_label("Closing time").fill("17:00")
    page.get_by_label("Closing time").press("Tab")
    expect(page.locator("#plan-say")).to_contain_text("more pots, the last drained at")
    pots = page.get_by_label("Pots: planter")
    pots.fill("3")
    pots.press("Tab")
    pours = page.locator("#steps li[data-what=pour]", has_text="planter")
    expect(pours).to_have_count(3)
    # Without script for eyes, the picture is the list: each planned thing is drawn once in the hands' lane.
    assert (
        page.locator("#plan-picture .do-pour").count() == 2 * page.locator("#steps [data-what=pour]").count()
    )
    page.get_by_role("button", name="Leave out: planter").click()
    expect(pours).to_have_count(0)
    expect(page.get_by_role("button", name="Leave out: planter")).to_have_attribute("aria-pressed", "true")


def test_how_a_cast_came_out_is_one_tap_and_gives_its_piece_a_number(desk, bench, memory, open_page):
    bench.tipped["beaker"] = bench.now_s - 60.0
    bench.set(bench.now_s)
    beside = bench.bench().moulds["beaker"]
    cast_id = newest_cast(memory)
    bench.change("beaker", type(beside)("beaker", beside.stage, None, beside.last_look, beside.last_look_s))
    page = open_page(desk.url + "/mould/beaker")
    page.get_by_role("button", name="It came clean").click()
    expect(page.locator("#toast")).to_contain_text("piece no. 1")
    assert memory.after.pieces()[0].cast_id == cast_id
    page.goto(desk.url + "/pieces")
    page.get_by_label("Piece no.").first.fill("1")
    page.get_by_label("It is now").select_option("bisque")
    page.get_by_label("Cone, as it is stamped").fill("04")
    page.get_by_role("button", name="Keep").first.click()
    expect(page.locator("#pieces td.wraps")).to_contain_text("bisque fired cone 04")


def test_the_mould_s_page_tells_the_last_tips_and_takes_a_note_and_a_wall(desk, bench, open_page):
    page = open_page(desk.url + "/mould/beaker")
    expect(page.locator("#last-tips")).to_contain_text(re.compile(r"Your last tips: sunk \d\.\d mm"))
    expect(page.locator("#life-k .dot, #life-k .second")).to_have_count(5)
    page.get_by_role("button", name="I looked, the wall is 1.25 mm").click()
    expect(page.locator("#toast")).to_contain_text("looked at the wall")
    page.get_by_label("Write a note").fill("seam wiped")
    page.get_by_label("Write a note").press("Enter")
    expect(page.get_by_label("Write a note")).to_have_value("")
    assert [(said.what, said.value, said.note) for said in bench.heard] == [
        ("looked", 1.25, ""),
        ("note", None, "seam wiped"),
    ]


def test_what_the_bench_says_of_itself_is_told_in_german(bench, memory, serve, fakes, open_page):
    bench = fakes.FakeBench([fakes.Plot("beaker", 0.0, target_mm=None)])
    page = open_page(serve(bench, memory).url + "/mould/beaker", locale="de-DE")
    expect(page.locator("#why")).to_have_text("kein Ziel: Wandstärke nennen, oder welcher Guss gut war")


def test_the_desk_s_pages_fit_every_screen_and_stay_small(desk, memory, open_page):
    page = open_page(desk.url + "/pieces")
    tap = page.context.new_cdp_session(page)
    sizes: list[int] = []
    tap.send("Network.enable")
    tap.on("Network.loadingFinished", lambda event: sizes.append(int(event["encodedDataLength"])))
    tap.send("Network.setCacheDisabled", {"cacheDisabled": True})
    for path in ("/review", "/slip", "/day", "/day/sheet", "/pieces", f"/cast/{quote(newest_cast(memory))}"):
        sizes.clear()
        page.goto(desk.url + path)
        expect(page.locator("#pulse-word")).to_have_text("live")
        page.wait_for_timeout(200)
        print(f"{path}: {sum(sizes)} bytes")
        assert sum(sizes) <= 150_000, path
        for width in (360, 768, 1440):
            page.set_viewport_size({"width": width, "height": 800})
            page.wait_for_timeout(60)
            assert page.evaluate("document.documentElement.scrollWidth") == width, (path, width)
