"""The pages of joining: usable by everybody, and never a breakdown whatever is asked of them."""

from __future__ import annotations

from typing import Any

import pytest
from opened_bench import Served

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-playwright-python is missing")
expect = playwright.expect

pytestmark = [pytest.mark.browser, pytest.mark.slow]
RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "resultTypes": ["violations"],
}


def found(page: Any) -> list[str]:
    results = axe.Axe().run(page, options=RULES)
    return [
        f"{one['id']}: {node['html'][:150]}"
        for one in results.response["violations"]
        for node in one["nodes"]
    ]


@pytest.mark.parametrize("light", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_no_page_of_joining_breaks_a_rule_or_is_wider_than_its_screen(
    served: Served, open_page: Any, light: str, width: int
) -> None:
    served.joined("act", "a very long name of a tablet, oh my")
    own, other = str(served.own().base_url), str(served.other().base_url)
    # over plain http browsers say in the console that they pass over one header of the policy
    page = open_page(f"{own}/phones", width=width, color_scheme=light, expect=("401", "Opener-Policy"))
    page.get_by_role("button", name="It may look and act").click()
    expect(page.locator("#qr svg")).to_be_visible()
    expect(page.locator("#phones li")).to_have_count(1)
    complaints = {"phones": found(page)}
    wide = {"phones": page.evaluate("document.documentElement.scrollWidth")}
    for name, path in (("join", "/join#abc"), ("no code", "/join"), ("stranger", "/")):
        page.goto("about:blank")
        page.goto(other + path)
        expect(page.locator("h1")).to_be_visible()
        complaints[name] = found(page)
        wide[name] = page.evaluate("document.documentElement.scrollWidth")
    assert {name: said for name, said in complaints.items() if said} == {}
    assert max(wide.values()) <= width


def test_a_phone_is_let_in_by_the_keyboard_alone_and_in_german(served: Served, open_page: Any) -> None:
    page = open_page(f"{served.own().base_url}/phones", locale="de-DE")
    expect(page.get_by_role("heading", name="Ein Gerät einlassen")).to_be_visible()
    expect(page.locator("#none")).to_be_visible()
    page.get_by_role("button", name="Darf sehen und bedienen").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#qr svg")).to_be_visible()
    page.locator("#links").focus()
    page.keyboard.press("ArrowDown")
    expect(page.locator("#address")).to_contain_text("bench.local")


def test_a_code_that_ran_out_leaves_the_screen(served: Served, open_page: Any) -> None:
    page = open_page(f"{served.own().base_url}/phones")
    page.clock.install()
    page.reload()
    page.get_by_role("button", name="It may only look").click()
    expect(page.locator("#left")).to_contain_text("10 min")
    page.clock.run_for(601_000)
    expect(page.locator("#told")).to_contain_text("used up or too old")
    expect(page.locator("#qr svg")).to_have_count(0)
