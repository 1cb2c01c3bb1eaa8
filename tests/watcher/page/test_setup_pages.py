"""The set-up pages: usable by everybody, never wider than the screen, and closed to whoever may not."""

from __future__ import annotations

import os
import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import cv2
import httpx
import pytest
from setup_bench import CARD, FIELD_DEG, NAME, RIM_MM, setup_bench

import watcher.page.setup.words as words_module
from watcher.clock import ComputerClock
from watcher.page.access.access import Access
from watcher.page.setup.app import make_setup_app
from watcher.page.setup.port import Unfit
from watcher.page.setup.words import SETUP_WORDS
from watcher.service.setting_up import first_desks
from watcher.service.web import Web
from watcher.simulator.scene import Scene

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
expect = playwright.expect

PAGE = Path(words_module.__file__).parent.parent
PATHS = (
    "setup", "setup/camera", "setup/print", "setup/lens", "setup/sheet", "setup/strip", "setup/mould",
    "setup/sight", "setup/start", "setup/calls", "setup/walls", "setup/cut", "setup/profiles",
)  # fmt: skip
RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "resultTypes": ["violations"],
}


class SetUp:
    """The set-up pages of a folder, on a real port."""

    def __init__(self, folder: Path) -> None:
        clock = ComputerClock()
        self.folder = folder
        self.dropped = 0
        self.begun: list[bool] = []
        self.desks = first_desks(
            folder / "tipbell.toml", clock, lambda: self.begun.append(True), port=8417, roots=(folder,)
        )
        self.web = Web(make_setup_app(self.desks, Access(clock, "setup")))
        self.url = self.web.address

    def drop(self) -> None:
        drop = self.folder / "drop"
        drop.mkdir(exist_ok=True)
        self.dropped += 1  # no two pictures of a living camera are the very same
        picture = Scene(setup_bench()).picture(float(self.dropped))
        jpeg = cv2.imencode(".jpg", picture)[1].tobytes()
        (drop / "part.tmp").write_bytes(jpeg)
        os.replace(drop / "part.tmp", drop / "000.jpg")

    def is_stale(self) -> bool:
        try:
            self.desks.camera.frame()
        except Unfit:
            return True
        return False

    def post(self, path: str, **body: Any) -> httpx.Response:
        return httpx.post(self.url + path, json=body, timeout=30)

    def close(self) -> None:
        self.web.close()
        self.desks.camera.close()


@pytest.fixture
def setting_up(tmp_path: Path) -> Iterator[SetUp]:
    made = SetUp(tmp_path)
    yield made
    made.close()


@pytest.fixture
def nearly_done(nearly_done_once: SetUp) -> SetUp:
    """Everything done but the start, and a camera whose picture is of now."""
    nearly_done_once.drop()
    patience = time.monotonic() + 5.0
    while nearly_done_once.is_stale() and time.monotonic() < patience:
        time.sleep(0.05)
    return nearly_done_once


@pytest.fixture(scope="module")
def nearly_done_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[SetUp]:
    made = SetUp(tmp_path_factory.mktemp("bench"))
    made.drop()
    for path, body in (
        ("setup/camera.json", {"address": str(made.folder / "drop")}),
        ("setup/cards.json", {"names": [NAME, "a mould with a very long name that goes on and on and on"]}),
        ("setup/print.json", {"ruler_mm": 250.0, "ruler_up_mm": 160.0}),
        ("setup/lens/guess.json", {"view_deg": FIELD_DEG}),
        ("setup/sheet.json", {}),
        ("setup/mould/shot.json", {}),
        ("setup/mould.json", {"name": NAME, "card": CARD, "bore": [[0, RIM_MM]], "keep": True}),
    ):
        answer = made.post(path, **body)
        assert answer.status_code == 200, (path, answer.text)
    yield made
    made.close()


def test_every_page_has_its_twin_as_data_and_the_list_of_paths_is_complete(nearly_done):
    listed = httpx.get(nearly_done.url + "openapi.json").json()["paths"]
    for path in PATHS:
        assert httpx.get(nearly_done.url + path, timeout=20).status_code == 200
        if path not in ("setup/start", "setup/profiles"):  # these show the steps and the moulds again
            assert f"/{path}.json" in listed
    steps = httpx.get(nearly_done.url + "setup.json").json()["steps"]
    assert {one["step"]: one["state"] for one in steps}["start"] == "missing"


