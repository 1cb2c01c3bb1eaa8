"""A drawing brought to the page: what is too long, hostile or open is refused, and nothing is kept of it."""

from __future__ import annotations

import struct
import threading
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import httpx
import numpy as np
import pytest
import trimesh

from models.profile_files import read_folder
from watcher.clock import ComputerClock
from watcher.page.access.access import Access
from watcher.page.guard import DRAWING_KIND, MOST_DRAWING_BYTES
from watcher.page.setup.app import make_setup_app
from watcher.service.setting_up import first_desks
from watcher.service.web import Web

FILE = {"content-type": DRAWING_KIND}
POT = np.asarray(trimesh.creation.cylinder(radius=30, height=100, sections=96).triangles)
CALLIPER = 'name = "beaker"\nbore = [[0, 60], [90, 60]]\ntarget_wall_mm = [3.0, 3.3]\n'


def stl(triangles: Any, count: int | None = None) -> bytes:
    """A binary STL that says it has `count` faces."""
    out = bytearray(bytes(80) + struct.pack("<I", len(triangles) if count is None else count))
    for one in triangles:
        out += struct.pack("<12fH", 0, 0, 0, *one.ravel(), 0)
    return bytes(out)


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Any]:
    clock = ComputerClock()
    desks = first_desks(tmp_path / "tipbell.toml", clock, lambda: None, port=8417, roots=(tmp_path,))
    web = Web(make_setup_app(desks, Access(clock, "setup")))

    def bring(data: Any, headers: dict[str, str] = FILE, **typed: Any) -> httpx.Response:
        url = web.address + "setup/drawing.json"
        return httpx.post(url, params={"name": "beaker"} | typed, content=data, headers=headers, timeout=30)

    def kept() -> list[Any]:
        return (
            list(read_folder(tmp_path / "setup" / "moulds"))
            if (tmp_path / "setup" / "moulds").exists()
            else []
        )

    yield SimpleNamespace(bring=bring, kept=kept, url=web.address, desks=desks)
    web.close()
    desks.camera.close()


def test_a_drawn_cylinder_becomes_a_profile_with_its_own_width_depth_and_plaster(page):
    told = page.bring(stl(POT)).json()["said"]
    (profile,) = page.kept()
    # 2 pi r h + pi r2 of r = 30, h = 100
    assert profile.mould.wetted_area_mm2 == pytest.approx(6000 * np.pi + 900 * np.pi, rel=4e-3)
    assert profile.mould.bore[0][1] == pytest.approx(60.0, rel=2e-3) and profile.mould.bore[-1][0] == 100.0
    assert profile.way.value == "mesh"
    assert "60.0 mm wide at the top, 100.0 mm deep" in told[0] and "show its card" in told[-1]


def test_a_fired_piece_and_inches_are_taken_at_the_cavitys_size(page):
    assert page.bring(stl(POT / 25.4), unit="inch", shrinkage_percent=12).status_code == 200
    assert page.kept()[0].mould.bore[-1][0] == pytest.approx(100.0 / 0.88, rel=1e-4)


def test_a_known_moulds_wanted_wall_stays_and_another_width_is_asked_back(page):
    assert httpx.post(page.url + "setup/profile.json", json={"text": CALLIPER}).status_code == 200
    question = page.bring(stl(POT), shrinkage_percent=12).json()
    assert (
        "68.2 mm wide at its top and beaker measures 60 mm" in question["question"] and not question["said"]
    )
    assert page.kept()[0].mould.bore[-1][0] == 90.0
    assert "its card stays" in page.bring(stl(POT)).json()["said"][-1]
    (profile,) = page.kept()
    assert profile.mould.bore[-1][0] == 100.0 and profile.mould.target_wall_mm == (3.0, 3.3)
    assert page.bring(stl(POT), shrinkage_percent=12, sure=True).json()["said"]


HOLED = np.delete(POT, 3, axis=0)
NOWHERE = POT.copy()
NOWHERE[3, 1, 2] = np.nan


