"""Everybody can use the pages: WCAG 2.2 AA as axe-core checks it, and the keyboard alone."""

from __future__ import annotations

from urllib.parse import quote

import pytest

from watcher.records.afterwards import FindingKind, PieceMark, PieceStep

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
axe = pytest.importorskip(
    "axe_playwright_python.sync_playwright", reason="axe-playwright-python is not installed"
)
expect = playwright.expect

pytestmark = [pytest.mark.browser, pytest.mark.slow]

# All rules of WCAG 2.0 to 2.2, A and AA, and axe-core's own good practice.
RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "resultTypes": ["violations"],
}


def found(page):
    results = axe.Axe().run(page, options=RULES)
    return [
        f"{one['id']}: {node['html'][:150]} {[check['message'][:150] for check in node['any']]}"
        for one in results.response["violations"]
        for node in one["nodes"]
    ]


@pytest.mark.parametrize("light", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1440])
def test_no_page_breaks_a_rule(bench, serve, open_page, fakes, light, width):
    bench.past = (
        fakes.PastCast("beaker-0", bench.at(-9000.0), bench.at(-7800.0), 20.0, 9.1, 0.2, 2.61, "too_thin"),
    )
    server = serve(bench)
    page = open_page(server.url, width=width, color_scheme=light, expect=("404",))
    complaints = {}
    for path in ("/", "/mould/beaker", "/mould/tall vase", "/mould/butter dish", "/mould/none"):
        page.goto(server.url + path)
        expect(page.locator("#pulse")).to_be_visible()
        page.wait_for_timeout(400)
        complaints[path] = found(page)
    page.goto(server.url)
    for summary in page.locator(".card summary").all()[:2]:
        summary.dispatch_event("click")
    complaints["more"] = found(page)
    page.evaluate("document.getElementById('settings-box').showModal()")
    complaints["settings"] = found(page)
    assert {path: said for path, said in complaints.items() if said} == {}


@pytest.mark.parametrize(("light", "width"), [("light", 390), ("dark", 1440)])
def test_no_page_of_the_desk_breaks_a_rule(bench, memory, serve, open_page, light, width):
    server = serve(bench, memory)
    cast_id = memory.all_casts("beaker", 1)[0].cast_id
    memory.after.find(cast_id, FindingKind.STUCK, bench.now())
    piece = memory.after.number_piece(cast_id, "beaker", bench.now())
    memory.after.mark(piece.number, PieceMark(PieceStep.BISQUE, bench.now(), "04"))
    page = open_page(server.url, width=width, color_scheme=light)
    complaints = {}
    for path in (
        "/review",
        f"/cast/{quote(cast_id)}",
        "/slip",
        "/day",
        "/day/sheet",
        "/pieces",
        "/mould/beaker",
    ):
        page.goto(server.url + path)
        expect(page.locator("#pulse-word")).to_have_text("live")
        if path == "/slip":
            page.get_by_role("spinbutton", name="It says").fill("1775")
            page.get_by_role("button", name="Check").click()
            expect(page.locator("#answer")).to_be_visible()
        if path == "/day":
            page.get_by_label("Closing time").fill("17:00")
            page.get_by_label("Closing time").press("Tab")
            expect(page.locator("#plan-picture svg")).to_be_visible()
        for summary in page.locator("details.more-fields summary").all():
            summary.dispatch_event("click")
        page.wait_for_timeout(300)
        complaints[path] = found(page)
    assert {path: said for path, said in complaints.items() if said} == {}


@pytest.mark.parametrize("light", ["light", "dark"])
def test_no_rule_is_broken_while_the_server_is_dead_or_the_camera_blind(bench, serve, open_page, light):
    bench.camera = False
    bench.set(1800.0)
    server = serve(bench)
    page = open_page(server.url, color_scheme=light, expect=("ERR_",))
    expect(page.locator("#no-picture")).to_contain_text("unplugged")
    blind = found(page)
    server.stop(tell=False)
    expect(page.locator("#dead-big")).to_be_visible(timeout=12000)
    assert blind + found(page) == []


def test_the_axe_that_checks_does_find_what_is_wrong(bench, serve, open_page):
    page = open_page(serve(bench).url)
    page.evaluate(
        """const picture = document.getElementById('picture');
        picture.removeAttribute('alt'); picture.hidden = false;"""
    )
    assert any(text.startswith("image-alt") for text in found(page))


def focused(page):
    return page.evaluate(
        "document.activeElement.getAttribute('aria-label') ?? document.activeElement.textContent.trim()"
    )


def tab_to(page, wanted, most=60):
    for _ in range(most):
        page.keyboard.press("Tab")
        if focused(page).startswith(wanted):
            return
    raise AssertionError(f"no Tab reaches {wanted!r}")


def test_a_tip_is_told_with_the_keyboard_alone(bench, serve, open_page):
    page = open_page(serve(bench).url, width=1440, height=900)
    expect(page.locator("#pulse-word")).to_have_text("live")
    page.keyboard.press("Tab")
    assert focused(page) == "Skip to the bench"
    assert page.locator(".skip").bounding_box()["y"] >= 0
    page.keyboard.press("Enter")
    tab_to(page, "Heard it: cream jug")
    page.keyboard.press("Enter")
    tab_to(page, "More: tall vase")
    page.keyboard.press("Enter")
    tab_to(page, "It is not doing that: tall vase")
    page.keyboard.press("Enter")
    expect(page.locator("#toast")).to_contain_text("tall vase: something is wrong")
    assert focused(page) == "More: tall vase"
    said = [(one.what.value, one.mould, one.note) for one in bench.heard]
    assert said == [("acknowledged", "cream jug", ""), ("wrong", "tall vase", "stage")]


def test_settings_open_and_close_with_the_keyboard_and_give_the_focus_back(bench, serve, open_page):
    page = open_page(serve(bench).url)
    tab_to(page, "Settings")
    page.keyboard.press("Enter")
    expect(page.locator("#settings-box")).to_be_visible()
    page.keyboard.press("ArrowRight")  # the dialog opens with the focus on its first choice
    assert page.evaluate("document.documentElement.dataset.unit") == "in"
    page.keyboard.press("Escape")
    expect(page.locator("#settings-box")).to_be_hidden()
    assert focused(page) == "Settings"


def test_the_chart_is_read_with_the_arrow_keys(bench, serve, open_page):
    page = open_page(serve(bench).url + "/mould/beaker", width=1440, height=900)
    tab_to(page, "Moment on the curve")
    chart = page.locator("#chart [role=slider]")
    before = chart.get_attribute("aria-valuetext")
    assert "wall" in before
    page.keyboard.press("End")
    end = chart.get_attribute("aria-valuetext")
    assert "forecast only" in end and end != before
    page.keyboard.press("Home")
    # 2640 s less the 1158.9 s that 2.6 mm takes: poured 1481 s past 10:00 in Berlin, no wall yet.
    assert chart.get_attribute("aria-valuetext").startswith("10:24 · wall 0.0")
