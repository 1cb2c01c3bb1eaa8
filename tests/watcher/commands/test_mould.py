"""`tipbell mould`: from a picture and a few taps to a profile with its card, or the sentence why not."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from bench_camera import CAMERA, LENS, TRUE, rim_px
from drawn_bench import drawn_bench, mould_top, with_hole

from models.profile_files import read_profile
from models.profile_ways import Way
from watcher.commands.cards import cards
from watcher.commands.mould import MouldWords, mould
from watcher.commands.refused import Refused
from watcher.setup.lens_file import lens_text

HOLE_MM, CARD_MM, TAG_AT, PLACE = 56.0, 30.0, (-20.0, -50.0), (-20.0, 230.0, 90.0)
# the card lies in the plane of the rim here, so that the rim's centre is simply opposite the card's place
RIM_FROM_TAG = (20.0, 50.0, 0.0)
TAPS = tuple(f"{x:.0f},{y:.0f}" for x, y in rim_px(PLACE, 0.5 * HOLE_MM, [20, 140, 260]))
ASKED = MouldWords("cream jug", TAPS, ("0:56", "20:50"), 12, CARD_MM, rim_above_card_mm=0.0)


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    folder = tmp_path_factory.mktemp("bench")
    cards(folder, paper="a4", ruler_mm=250.0)
    (folder / "lens.toml").write_text(lens_text(LENS), encoding="utf-8")
    cv2.imwrite(str(folder / "shot.png"), drawn_bench((mould_top(12, CARD_MM, TAG_AT, HOLE_MM), PLACE, 0.0)))
    return folder


def run(bench, out, asked=ASKED, *, shot="shot.png", **how):
    mould(bench / shot, bench / "sheet.toml", out, asked, lens=bench / "lens.toml", **how)


def test_three_taps_and_a_card_give_the_rims_place_and_a_profile(bench, tmp_path, capsys):
    run(bench, tmp_path / "jug.toml", drawing=tmp_path / "found.png")
    profile = read_profile(tmp_path / "jug.toml")
    assert profile.card.tag_id == 12
    assert profile.card.rim_centre_from_tag_mm == pytest.approx(RIM_FROM_TAG, abs=0.4)
    assert profile.mould.bore[:2] == ((0.0, 56.0), (20.0, 50.0))
    assert profile.way is Way.CALLIPER
    said = capsys.readouterr().out
    assert (
        "rim found by its edge in the picture: 56." in said
        or "rim found by its edge in the picture: 55." in said
    )
    assert "mm right of and" in said and "mm above the card's middle" in said
    assert "this hole will be read" in said
    assert cv2.imread(str(tmp_path / "found.png")).shape == (720, 1280, 3)


def test_a_turned_mould_has_the_same_place_in_the_cards_axes(bench, tmp_path):
    top = mould_top(12, CARD_MM, TAG_AT, HOLE_MM)
    cv2.imwrite(str(bench / "turned.png"), drawn_bench((top, PLACE, 35.0)))
    run(bench, tmp_path / "jug.toml", shot="turned.png")
    found = read_profile(tmp_path / "jug.toml").card.rim_centre_from_tag_mm
    assert found == pytest.approx(RIM_FROM_TAG, abs=0.4)


def test_a_card_put_back_elsewhere_is_renewed_and_nothing_else_changes(bench, tmp_path, capsys):
    run(bench, tmp_path / "jug.toml", MouldWords(**{**_words(ASKED), "target": 3.0, "depth_mm": 110.0}))
    before = read_profile(tmp_path / "jug.toml")
    moved = mould_top(12, CARD_MM, (-14.0, -54.0), HOLE_MM)
    cv2.imwrite(str(bench / "moved.png"), drawn_bench((moved, PLACE, 0.0)))
    run(bench, tmp_path / "jug.toml", MouldWords(**{**_words(ASKED), "bore": ()}), shot="moved.png")
    after = read_profile(tmp_path / "jug.toml")
    assert after.card.rim_centre_from_tag_mm == pytest.approx((14.0, 54.0, 0.0), abs=0.4)
    assert after.mould == before.mould and after.mould.target_wall_mm == (3.0, pytest.approx(3.3))
    assert "renewed the card in" in capsys.readouterr().out


def test_a_mould_without_a_card_gets_its_place_on_the_bench(bench, tmp_path):
    run(bench, tmp_path / "jug.toml", MouldWords("cream jug", TAPS, ("0:56", "20:50")))
    profile = read_profile(tmp_path / "jug.toml")
    assert profile.card.tag_id is None
    # the height comes from the diameter alone: true to a few hundredths of the distance
    assert profile.card.place_mm == pytest.approx(PLACE, abs=20.0)


def test_a_ruler_beside_a_mould_without_a_card_makes_its_place_sure(bench, tmp_path):
    run(bench, tmp_path / "jug.toml", MouldWords("cream jug", TAPS, ("0:56", "20:50"), rim_height_mm=90.0))
    assert read_profile(tmp_path / "jug.toml").card.place_mm == pytest.approx(PLACE, abs=0.5)


def test_a_card_upside_down_is_taken_and_said(bench, tmp_path, capsys):
    cv2.imwrite(
        str(bench / "wrong.png"),
        drawn_bench((mould_top(12, CARD_MM, TAG_AT, HOLE_MM, tag_turn=2), PLACE, 0.0)),
    )
    run(bench, tmp_path / "jug.toml", shot="wrong.png")
    assert "note: the card of 'cream jug' lies upside down" in capsys.readouterr().out
    assert read_profile(tmp_path / "jug.toml").card.rim_centre_from_tag_mm == pytest.approx(
        (-20.0, -50.0, 0.0), abs=0.4
    )


def oval_px(place, axes, degrees, turn_deg=0.0):
    t, a = np.radians(degrees), np.radians(turn_deg)
    own = np.column_stack((0.5 * axes[0] * np.cos(t), 0.5 * axes[1] * np.sin(t)))
    flat = own @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
    inside = (np.column_stack((flat, np.zeros(len(t)))) + place) @ CAMERA.rotation.T + CAMERA.shift_mm
    return tuple(f"{x:.1f},{y:.1f}" for x, y in TRUE.project(inside))


OVAL = MouldWords("soap dish", (), ("0:44", "20:40"), 12, CARD_MM, rim_above_card_mm=0.0, oval="70x44")


def test_an_oval_hole_along_the_card_is_kept_with_its_axes(bench, tmp_path, capsys):
    taps = oval_px(PLACE, (70.0, 44.0), range(0, 360, 51))
    run(
        bench,
        tmp_path / "dish.toml",
        MouldWords(**{**_words(OVAL), "taps": taps}),
        drawing=tmp_path / "a.png",
    )
    profile = read_profile(tmp_path / "dish.toml")
    assert profile.mould.holes[0].axes_mm == (70.0, 44.0)
    assert profile.card.rim_centre_from_tag_mm == pytest.approx(RIM_FROM_TAG, abs=0.4)
    assert "oval's long way" not in capsys.readouterr().out


def test_an_oval_askew_to_its_card_is_said(bench, tmp_path, capsys):
    taps = oval_px(PLACE, (70.0, 44.0), range(0, 360, 51), 20.0)
    run(bench, tmp_path / "dish.toml", MouldWords(**{**_words(OVAL), "taps": taps}))
    assert "note: the oval's long way runs 20 degrees off the card's upper edge" in capsys.readouterr().out


def test_a_second_hole_is_kept_where_it_lies_from_the_first(bench, tmp_path):
    top = with_hole(mould_top(12, CARD_MM, TAG_AT, 40.0), (50.0, 6.0), 24.0, 24.0)
    cv2.imwrite(str(bench / "two.png"), drawn_bench((top, PLACE, 0.0)))
    other = (PLACE[0] + 50.0, PLACE[1] + 6.0, PLACE[2])

    def tapped(place, wide):
        return tuple(f"{x:.1f},{y:.1f}" for x, y in rim_px(place, 0.5 * wide, range(0, 360, 72)))

    words = {"taps": tapped(PLACE, 40.0), "bore": ("0:40", "20:36"), "second_taps": tapped(other, 24.0)}
    run(
        bench,
        tmp_path / "two.toml",
        MouldWords(**{**_words(ASKED), **words, "second_mm": 24.0}),
        shot="two.png",
    )
    holes = read_profile(tmp_path / "two.toml").mould.holes
    assert len(holes) == 2
    assert holes[1].centre_mm == pytest.approx((50.0, 6.0), abs=0.6)
    assert holes[1].bore == ((0.0, 24.0), (20.0, 24.0))


def _words(asked: MouldWords) -> dict:
    return {name: getattr(asked, name) for name in MouldWords.__slots__}


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"taps": TAPS[:2]}, "2 points were given; give at least 3"),
        ({"taps": ("a,b",)}, "--tap is 'a,b'; give x,y in pixels"),
        ({"bore": ()}, "no diameter was given; measure the pour hole"),
        ({"bore": ("0-56",)}, "--bore is '0-56'; give depth:diameter in mm"),
        ({"bore": ("0:80", "20:70")}, "the rim looks 56"),
        ({"bore": ("5:56", "20:50")}, "the first row is the rim, depth 0"),
        ({"card_id": 13}, "the card of 'cream jug' (number 13) is not to be seen"),
        ({"card_mm": None}, "card 12 is not among the printed ones"),
        ({"oval": "70"}, "--oval is '70'; give long x short axis in mm"),
        ({"oval": "70x44"}, "an oval needs at least 5"),
        ({"oval": "70x44", "card_id": None}, "an oval's height must be known"),
        ({"second_mm": 24.0, "second_taps": TAPS}, "second hole: the rim looks 56"),
        ({"second_mm": 56.0, "second_taps": TAPS}, "second hole: it lies over the first"),
        ({"target": 3.0}, "a wall in mm needs the cavity's depth as well"),
        ({"target": 300.0, "depth_mm": 100.0}, "target_wall_mm is 300"),
    ],
)
def test_what_cannot_be_used_is_refused_in_a_sentence(bench, tmp_path, changed, said):
    with pytest.raises(Refused) as refused:
        run(bench, tmp_path / "jug.toml", MouldWords(**{**_words(ASKED), **changed}))
    assert said in str(refused.value)
    assert not (tmp_path / "jug.toml").exists()


def test_two_cards_of_one_number_are_refused(bench, tmp_path):
    top = mould_top(12, CARD_MM, TAG_AT, HOLE_MM)
    cv2.imwrite(str(bench / "twins.png"), drawn_bench((top, PLACE, 0.0), (top, (220.0, 150.0, 90.0), 0.0)))
    with pytest.raises(Refused, match="2 cards carry the number 12"):
        run(bench, tmp_path / "jug.toml", shot="twins.png")


def test_a_picture_without_the_sheet_and_a_dark_one_are_refused(bench, tmp_path):
    plain = np.full((720, 1280, 3), 120, np.uint8)
    cv2.imwrite(str(bench / "plain.png"), plain)
    with pytest.raises(Refused, match="the bench sheet is not to be seen"):
        run(bench, tmp_path / "jug.toml", shot="plain.png")
    cv2.imwrite(str(bench / "dark.png"), plain // 40)
    with pytest.raises(Refused, match="the picture is dark"):
        run(bench, tmp_path / "jug.toml", shot="dark.png")


def test_a_lens_for_another_picture_is_refused(bench, tmp_path):
    cv2.imwrite(str(bench / "small.png"), np.full((480, 640, 3), 120, np.uint8))
    with pytest.raises(Refused, match="the picture is 640 x 480, the lens was calibrated at 1280 x 720"):
        run(bench, tmp_path / "jug.toml", shot="small.png")


def cylinder(tmp_path, *, scale: float = 1.0, capped: bool = True):
    """A round cavity 56 mm wide and 90 mm deep as STL; its lid may be left off."""
    import trimesh

    mesh = trimesh.creation.cylinder(radius=28.0 * scale, height=90.0 * scale, sections=96)
    if not capped:
        mesh.update_faces(mesh.triangles_center[:, 2] < 44.0 * scale)
    path = tmp_path / "cavity.stl"
    path.write_bytes(mesh.export(file_type="stl"))
    return path


def test_a_drawing_gives_bore_and_wetted_area(bench, tmp_path):
    run(bench, tmp_path / "jug.toml", replace(ASKED, bore=("0:56",), stl=cylinder(tmp_path)))
    profile = read_profile(tmp_path / "jug.toml")
    assert profile.way is Way.MESH
    # wall and floor of the cylinder: pi d h + pi d2 / 4
    assert profile.mould.wetted_area_mm2 == pytest.approx(np.pi * 56 * 90 + np.pi * 56**2 / 4, rel=0.02)
    assert profile.mould.depth_mm == pytest.approx(90.0, abs=0.5)


def test_a_drawing_in_inches_and_an_open_one_are_each_said(bench, tmp_path):
    small = replace(ASKED, bore=("0:56",), stl=cylinder(tmp_path, scale=1 / 25.4))
    with pytest.raises(Refused, match="in cm or inch it would be a pot"):
        run(bench, tmp_path / "jug.toml", small)
    run(bench, tmp_path / "jug.toml", replace(small, stl_unit="inch"))
    with pytest.raises(Refused, match="mesh is open along"):
        run(bench, tmp_path / "new.toml", replace(ASKED, stl=cylinder(tmp_path, capped=False)))
    with pytest.raises(Refused, match="cannot be read"):
        run(bench, tmp_path / "new.toml", replace(ASKED, stl=tmp_path / "none.stl"))


def test_swapped_diameters_are_noted(bench, tmp_path, capsys):
    run(bench, tmp_path / "jug.toml", replace(ASKED, bore=("0:56", "20:120")))
    assert "were two diameters swapped" in capsys.readouterr().out