def test_the_first_page_of_an_empty_folder_leads_to_the_set_up(setting_up):
    answer = httpx.get(setting_up.url, follow_redirects=True)
    assert answer.url.path == "/setup" and "Set the bench up" in answer.text
    assert httpx.get(setting_up.url + "health.json").status_code == 503


@pytest.mark.parametrize(
    "path", ["setup/camera.json", "setup/start.json", "setup/mould.json", "setup/cut.json"]
)
def test_another_sites_page_cannot_set_anything_up(setting_up, path):
    body = {"address": "0", "name": "x"}
    foreign = httpx.post(setting_up.url + path, json=body, headers={"origin": "http://elsewhere.example"})
    assert foreign.status_code == 403
    form = httpx.post(setting_up.url + path, data=body)
    assert form.status_code == 415
    long = httpx.post(setting_up.url + path, json={"address": "x" * 9000})
    assert long.status_code == 413
    assert httpx.get(setting_up.url + "setup", headers={"host": "elsewhere.example"}).status_code == 403


@pytest.mark.parametrize(
    ("path", "body", "says"),
    [
        ("setup/camera.json", {"address": "/etc"}, "not below a folder"),
        ("setup/camera.json", {"address": "file:///etc/passwd"}, "no kind of camera"),
        ("setup/print.json", {"ruler_mm": 25.0, "ruler_up_mm": 16.0}, "centimetres"),
        ("setup/lens/guess.json", {"view_deg": 500.0}, "25 to 130"),
        ("setup/lens/look.json", {}, "no camera has been chosen"),
        ("setup/sheet.json", {}, "no camera has been chosen"),
        ("setup/strip/look.json", {}, "lens is not known"),
        ("setup/strip.json", {}, "lens is not known"),
        ("setup/mould.json", {"name": "x", "bore": [[0, 50]]}, "take a picture"),
        ("setup/start.json", {}, "lens is not known"),
        ("setup/cut.json", {"mould": "x", "wall_mm": 3.0}, "no bench is watched yet"),
        ("setup/ruler.json", {"mould": "x", "level_mm": 3.0}, "no bench is watched yet"),
        ("setup/want.json", {"mould": "x"}, "no mould 'x'"),
        ("setup/profile.json", {"text": "name = 3\nbore = []"}, "name is 3"),
        ("setup/walls/out.json", {"use": "nothing"}, "not in the list"),
        ("setup/mould/out.json", {"mould": "nothing"}, "no mould 'nothing'"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence_that_says_what_is_wanted(setting_up, path, body, says):
    answer = setting_up.post(path, **body)
    assert answer.status_code == 422
    assert says in answer.json()["error"]["say"]
    assert not (setting_up.folder / "tipbell.toml").exists() and setting_up.begun == []


def test_a_key_that_nobody_knows_is_refused(setting_up):
    answer = setting_up.post("setup/print.json", ruler_mm=250.0, ruler_up_mm=160.0, inch=1)
    assert answer.status_code == 422 and answer.json()["error"]["field"] == "inch"


def test_every_word_is_there_in_both_languages_and_none_is_left_over():
    sources = [*PAGE.glob("templates/setup*.html"), *PAGE.glob("static/setup*.js")]
    text = "\n".join(path.read_text(encoding="utf-8") for path in sources)
    asked = set(re.findall(r'\bs\("(\w+)"\)', text)) | set(re.findall(r'\bt\("(\w+)"', text))
    asked |= set(re.findall(r'(?:number|words|choice)\(s, "\w+", "(\w+)"', text))
    assert len(asked) > 100 and asked <= set(SETUP_WORDS), asked - set(SETUP_WORDS)
    built = re.compile(r"^(step|state|well|lens|no)_")
    assert [key for key in SETUP_WORDS if f'"{key}"' not in text and not built.match(key)] == []
    assert all(len(texts) == 2 and all(texts) for texts in SETUP_WORDS.values())


def wide(page: Any) -> int:
    return int(page.evaluate("document.documentElement.scrollWidth"))


def broken(page: Any) -> list[str]:
    axe = pytest.importorskip(
        "axe_playwright_python.sync_playwright", reason="axe-playwright-python is missing"
    )
    results = axe.Axe().run(page, options=RULES)
    return [
        f"{one['id']}: {node['html'][:150]}"
        for one in results.response["violations"]
        for node in one["nodes"]
    ]


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.parametrize(("width", "light"), [(360, "light"), (390, "dark"), (768, "light"), (1440, "dark")])
def test_no_page_of_the_set_up_breaks_a_rule_or_is_wider_than_its_screen(
    nearly_done, open_page, width, light
):
    page = open_page(nearly_done.url + "setup", width=width, color_scheme=light)
    complaints, widths = {}, {}
    for path in PATHS:
        page.goto(nearly_done.url + path)
        page.wait_for_timeout(300)
        for summary in page.locator("summary").all():
            summary.click()
        complaints[path], widths[path] = broken(page), wide(page)
    assert {path: said for path, said in complaints.items() if said} == {}
    assert {path: one for path, one in widths.items() if one > width} == {}


@pytest.mark.browser
@pytest.mark.slow
def test_a_mould_is_taken_in_by_the_keyboard_alone_and_in_german(nearly_done, open_page):
    page = open_page(nearly_done.url + "setup/mould", locale="de-DE", width=1280, height=900)
    page.get_by_role("button", name="Jetzt ein Bild nehmen").focus()
    page.keyboard.press("Enter")
    tap = page.locator("#tap")
    expect(page.locator("#card option")).to_have_count(2)
    expect(page.locator("#tap[inert]")).to_have_count(0)  # the new picture is there
    tap.focus()
    width = tap.evaluate("node => Number(node.dataset.width)")
    assert width == 1280
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Shift+ArrowDown")
    count = page.locator("#tap-count")
    page.keyboard.press("Enter")
    assert count.inner_text() == "1 Punkte"
    cross = page.locator("#drawn circle")
    assert (cross.get_attribute("cx"), cross.get_attribute("cy")) == ("636", "400")  # 640 - 4, 360 + 40
    page.keyboard.press("Backspace")
    assert count.inner_text() == "0 Punkte"
    page.locator("[data-bore=wide]").first.focus()
    page.keyboard.press("ControlOrMeta+A")  # a known mould's width stands there already
    page.keyboard.type(str(RIM_MM))
    page.get_by_role("button", name="Probieren").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#mould-form .told")).to_contain_text("rim found")


@pytest.mark.browser
@pytest.mark.slow
def test_taps_in_the_picture_find_the_rim_and_swapped_diameters_are_asked_back(nearly_done, open_page):
    page = open_page(nearly_done.url + "setup/mould", width=1280, height=900, expect=("422",))
    page.get_by_role("button", name="Take a picture now").click()
    expect(page.locator("#card option")).to_have_count(2)
    expect(page.locator("#tap[inert]")).to_have_count(0)  # the new picture is there
    box = page.locator("#shot").bounding_box()
    for x, y in rim_of_the_bottle():
        page.mouse.click(box["x"] + x * box["width"] / 1280, box["y"] + y * box["height"] / 720)
    assert page.locator("#tap-count").inner_text() == "4 points"
    wide_fields = page.locator("[data-bore=wide]")
    wide_fields.first.fill(str(RIM_MM))
    page.locator("[data-bore=depth]").nth(1).fill("20")
    wide_fields.nth(1).fill("140")
    page.get_by_role("button", name="Try").click()
    told = page.locator("#mould-form .told")
    expect(page.locator("#mould-form .told")).to_contain_text("swapped")
    told.get_by_role("button", name="It is right so").click()
    expect(page.locator("#mould-form .told")).to_contain_text("rim found")
    wide_fields.nth(1).fill("33")
    page.get_by_role("button", name="Keep this mould").click()
    expect(page.locator("#mould-form .told")).to_contain_text(f"{NAME} is")


def rim_of_the_bottle() -> list[tuple[float, float]]:
    """Where the simulator sees four places of the bottle's true rim, by its own geometry."""
    import numpy as np

    from watcher.simulator.bench import on_bench

    bench = setup_bench()
    (bottle,) = bench.moulds
    turns = np.radians([20.0, 110.0, 200.0, 290.0])
    ring = 0.5 * RIM_MM * np.column_stack((np.cos(turns), np.sin(turns), np.zeros(4)))
    return [(float(x), float(y)) for x, y in bench.view.project(on_bench(bottle, bottle.seat, ring))]
