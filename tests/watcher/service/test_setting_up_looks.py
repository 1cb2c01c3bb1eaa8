"""What the set-up's desks see: cards half covered, the lens board view by view, a surveyed strip."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from board_photographs import BOARD_LENS, BOARD_POSES, board_shot, printed_board
from setup_bench import CARD, NAME, RIM_MM, setup_bench
from setup_home import Home

from watcher.page.setup.port import Unfit
from watcher.page.setup.typed import MouldTyped
from watcher.setup.folder import SetupFolder
from watcher.simulator.scene import Scene

BOTTLE = MouldTyped(name=NAME, card=CARD, bore=[(0.0, RIM_MM)], keep=True)


@pytest.fixture
def home(tmp_path: Path):
    made = Home(tmp_path)
    yield made
    made.desks.camera.close()


def test_a_card_that_is_half_covered_later_is_said_so(home):
    picture = Scene(setup_bench()).picture(0.0)
    home.until_lens(picture)
    shot = home.desks.moulds.take_shot()
    home.desks.moulds.take_in(BOTTLE)
    corners = np.array(next(card.corners for card in shot.cards if card.number == CARD))
    (left, top), (right, bottom) = corners.min(axis=0).astype(int), corners.max(axis=0).astype(int) + 1
    covered = picture.copy()
    covered[top - 3 : bottom + 3, left - 3 : (left + right) // 2 - 2] = (70, 90, 120)  # a strap over its left
    home.drop(covered)
    (hole,) = home.desks.bench.holes()
    assert hole.how_well == "unknown"
    assert hole.says == ("the card of 'vinegar bottle' is partly covered; uncover it or wipe it clean",)


@pytest.mark.slow
def test_a_board_shown_to_the_camera_gives_the_lens_view_by_view_and_another_day(home):
    printed = printed_board()
    first = board_shot(printed, *BOARD_POSES[0])
    home.drop(first)
    home.desks.camera.choose(str(home.folder / "drop"), 1280, 720)
    home.desks.cards.name((NAME,))
    views = 0
    for turned, place in BOARD_POSES:
        for seed in (1, 2):  # held still: the same view twice, each with its own noise
            home.drop(board_shot(printed, turned, place, seed=seed))
            shown = home.desks.lens.look()
        assert shown.views == views + 1, shown.said
        views = shown.views
        if views == 5:  # broken off, and taken up again on another day
            assert shown.missing
            home.desks.camera.close()
            home.desks = home.open()
    assert shown.missing == ()
    assert home.desks.lens.coverage().jpeg.startswith(b"\xff\xd8")
    told = home.desks.lens.measure()
    assert "lens measured from 10 views" in told.said[0]
    lens = home.desks.lens.lens()
    assert lens.fx_px == pytest.approx(BOARD_LENS.f, rel=0.004)
    assert home.desks.lens.shown().kind == "measured"
    home.drop(cv2.GaussianBlur(first, (0, 0), 3.0))
    said = home.desks.lens.look().said
    assert "blurred" in said or "sharp" in said
    home.desks.lens.forget()
    with pytest.raises(Unfit, match="no view of the board"):
        home.desks.lens.measure()


def test_a_surveyed_strip_counts_beside_the_printed_cards(home):
    home.desks.cards.name((NAME,))
    strip = (
        "[[sheet]]\nid = 5\nsize_mm = 60.0\ncentre_mm = [0.0, 300.0, 90.0]\nrotation_deg = [90.0, 0.0, 0.0]\n"
    )
    (home.folder / "setup" / "bench-sheet.toml").write_text(strip, encoding="utf-8")
    sheet = SetupFolder(home.folder).read_sheet()
    assert [tag.tag_id for tag in sheet.tags] == [5]
    assert sheet.card_sizes_mm[CARD] == 30.0


def test_a_card_that_was_put_back_elsewhere_is_said_and_renewed_on_the_rim(home):
    bench = setup_bench()
    home.until_lens(Scene(bench).picture(0.0))
    home.desks.moulds.take_shot()
    home.desks.moulds.take_in(BOTTLE)
    assert not any("taken in" in line for line in home.desks.bench.holes()[0].says)
    (bottle,) = bench.moulds
    x, y = bottle.card_xy_mm
    moved = replace(bench, moulds=(replace(bottle, card_xy_mm=(x + 6.0, y - 4.0)),))
    home.drop(Scene(moved).picture(0.0))
    says = home.desks.bench.holes()[0].says
    assert any("lies 7 mm off" in line for line in says)  # 7.2 mm: the root of 36 + 16
    home.desks.moulds.take_shot()
    assert home.desks.moulds.take_in(BOTTLE).said[-1] == f"{NAME} is renewed"
    assert not any("taken in" in line for line in home.desks.bench.holes()[0].says)
