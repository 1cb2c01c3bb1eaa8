"""A phone joins the running service by its camera, acts, outlives a restart, and is taken out."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

from watcher.service.reachable import lan_addresses

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
expect = playwright.expect

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.skipif(not lan_addresses(), reason="this machine has no address on a network"),
]
SESSION = Path(__file__).parents[2] / "sample_frames" / "morning_bench"
CUP = "espresso cup"
SETTINGS = """
[bench]
name = "north bench"
[camera]
address = "{home}/drop"
folders = ["{home}"]
[page]
port = {port}
open = true
"""


@pytest.fixture(scope="module")
def chromium(chromium_path: str) -> Iterator[Any]:
    with playwright.sync_playwright() as playing:
        browser = playing.chromium.launch(executable_path=chromium_path, args=["--no-sandbox"])
        yield browser
        browser.close()


class Service:
    """`tipbell watch` as its own process, on a port that stays the same when it is started again."""

    def __init__(self, home: Path) -> None:
        self.home = home
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        described = (SESSION / "recording.toml").read_text(encoding="utf-8")
        (home / "bench.toml").write_text(re.sub(r"\[clock\]\s*start = .*\n", "", described), encoding="utf-8")
        (home / "drop").mkdir()
        settings = SETTINGS.format(home=home.as_posix(), port=self.port)
        (home / "tipbell.toml").write_text(settings, encoding="utf-8")
        self.printed = ""
        self.start()

    @property
    def own(self) -> str:
        return f"http://127.0.0.1:{self.port}/"

    def start(self) -> None:
        command = [sys.executable, "-m", "watcher", "watch", "--settings", str(self.home / "tipbell.toml")]
        self.process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=self.home
        )
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        self.printed += line
        assert self.own in line, line

    def stop(self) -> None:
        self.process.send_signal(signal.SIGTERM)
        self.printed += self.process.communicate(timeout=20)[0]


@pytest.fixture
def service(tmp_path: Path) -> Iterator[Service]:
    running = Service(tmp_path)
    yield running
    running.process.kill()
    running.process.wait()
    running.process.stdout.close()


def read_code(page: Any) -> str:
    """Point a camera at the screen."""
    expect(page.locator("#qr svg")).to_be_visible()
    shot = page.locator("#qr").screenshot()
    picture = cv2.imdecode(np.frombuffer(shot, np.uint8), cv2.IMREAD_COLOR)
    return str(cv2.QRCodeDetector().detectAndDecode(picture)[0])


def device(chromium: Any, width: int = 390) -> Any:
    page = chromium.new_context(viewport={"width": width, "height": 844}, locale="en-GB").new_page()
    page.set_default_timeout(15000)
    return page


def test_a_phone_joins_by_its_camera_acts_is_still_joined_after_a_restart_and_is_taken_out(
    service: Service, chromium: Any, tmp_path: Path
) -> None:
    bench, phone = device(chromium, 1280), device(chromium)
    asked: list[str] = []
    for page in (bench, phone):
        page.on("request", lambda request: asked.append(request.url))
    phone_url = f"http://{lan_addresses()[0]}:{service.port}/"
    phone.goto(phone_url)
    expect(phone.locator("h1")).to_have_text("This device has not joined the bench")

    bench.goto(service.own)
    bench.locator("#open-settings").click()
    bench.get_by_role("link", name="Let a phone in").click()
    expect(bench.locator("#none")).to_be_visible()
    bench.get_by_role("button", name="It may look and act").click()
    read = read_code(bench)
    assert read.startswith(f"{phone_url}join#")
    token = read.split("#")[1]
    assert bench.locator("#address").text_content() == f"{phone_url}join"

    phone.goto(read)
    expect(phone.get_by_label("What is this device called?")).to_be_visible()
    assert "#" not in phone.evaluate("location.href")  # not left lying in the history
    phone.get_by_label("What is this device called?").fill("Mia's phone")
    phone.get_by_role("button", name="Join this bench").click()
    expect(phone.locator("#pulse-word")).to_have_text("live")
    expect(bench.locator("#told")).to_have_text("Mia's phone has joined.")
    expect(bench.locator("#qr svg")).to_have_count(0)
    assert phone.evaluate("document.cookie").count("tipbell_") == 0  # no script can read the key

    card = phone.locator(f".card[data-mould='{CUP}']")
    card.get_by_role("button", name=f"Just poured: {CUP}").click()
    expect(phone.locator("#toast")).to_contain_text(f"{CUP}: just poured")

    service.stop()
    expect(phone.locator("#dead-big")).to_be_visible(timeout=15000)
    service.start()
    expect(phone.locator("#dead")).to_be_hidden(timeout=20000)
    expect(phone.locator("#pulse-word")).to_have_text("live")

    bench.reload()
    bench.get_by_role("button", name="Take out: Mia's phone").click()
    expect(bench.locator("#none")).to_be_visible()
    expect(phone.locator("h1")).to_have_text("This device has not joined the bench", timeout=15000)
    assert phone.goto(f"{phone_url}bench.json").status == 401

    key = next(
        one["value"]
        for one in phone.context.cookies(phone_url)
        if re.fullmatch(r"tipbell_[0-9a-f]{8}", one["name"])
    )
    assert [url for url in asked if token in url] in ([], [read])  # the fragment stays in the browser
    service.stop()
    for file in [path for path in tmp_path.rglob("*") if path.is_file()]:
        kept = file.read_bytes()
        assert token.encode() not in kept and key.encode() not in kept, file.name
    assert token not in service.printed and key not in service.printed
    log = next(tmp_path.rglob("tipbell.log")).read_text(encoding="utf-8")
    assert "event=joined" in log and "event=taken_out" in log
    assert not list(tmp_path.rglob("keeper-link.txt"))
    bench.context.close()
    phone.context.close()


def test_a_phone_that_may_only_look_is_not_offered_what_it_may_not_do(
    service: Service, chromium: Any
) -> None:
    bench, phone = device(chromium, 1280), device(chromium)
    bench.goto(f"{service.own}phones")
    bench.get_by_role("button", name="It may only look").click()
    phone.goto(read_code(bench))
    phone.get_by_role("button", name="Join this bench").click()
    expect(phone.locator(f".card[data-mould='{CUP}']")).to_be_visible()
    expect(bench.locator("#phones strong")).to_have_text("phone 1")
    assert phone.locator("[data-say]:visible").count() == 0
    phone.locator("#open-settings").click()
    expect(phone.get_by_role("link", name="Let a phone in")).to_have_count(0)
    said = phone.evaluate(
        """async () => (await fetch("said.json", { method: "POST", body: '{"what": "acknowledged"}',
        headers: { "content-type": "application/json" } })).status"""
    )
    assert said == 403
    # a code that was used up is refused in words
    bench.get_by_role("button", name="It may only look").click()
    used = read_code(bench)
    other = device(chromium)
    for page in (phone, other):
        page.goto("about:blank")
        page.goto(used)
        page.get_by_role("button", name="Join this bench").click()
        if page is phone:
            expect(page.locator("#pulse-word")).to_have_text("live")
    expect(other.locator("#told")).to_contain_text("used up or too old")
    for page in (bench, phone, other):
        page.context.close()


def test_a_link_out_of_another_page_still_finds_a_joined_phone(service: Service, chromium: Any) -> None:
    bench, phone = device(chromium, 1280), device(chromium)
    bench.goto(f"{service.own}phones")
    bench.get_by_role("button", name="It may look and act").click()
    phone.goto(read_code(bench))
    phone.get_by_role("button", name="Join this bench").click()
    expect(phone.locator("#pulse-word")).to_have_text("live")
    url = f"http://{lan_addresses()[0]}:{service.port}/"
    # a page of another site: the strict cookie does not come along with the tap
    phone.route("http://elsewhere.test/", lambda route: route.fulfill(
        body=f'<a href="{url}">bench</a>', content_type="text/html"))  # fmt: skip
    phone.goto("http://elsewhere.test/")
    began = time.monotonic()
    phone.get_by_role("link", name="bench").click()
    expect(phone.locator("#pulse-word")).to_have_text("live")
    assert time.monotonic() - began < 15.0
    bench.context.close()
    phone.context.close()
