"""What a wrong lens costs: nothing when it is right, and as much as geometry says when it is not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from models.doors import BadValue
from watcher.setup.lens_guess import cost_of_lens, guess_cost, guess_warning, guessed_lens

LENS = guessed_lens(1280, 720, 62.0)


def test_the_right_lens_costs_nothing():
    cost = cost_of_lens(LENS, LENS)
    assert cost.level_mm < 1e-4 and cost.drop_mm < 1e-4


def test_a_lens_twice_as_wrong_costs_twice_as_much():
    one, two = (
        cost_of_lens(replace(LENS, fx_px=LENS.fx_px * f, fy_px=LENS.fy_px * f), LENS) for f in (1.01, 1.02)
    )
    assert two.level_mm == pytest.approx(2.0 * one.level_mm, rel=0.1)
    assert two.drop_mm == pytest.approx(2.0 * one.drop_mm, rel=0.1)
    assert 0.02 < one.level_mm < 0.5


def test_a_small_step_of_the_middle_is_nearly_taken_up_by_the_pose():
    # a shifted middle acts like a turned camera: five pixels must cost far less than the 3 mm they are
    cost = cost_of_lens(replace(LENS, cx_px=LENS.cx_px + 5.0), LENS)
    assert cost.level_mm < 0.3


def test_the_boxs_view_is_worth_more_than_none_and_the_sentence_says_how_much():
    box, none = guess_cost(LENS, from_box=True), guess_cost(LENS, from_box=False)
    assert box.level_mm < none.level_mm and box.drop_mm < none.drop_mm
    assert f"wrong by about {box.level_mm:.1f} mm" in guess_warning(box)


@pytest.mark.parametrize("view_deg", [0.0, 10.0, 180.0, float("nan")])
def test_a_view_that_no_webcam_has_is_refused(view_deg):
    with pytest.raises(BadValue, match="give degrees as on the camera's box, 25 to 130"):
        guessed_lens(1280, 720, view_deg)
