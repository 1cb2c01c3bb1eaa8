"""Tags on a wall, surveyed from a few pictures: exact ones, noisy ones, photographs, and what goes wrong."""

from __future__ import annotations

import numpy as np
import pytest
from bench_camera import LENS, TRUE, camera_at
from photographed import FlatPage, photograph, turned
from printed_pages import rendered

from watcher.records.layout import SheetTag
from watcher.setup.bench_sheet import bench_page, bench_sheet
from watcher.setup.drawing import Page, Paper
from watcher.setup.mould_card import STRIP_TAG_MM
from watcher.setup.pdf import pdf_bytes
from watcher.setup.survey import NoSurvey, Surveyed, fixed_turns_deg, survey
from watcher.setup.tag_print import tag_patch
from watcher.setup.tag_sightings import every_tag, measured

# a strip on the back wall, one tag tipped on a slanting shelf, one on the right-hand wall
WALL = {
    4: ((-120.0, 330.0, 190.0), (90.0, 0.0, 0.0)),
    5: ((60.0, 330.0, 195.0), (88.0, 0.0, 3.0)),
    6: ((180.0, 250.0, 120.0), (60.0, 5.0, -20.0)),
    7: ((260.0, 120.0, 110.0), (90.0, 0.0, -60.0)),
}
EYES = [(0.0, -420.0, 560.0), (-260.0, -330.0, 520.0), (260.0, -300.0, 600.0), (60.0, -500.0, 420.0)]
AIM = (20.0, 120.0, 60.0)
SQUARE = np.array([[-0.5, 0.5, 0.0], [0.5, 0.5, 0.0], [0.5, -0.5, 0.0], [-0.5, -0.5, 0.0]])


def corners_of(centre, turns, size_mm):
    return size_mm * SQUARE @ turned(*turns).T + centre


def everything():
    tags = {tag.tag_id: corners_of(tag.centre_mm, (0, 0, 0), tag.size_mm) for tag in bench_sheet()}
    return tags | {tag: corners_of(*pose, STRIP_TAG_MM) for tag, pose in WALL.items()}


def pictures(noise_px=0.0, seed=0, only=None, moved=None):
    """Straightened corners in four pictures, exactly projected, with noise added."""
    rng = np.random.default_rng(seed)
    found = []
    for number, eye in enumerate(EYES):
        camera = camera_at(eye, AIM)
        seen = {}
        for tag, corners in everything().items():
            place = corners + (moved[2] if moved and moved[:2] == (number, tag) else 0.0)
            inside = place @ camera.rotation.T + camera.shift_mm
            plane = inside[:, :2] / inside[:, 2:]
            seen[tag] = plane + rng.normal(0.0, noise_px, plane.shape) / 1060.0
        found.append({tag: seen[tag] for tag in (only(number) if only else seen)})
    return found


SIZES = {tag: STRIP_TAG_MM for tag in WALL}


def off_mm(found: Surveyed):
    return {
        one.tag.tag_id: float(np.linalg.norm(np.subtract(one.tag.centre_mm, WALL[one.tag.tag_id][0])))
        for one in found.tags
    }


def off_deg(found: Surveyed):
    away = {}
    for one in found.tags:
        between = turned(*one.tag.rotation_deg).T @ turned(*WALL[one.tag.tag_id][1])
        away[one.tag.tag_id] = np.degrees(np.arccos(np.clip((np.trace(between) - 1.0) / 2.0, -1.0, 1.0)))
    return away


def test_exact_pictures_give_the_exact_places():
    found = survey(pictures(), bench_sheet(), SIZES, 1060.0)
    assert isinstance(found, Surveyed)
    assert max(off_mm(found).values()) < 0.01
    assert max(off_deg(found).values()) < 0.01


def test_noise_moves_the_places_by_as_much_as_the_spread_says():
    worst, said = [], []
    for seed in range(6):
        found = survey(pictures(0.1, seed), bench_sheet(), SIZES, 1060.0)
        assert isinstance(found, Surveyed)
        worst += off_mm(found).values()
        said += [one.sigma_mm for one in found.tags]
        assert max(off_deg(found).values()) < 4.0 * max(one.sigma_deg for one in found.tags)
    # the spread is along the worst direction, the error over all three
    assert 0.5 < np.sqrt(np.mean(np.square(worst))) / np.sqrt(np.mean(np.square(said))) < 1.7
    assert np.max(worst) < 2.0