@pytest.mark.parametrize(
    ("data", "typed", "says"),
    [
        (stl(HOLED), {}, "mesh is open along 3 edges; close it"),
        (stl(POT / 25.4), {}, "in cm or inch it would be a pot"),
        (stl(POT, 2**32 - 1), {}, "mesh "),
        (stl(NOWHERE), {}, "mesh "),
        (b"", {}, "mesh has 0 faces"),
        (b"solid " + b"x" * 1_000_000, {}, "mesh "),
        (b"\x1f\x8b\x08" + bytes(2000), {}, "mesh "),
        (stl(POT), {"wall_mm": 59.0}, "wall"),
    ],
)  # fmt: skip
def test_an_open_a_hostile_and_a_wrongly_sized_mesh_get_their_sentence_and_nothing_is_kept(
    page, data, typed, says
):
    answer = page.bring(data, **typed)
    assert answer.status_code == 422 and says in answer.json()["error"]["say"]
    assert page.kept() == []


@pytest.mark.parametrize(
    "typed",
    [
        {"unit": "foot"},
        {"shrinkage_percent": 88},
        {"shrinkage_percent": "nan"},
        {"name": ""},
        {"path": "/etc"},
    ],
)
def test_what_is_typed_beside_it_is_checked_before_the_drawing_is_read(page, typed):
    assert page.bring(stl(POT), **typed).status_code == 422
    assert page.kept() == []


def test_a_drawing_over_the_limit_is_refused_by_its_length_alone(page):
    answer = page.bring(bytes(MOST_DRAWING_BYTES + 1))
    assert (answer.status_code, answer.json()["error"]["code"]) == (413, "too_long")
    assert "larger than 8 MB" in answer.json()["error"]["say"] and page.kept() == []


def test_a_drawing_at_the_limit_is_read(page):
    faces = (MOST_DRAWING_BYTES - 84) // 50
    answer = page.bring(bytes(80) + struct.pack("<I", faces) + bytes(MOST_DRAWING_BYTES - 84))
    assert answer.status_code == 422 and answer.json()["error"]["say"].startswith("mesh ")


def test_a_drawing_that_names_no_length_or_comes_as_a_form_could_send_it_is_refused(page):
    assert page.bring(iter([stl(POT)])).status_code == 411
    for kind in ("text/plain", "multipart/form-data; boundary=x", "application/json", ""):
        assert page.bring(stl(POT), {"content-type": kind}).status_code == 415
    assert page.bring(stl(POT), FILE | {"origin": "http://elsewhere.example"}).status_code == 403
    other = httpx.post(
        page.url + "setup/profile.json", content=bytes(9000), headers={"content-type": "application/json"}
    )
    assert other.status_code == 413  # the larger limit is this path's alone
    assert page.kept() == []


def test_a_stranger_is_turned_away_before_the_drawing_is_read(page):
    answer = page.bring(stl(POT), FILE | {"via": "1.1 elsewhere"})
    assert answer.status_code == 401 and page.kept() == []


def test_two_drawings_are_not_read_at_once(page, monkeypatch):
    begun, go_on = threading.Event(), threading.Event()

    real = type(page.desks.profiles).bring_drawing

    def waits(self: Any, typed: Any, data: bytes) -> Any:
        begun.set()
        assert go_on.wait(20)
        return real(self, typed, data)

    monkeypatch.setattr(type(page.desks.profiles), "bring_drawing", waits)
    first: list[int] = []
    thread = threading.Thread(target=lambda: first.append(page.bring(stl(POT)).status_code))
    thread.start()
    assert begun.wait(20)
    second = page.bring(stl(POT))
    go_on.set()
    thread.join(20)
    assert (second.status_code, second.json()["error"]["code"], first) == (503, "busy", [200])


@pytest.mark.browser
@pytest.mark.slow
def test_a_file_is_chosen_taken_in_and_asked_back_in_german(page, open_page):
    expect = pytest.importorskip("playwright.sync_api").expect
    httpx.post(page.url + "setup/profile.json", json={"text": CALLIPER})
    shown = open_page(page.url + "setup/profiles", locale="de-DE", width=390)
    shown.locator("#drawing").set_input_files(
        {"name": "pot.stl", "mimeType": "model/stl", "buffer": stl(POT)}
    )
    form = shown.locator("#drawing-form")
    form.get_by_label("Name der Form").fill("beaker")
    form.get_by_label("Lineare Schwindung des Stücks").fill("12")
    form.get_by_role("button", name="Zeichnung aufnehmen").click()
    expect(form.locator(".told")).to_contain_text("68.2 mm wide at its top and beaker measures 60")
    form.get_by_role("button", name="Das stimmt so").click()
    expect(form.locator(".told")).to_contain_text("beaker goes by its drawing")
    assert page.kept()[0].mould.bore[0][1] == pytest.approx(60.0 / 0.88, rel=2e-3)
