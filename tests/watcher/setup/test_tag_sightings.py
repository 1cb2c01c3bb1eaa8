"""Cards shown badly: twins, half covered, upside down, too small, not there; each has its sentence."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from photographed import FlatPage, TrueLens, facing, photograph
from printed_pages import rendered

from watcher.setup.drawing import Page
from watcher.setup.pdf import pdf_bytes
from watcher.setup.tag_print import tag_patch
from watcher.setup.tag_sightings import (
    cells_shown,
    every_tag,
    half_covered,
    not_found,
    too_small,
    twins,
    upside_down,
)

LENS = TrueLens(640, 480, 560.0, 320.0, 240.0)


def card_page(tag_id):
    data = pdf_bytes([Page(45.0, 45.0, (tag_patch(tag_id, 30.0, (22.5, 22.5)),))], "test")
    raster = rendered(data, 0, 6.0)
    return raster, raster.shape[1] / 45.0


def shown(*cards):
    """A photograph of cards: (number, (x, y, z)) each, facing the camera a little askew."""
    pages = [
        FlatPage(*card_page(tag), np.array(place, float), facing(20.0, 10.0, 5.0)) for tag, place in cards
    ]
    return photograph(LENS, pages)


def test_two_cards_of_one_number_are_both_found_and_said():
    found = every_tag(shown((12, (-60, 0, 400)), (12, (60, 10, 400)), (13, (0, 70, 400))))
    assert sorted(tag.tag_id for tag in found) == [12, 12, 13]
    assert twins(found) == (
        "2 cards carry the number 12; take one away or print it anew with another number",
    )
    assert twins(found[:1]) == ()


def test_a_card_too_far_away_is_said_with_its_size():
    near, far = every_tag(shown((12, (0, 0, 400)))), every_tag(shown((12, (0, 0, 880))))
    assert too_small(near) == ()
    assert len(far) == 1 and "px wide in the picture; bring the camera nearer" in too_small(far)[0]
    # 30 mm at 880 mm and f 560 are 19 px, less a little for the tilt
    assert 16.0 < far[0].side_px < 19.5


def test_a_half_covered_card_is_told_from_a_whole_one_and_from_none():
    image = shown((12, (0, 0, 300)))
    (card,) = every_tag(image)
    assert cells_shown(image, card.corners_px, 12) == pytest.approx(1.0, abs=0.02)
    assert half_covered(image, card.corners_px, 12, "cream jug") is None
    covered = image.copy()
    x, y = card.corners_px.mean(axis=0)
    cv2.rectangle(covered, (int(x), int(y) - 60), (int(x) + 80, int(y) + 60), (150, 160, 170), -1)
    assert every_tag(covered) == ()
    assert half_covered(covered, card.corners_px, 12, "cream jug") == (
        "the card of 'cream jug' is partly covered; uncover it or wipe it clean"
    )
    gone = np.full_like(image, 120)
    assert half_covered(gone, card.corners_px, 12, "cream jug") is None


def test_another_card_in_its_place_is_not_called_half_covered():
    image = shown((40, (0, 0, 300)))
    (card,) = every_tag(image)
    assert cells_shown(image, card.corners_px, 12) < 0.93


@pytest.mark.parametrize(
    ("rim_mm", "wrong"),
    [
        ((0.0, 45.0, 0.0), False),
        ((37.0, 34.0, -0.35), False),
        ((-50.0, 2.0, 0.0), False),
        ((0.0, -45.0, 0.0), True),
        ((30.0, -40.0, 0.0), True),
    ],
)
def test_a_card_whose_notch_points_away_from_the_hole_is_upside_down(rim_mm, wrong):
    said = upside_down(rim_mm, "cream jug")
    assert (said is not None) == wrong
    if said:
        assert said.startswith("the card of 'cream jug' lies upside down: its notch points away")


def test_a_card_that_is_not_there_is_said_with_what_may_be_the_matter():
    assert "(number 12) is not to be seen" in not_found(12, "cream jug")
    assert every_tag(np.full((480, 640, 3), 120, np.uint8)) == ()
