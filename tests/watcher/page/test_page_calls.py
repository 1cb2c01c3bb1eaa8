"""Calls beyond the tip on the page, in a browser: top-ups with their time, a blind camera, what is muted."""

from __future__ import annotations

from dataclasses import replace

import pytest
from bench_looks import at
from casting_bench import casting

from watcher.records.notices import AlarmState, Alert, Kind
from watcher.service.running import RunningBench

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
expect = playwright.expect

pytestmark = [pytest.mark.browser, pytest.mark.slow]

TROUBLE = "calls are off until 2026-03-10: this bench only records"


class Port(RunningBench):
    """A bench that stands as it is; its server tells it by a flag when to let go of the pages."""

    stop = False

    def stopping(self):
        return self.stop


def shown():
    """A beaker to be topped up before 8:20, a camera that is gone, a mould muted by it; a trouble."""
    present = casting(ready_s=3000.0)
    cast = present.moulds["beaker"].cast.cast_id
    alerts = (
        Alert(f"{cast}/top_up/1", Kind.TOP_UP, "beaker", cast, 900.0, at(900), due_s=1200.0),
        Alert(
            "bench/camera_blind/1", Kind.CAMERA_BLIND, "", "", 900.0, at(900), why="the camera is unplugged"
        ),
        Alert("x/blind", Kind.BLIND, "cream jug", "x", 900.0, at(900), AlarmState.SUPPRESSED),
    )
    present = replace(present, now_s=950.0, now_at=at(950), alerts=alerts, troubles=(TROUBLE,))
    return Port(present, now=lambda: (950.0, at(950)))


def test_a_top_up_is_called_with_its_time_and_what_is_muted_does_not_call(serve, open_page):
    page = open_page(serve(shown()).url)
    top_up = page.locator(".call", has_text="beaker: top up")
    expect(top_up.locator(".call-why")).to_have_text("before 08:20")
    expect(top_up.get_by_role("button", name="Topped up: beaker")).to_be_visible()
    camera = page.locator(".call", has_text="camera cannot see")
    expect(camera.locator(".call-why")).to_have_text("the camera is unplugged")
    expect(page.locator(".call")).to_have_count(2)
    expect(page.locator("#log li", has_text="cream jug")).to_contain_text("muted")
    expect(page.locator("#troubles")).to_have_text(TROUBLE)


def test_the_same_in_german(serve, open_page):
    page = open_page(serve(shown()).url, locale="de-DE")
    expect(page.locator(".call", has_text="nachgießen").locator(".call-why")).to_have_text("vor 08:20")
    expect(page.locator("#troubles")).to_have_text(
        "bis 2026-03-10 wird nicht gerufen: es wird nur aufgezeichnet"
    )
