"""A mould tied to its card where the card does not lie beside the hole: on a side, or on a sloping bench."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from bench_camera import CAMERA, LENS, rim_px
from photographed import turned

from watcher.setup.bench_sight import BenchSight
from watcher.setup.mould_place import MouldAsked, MouldPlaced, place_mould
from watcher.setup.rim_fit import NoRim
from watcher.setup.tag_sightings import FoundTag
from watcher.vision.tags import SeenTag

SQUARE = 30.0 * np.array([[-0.5, 0.5, 0.0], [0.5, 0.5, 0.0], [0.5, -0.5, 0.0], [-0.5, -0.5, 0.0]])
PLAIN = np.full((720, 1280, 3), 150, np.uint8)
RIM = (-40.0, 120.0, 105.0)


def sight_of(card_mm, turns) -> BenchSight:
    """A sight of one card, exactly projected."""
    points = (SQUARE @ turned(*turns).T + card_mm) @ CAMERA.rotation.T + CAMERA.shift_mm
    plane = points[:, :2] / points[:, 2:]
    px = plane * 1060.0 + (639.5, 359.5)
    return BenchSight(CAMERA, (FoundTag(12, px),), {12: SeenTag(px, plane, 0.05)}, None, ())


def asked(**changed) -> MouldAsked:
    taps = tuple(map(tuple, rim_px(RIM, 28.0, range(0, 360, 60))))
    return MouldAsked("cream jug", taps, ((0.0, 56.0), (20.0, 50.0)), 12, 30.0, **changed)


def test_a_card_on_the_moulds_side_with_the_rims_height_by_ruler():
    # upright, facing the camera, 60 mm before the rim's centre and 45 mm below the rim
    placed = place_mould(
        PLAIN, sight_of((-40.0, 60.0, 60.0), (90.0, 0.0, 0.0)), asked(rim_height_mm=105.0), LENS
    )
    assert isinstance(placed, MouldPlaced)
    assert not placed.edge_found
    # in the tag's axes: nothing aside, 45 mm up the tag, 60 mm behind its face
    assert placed.card.rim_centre_from_tag_mm == pytest.approx((0.0, 45.0, -60.0), abs=0.2)
    assert placed.warnings == ()


def test_a_card_on_the_side_without_a_height_leaves_it_to_the_diameter():
    side = sight_of((-40.0, 60.0, 60.0), (90.0, 0.0, 0.0))
    placed = place_mould(PLAIN, side, asked(), LENS)
    assert placed.card.rim_centre_from_tag_mm == pytest.approx((0.0, 45.0, -60.0), abs=0.2)
    assert placed.rim.centre_sigma_mm > 5.0  # taps of a pixel and a half tell no more, and it says so
    three = asked()
    unsure = place_mould(PLAIN, side, replace(three, taps_px=three.taps_px[:3]), LENS)
    assert isinstance(unsure, NoRim)
    assert "measure the rim's height above the bench" in unsure.why or "add points" in unsure.why


def test_a_level_card_gives_the_rims_height_less_its_own_thickness():
    placed = place_mould(PLAIN, sight_of((-40.0, 70.0, 105.3), (0.0, 0.0, 0.0)), asked(), LENS)
    assert placed.card.rim_centre_from_tag_mm == pytest.approx((0.0, 50.0, -0.3), abs=0.2)
    assert placed.rim.centre_mm == pytest.approx(RIM, abs=0.2)


def test_the_expected_reading_is_of_the_hole_as_it_stands():
    placed = place_mould(PLAIN, sight_of((-40.0, 70.0, 105.3), (0.0, 0.0, 0.0)), asked(deepest_mm=40.0), LENS)
    away = CAMERA.eye_mm() - RIM
    wanted = np.degrees(np.arccos(away[2] / np.linalg.norm(away)))
    assert placed.reading.from_vertical_deg == pytest.approx(wanted, abs=0.2)