def test_a_tag_out_of_the_sheets_sight_is_reached_by_way_of_another():
    # pictures 0 and 1 show the sheet with tag 4 and 5, pictures 2 and 3 only tags on the wall
    def only(number):
        return [0, 1, 2, 3, 4, 5] if number < 2 else [4, 5, 6, 7]

    found = survey(pictures(0.0, only=only), bench_sheet(), SIZES, 1060.0)
    assert isinstance(found, Surveyed)
    assert max(off_mm(found).values()) < 0.05


def test_a_strip_alone_makes_its_own_frame_with_its_first_tag_upright():
    upright = SheetTag(4, STRIP_TAG_MM, (0.0, 0.0, 0.0), rotation_deg=(90.0, 0.0, 0.0))
    found = survey(pictures(), [upright], {tag: STRIP_TAG_MM for tag in (5, 6, 7)}, 1060.0)
    assert isinstance(found, Surveyed)
    # tag 4 stands upright and square on the bench there, so that the frame is only shifted
    for one in found.tags:
        wanted = np.subtract(WALL[one.tag.tag_id][0], WALL[4][0])
        assert one.tag.centre_mm == pytest.approx(tuple(wanted), abs=0.02)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ([], "no picture shows the bench sheet"),
        (pictures(only=lambda n: [4, 5, 6, 7]), "no picture shows the bench sheet"),
        (pictures(only=lambda n: [0, 1, 2, 3, 4, 5, 6]), "tag 7 is in no picture together with tags"),
        (pictures()[:1], "only one picture can be used; take three or more"),
        (pictures(0.05, moved=(2, 5, (4.0, 0.0, 3.0))), "tag 5 does not fit in picture 3"),
        (pictures(2.5), "px about the best places"),
    ],
)
def test_pictures_that_tell_no_survey_are_refused_in_a_sentence(given, said):
    found = survey(given, bench_sheet(), SIZES, 1060.0)
    assert isinstance(found, NoSurvey)
    assert said in found.why


def test_turns_come_back_from_the_matrix_they_made():
    for turns in [(90.0, 0.0, 0.0), (12.0, -40.0, 77.0), (-170.0, 5.0, -20.0), (0.0, 90.0, 30.0)]:
        assert turned(*fixed_turns_deg(turned(*turns))) == pytest.approx(turned(*turns), abs=1e-7)


def strip_page(tag_id):
    return Page(90.0, 90.0, (tag_patch(tag_id, STRIP_TAG_MM, (45.0, 45.0)),))


def test_photographs_of_sheet_and_strip_give_the_strips_places():
    sheet = rendered(pdf_bytes([bench_page(Paper.A4)], "test"), 0, 3.0)
    strip = {tag: rendered(pdf_bytes([strip_page(tag)], "test"), 0, 3.0) for tag in WALL}
    seen = []
    for number, eye in enumerate(EYES[:3]):
        camera = camera_at(eye, AIM)

        def page(raster, wide_mm, centre, turns, camera=camera):
            middle = camera.rotation @ np.array(centre) + camera.shift_mm
            return FlatPage(raster, raster.shape[1] / wide_mm, middle, camera.rotation @ turned(*turns))

        pages = [page(sheet, 297.0, (0.0, 0.0, 0.0), (0, 0, 0))]
        pages += [page(strip[tag], 90.0, *pose) for tag, pose in WALL.items()]
        image = photograph(TRUE, pages, seed=number)
        seen.append({tag: one.corners for tag, one in measured(image, every_tag(image), LENS).items()})
    found = survey(seen, bench_sheet(), SIZES, LENS.fx_px)
    assert isinstance(found, Surveyed)
    assert max(off_mm(found).values()) < 1.0
    assert max(off_deg(found).values()) < 0.3
    assert found.fit_px < 0.2
