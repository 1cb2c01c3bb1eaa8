"""What no camera saw is told on the mould's page, shown there, taken back, and added up on the slip page."""

from __future__ import annotations

import pytest

sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-playwright-python is missing")
expect = sync_api.expect

pytestmark = [pytest.mark.browser, pytest.mark.slow]

RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "resultTypes": ["violations"],
}


@pytest.fixture
def desk(bench, memory, serve):
    return serve(bench, memory=memory)


def test_a_jug_with_its_lid_is_planned_as_a_set_and_dropped(desk, open_page):
    page = open_page(desk.url + "/day")
    page.locator("summary", has_text="New set").click()
    page.get_by_label("The piece").fill("jug with lid")
    page.locator("#set-parts").get_by_label("planter").check()
    page.locator("#set-parts").get_by_label("cream jug").check()
    page.locator("#newset button").click()
    expect(page.locator("#sets > li")).to_contain_text("for joining")
    expect(page.locator("#sets > li")).to_contain_text("All leather-hard about")
    for width in (360, 1440):
        page.set_viewport_size({"width": width, "height": 844})
        page.wait_for_timeout(60)
        assert page.evaluate("document.documentElement.scrollWidth") == width
        assert axe.Axe().run(page, options=RULES).response["violations"] == []
    page.get_by_role("button", name="No such set: jug with lid").click()
    expect(page.locator("#sets > li")).to_have_count(0)


def test_reclaim_and_a_drier_are_told_listed_and_taken_back(desk, memory, open_page, tmp_path):
    page = open_page(desk.url + "/mould/planter")
    expect(page.locator("#life-box")).to_be_visible()
    page.get_by_label("Spare and trimmings of its last cast").fill("82.5")
    page.locator("#reclaim button").click()
    expect(page.locator("#told li")).to_have_count(1)
    page.get_by_label("It stood in a drier until now, for").fill("6")
    page.locator("#drier button").click()
    expect(page.locator("#told li").first).to_contain_text("6.0 h in a drier at 40 °C")
    for width in (360, 1440):
        page.set_viewport_size({"width": width, "height": 844})
        page.wait_for_timeout(60)
        assert page.evaluate("document.documentElement.scrollWidth") == width
        assert axe.Axe().run(page, options=RULES).response["violations"] == []
        page.locator("#told").scroll_into_view_if_needed()
        page.screenshot(path=tmp_path / f"mould-{width}.png")
    page.get_by_role("button", name="Take back: 6.0 h in a drier at 40 °C").click()
    expect(page.locator("#told li")).to_have_count(1)
    assert [one.amount for one in memory.telling.told()] == [82.5]
    page.goto(desk.url + "/slip")
    expect(page.locator("#reclaim tr")).to_contain_text("83")
    assert axe.Axe().run(page, options=RULES).response["violations"] == []
