"""`tipbell survey`: from a folder of photographs to the strip's tags beside the sheet's."""

from __future__ import annotations

import tomllib

import cv2
import numpy as np
import pytest
from bench_camera import LENS, TRUE, camera_at
from photographed import FlatPage, photograph, turned
from printed_pages import rendered

from watcher.commands.cards import cards
from watcher.commands.refused import Refused
from watcher.commands.survey import survey_tags
from watcher.setup.bench_file import read_bench
from watcher.setup.bench_sheet import bench_page
from watcher.setup.drawing import Page, Paper
from watcher.setup.lens_file import lens_text
from watcher.setup.pdf import pdf_bytes
from watcher.setup.tag_print import tag_patch

WALL = {4: ((-100.0, 300.0, 160.0), (90.0, 0.0, 0.0)), 5: ((90.0, 300.0, 160.0), (90.0, 0.0, 0.0))}
EYES = [(0.0, -420.0, 560.0), (-260.0, -330.0, 520.0), (260.0, -300.0, 600.0)]


def shot(eye, *, wall=WALL, with_sheet=True, seed=0):
    camera = camera_at(eye, (0.0, 110.0, 50.0))

    def page(raster, wide_mm, centre, turns):
        middle = camera.rotation @ np.array(centre) + camera.shift_mm
        return FlatPage(raster, raster.shape[1] / wide_mm, middle, camera.rotation @ turned(*turns))

    pages = []
    if with_sheet:
        pages.append(
            page(rendered(pdf_bytes([bench_page(Paper.A4)], "t"), 0, 3.0), 297.0, (0, 0, 0), (0, 0, 0))
        )
    for tag, pose in wall.items():
        card = Page(90.0, 90.0, (tag_patch(tag, 60.0, (45.0, 45.0)),))
        pages.append(page(rendered(pdf_bytes([card], "t"), 0, 3.0), 90.0, *pose))
    return photograph(TRUE, pages, seed=seed)


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    folder = tmp_path_factory.mktemp("bench")
    cards(folder, paper="a4", ruler_mm=250.0)
    (folder / "lens.toml").write_text(lens_text(LENS), encoding="utf-8")
    (folder / "shots").mkdir()
    for number, eye in enumerate(EYES):
        cv2.imwrite(str(folder / "shots" / f"{number}.png"), shot(eye, seed=number))
    return folder


def test_three_photographs_give_the_strips_tags_beside_the_sheets(bench, tmp_path, capsys):
    out = tmp_path / "bench.toml"
    survey_tags(
        bench / "shots", bench / "sheet.toml", bench / "lens.toml", out, drawing=tmp_path / "tags.png"
    )
    found = {tag.tag_id: tag for tag in read_bench(out).tags}
    assert sorted(found) == [0, 1, 2, 3, 4, 5]
    for tag, (place, turns) in WALL.items():
        assert found[tag].centre_mm == pytest.approx(place, abs=1.0)
        assert turned(*found[tag].rotation_deg) == pytest.approx(turned(*turns), abs=0.01)
    assert found[0].rotation_deg is None and len(read_bench(out).flat_sheet) == 4
    said = capsys.readouterr().out
    assert "0.png: tags 0, 1, 2, 3, 4, 5" in said
    assert f"tag 4 at {found[4].centre_mm[0]:.1f}, " in said and " degrees" in said
    assert cv2.imread(str(tmp_path / "tags.png")).shape[:2] == (720, 1280)


def test_a_strip_alone_stands_upright_by_its_first_tag(bench, tmp_path):
    out = tmp_path / "strip.toml"
    survey_tags(bench / "shots", bench / "sheet.toml", bench / "lens.toml", out, upright=4)
    held = tomllib.loads(out.read_text(encoding="utf-8"))["sheet"]
    assert [tag["id"] for tag in held] == [4, 5]
    assert held[0]["centre_mm"] == [0.0, 0.0, 0.0]
    assert held[1]["centre_mm"] == pytest.approx([190.0, 0.0, 0.0], abs=1.5)


def test_a_moved_tag_a_missing_strip_and_a_twin_are_refused(bench, tmp_path):
    def asked(*images):
        folder = tmp_path / f"case{len(list(tmp_path.iterdir()))}"
        folder.mkdir()
        for number, image in enumerate(images):
            cv2.imwrite(str(folder / f"{number}.png"), image)
        with pytest.raises(Refused) as refused:
            survey_tags(folder, bench / "sheet.toml", bench / "lens.toml", tmp_path / "out.toml")
        return str(refused.value)

    good = [cv2.imread(str(path)) for path in sorted((bench / "shots").iterdir())]
    moved = shot(EYES[2], wall={**WALL, 5: ((98.0, 300.0, 160.0), (90.0, 0.0, 0.0))})
    said = asked(*good[:2], moved)
    assert "tag 5 does not fit in picture" in said or "px about the best places" in said
    assert asked(shot(EYES[0], wall={})) == "no picture shows a tag of the strip (numbers 4 to 9)"
    twin = shot(EYES[0], wall={4: WALL[4]})
    twin[:, 640:] = np.roll(shot(EYES[0], wall={4: WALL[4]}), 640, axis=1)[:, 640:]
    assert "cards carry the number" in asked(twin)
    assert "only one picture can be used" in asked(good[0])
    assert "no picture shows the bench sheet" in asked(*(shot(eye, with_sheet=False) for eye in EYES[:2]))
