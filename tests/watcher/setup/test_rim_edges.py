"""The rim's edge found in the picture: on a drawn hole of known place, and on rendered benches with truth."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
from bench_camera import CAMERA, LENS, TRUE, rim_px
from photographed import FlatPage, photograph

from watcher.camera.recording import read_recording
from watcher.setup.rim_edges import refine_rim
from watcher.setup.rim_fit import NoRim, RimFit, fit_rim, from_tag
from watcher.vision.lens import to_pixels, usable_lens
from watcher.vision.pose import camera_from_sheet, card_from_corners
from watcher.vision.tags import find_tags, measure_tag


def drawn_hole(centre, radius_mm, *, inside=90, plaster=225):
    """A level top of plaster with a darker hole in it."""
    rows, columns = np.mgrid[0:800, 0:800] - 399.5
    outside = np.clip(np.hypot(rows, columns) - 4.0 * radius_mm + 0.5, 0.0, 1.0)
    raster = np.round(inside + (plaster - inside) * outside).astype(np.uint8)
    middle = CAMERA.rotation @ np.array(centre) + CAMERA.shift_mm
    return photograph(TRUE, [FlatPage(raster, 4.0, middle, CAMERA.rotation)])


@pytest.mark.parametrize(("inside", "plaster"), [(90, 225), (225, 90), (190, 225)])
def test_taps_that_miss_by_pixels_are_mended_by_the_edge(inside, plaster):
    centre = (20.0, 40.0, 110.0)
    image = drawn_hole(centre, 26.0, inside=inside, plaster=plaster)
    taps = rim_px(centre, 26.0, range(0, 360, 72)) + np.random.default_rng(2).normal(0.0, 2.0, (5, 2))
    tapped = fit_rim(taps, CAMERA, LENS, height_mm=110.0)
    found = refine_rim(image, tapped, CAMERA, LENS, height_mm=110.0)
    assert isinstance(found, RimFit)
    assert found.centre_mm == pytest.approx(centre, abs=0.12)
    assert found.diameter_mm == pytest.approx(52.0, abs=0.2)
    assert np.linalg.norm(np.subtract(found.centre_mm, centre)) < np.linalg.norm(
        np.subtract(tapped.centre_mm, centre)
    )


def test_a_hand_over_a_third_of_the_rim_does_not_pull_it():
    centre = (20.0, 40.0, 110.0)
    image = drawn_hole(centre, 26.0)
    middle = rim_px(centre, 26.0, [20])[0]
    cv2.circle(image, (int(middle[0]) + 12, int(middle[1])), 30, (120, 150, 190), -1)
    tapped = fit_rim(rim_px(centre, 26.5, range(0, 360, 72)), CAMERA, LENS, height_mm=110.0)
    found = refine_rim(image, tapped, CAMERA, LENS, height_mm=110.0)
    assert isinstance(found, RimFit)
    assert found.centre_mm == pytest.approx(centre, abs=0.3)


def test_where_there_is_no_edge_it_says_so():
    image = np.full((720, 1280, 3), 150, np.uint8)
    tapped = fit_rim(rim_px((20.0, 40.0, 110.0), 26.0, range(0, 360, 72)), CAMERA, LENS, height_mm=110.0)
    found = refine_rim(image, tapped, CAMERA, LENS, height_mm=110.0)
    assert isinstance(found, NoRim)
    assert "too little of the rim's edge" in found.why


def rims_of(folder: Path):
    """Found less given, for each mould: rim centre from its tag, and diameter."""
    recording = read_recording(folder)
    layout = recording.layout
    image = cv2.imread(str(sorted((folder / "frames").glob("*.jpg"))[0]))
    lens = usable_lens(layout.lens, *image.shape[:2])
    sheet = {tag.tag_id for tag in layout.sheet}
    cards = {mould.card.tag_id for mould in layout.moulds}
    found = find_tags(image, layout.dictionary, frozenset(sheet | cards))
    seen = {tag: measure_tag(image, corners, lens, 2) for tag, corners in found.items()}
    camera = camera_from_sheet(
        {t: s.corners for t, s in seen.items() if t in sheet and s}, layout.sheet, lens.fx_px
    )
    rng = np.random.default_rng(1)
    for mould in layout.moulds:
        tag = seen.get(mould.card.tag_id)
        if tag is None:
            continue
        card = card_from_corners(tag.corners, mould.card.size_mm, camera, lens.fx_px)
        given = np.array(mould.card.rim_centre_from_tag_mm)
        wide = mould.profile.bore[0][1]
        turns = np.radians(np.arange(0, 360, 72))
        ring = np.column_stack((np.cos(turns), np.sin(turns), np.zeros(5))) * 0.5 * wide
        edge = ring + card.centre_mm + card.rotation @ given
        taps = to_pixels(camera.to_camera(edge), lens) + rng.normal(0.0, 1.5, (5, 2))
        height = float(card.centre_mm[2] + given[2])
        tapped = fit_rim(taps, camera, lens, height_mm=height)
        rim = refine_rim(image, tapped, camera, lens, height_mm=height)
        assert isinstance(rim, RimFit), (folder.name, mould.name, rim)
        yield np.subtract(from_tag(rim.centre_mm, card), given), rim.diameter_mm - wide


def test_the_rims_of_rendered_empty_moulds_are_found_from_shaky_taps(shared_recordings):
    found = [one for folder in sorted(shared_recordings.iterdir()) for one in rims_of(folder)]
    away = np.array([place[:2] for place, _ in found])
    assert len(found) >= 15
    # the rims there are rounded, which moves them towards the camera and makes them look wider
    assert np.hypot(away[:, 0], away[:, 1]).max() < 0.8
    assert np.sqrt((away**2).sum(axis=1).mean()) < 0.5
    assert max(abs(wide) for _, wide in found) < 1.6
