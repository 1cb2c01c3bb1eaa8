"""From an empty folder to a bench that the eyes can watch, by commands alone; what cannot be joined."""

from __future__ import annotations

from datetime import UTC, datetime

import cv2
import pytest
from bench_camera import LENS, rim_px
from drawn_bench import drawn_bench, mould_top

from models.profile_files import read_profile, write_profile
from models.profile_text import ProfileFile
from watcher.camera.recording_file import read_bench_file
from watcher.commands.bench import BenchParts, bench
from watcher.commands.cards import cards
from watcher.commands.mould import MouldWords, mould
from watcher.commands.refused import Refused
from watcher.records.frames import Frame
from watcher.records.readings import Contents, Missed
from watcher.setup.lens_file import lens_text
from watcher.vision.look import look_at

PLACE, SECOND = (-120.0, 210.0, 90.0), (130.0, 190.0, 70.0)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A folder in which everything was done up to the moulds."""
    made = tmp_path_factory.mktemp("bench")
    cards(made, paper="a4", moulds=("cream jug", "beaker"), first_id=12, tag_mm=26.0)
    cards(made, ruler_mm=250.0, ruler_up_mm=160.0)
    (made / "lens.toml").write_text(lens_text(LENS), encoding="utf-8")
    tops = [
        (mould_top(12, 26.0, (-20.0, -50.0), 56.0), PLACE, 0.0),
        (mould_top(13, 26.0, (25.0, -50.0), 60.0), SECOND, 8.0),
    ]
    cv2.imwrite(str(made / "shot.png"), drawn_bench(*tops))
    for name, card, place, wide in (("cream jug", 12, PLACE, 56.0), ("beaker", 13, SECOND, 60.0)):
        taps = tuple(f"{x:.0f},{y:.0f}" for x, y in rim_px(place, 0.5 * wide, [15, 135, 255]))
        words = MouldWords(
            name,
            taps,
            (f"0:{wide:g}", f"20:{wide - 6:g}"),
            card,
            rim_above_card_mm=0.0,
            target=3.0,
            depth_mm=110.0,
        )
        mould(
            made / "shot.png",
            made / "sheet.toml",
            made / "moulds" / f"{card}.toml",
            words,
            lens=made / "lens.toml",
        )
    return made


def parts(folder, **changed):
    given = {
        "lens": folder / "lens.toml",
        "sheet": folder / "sheet.toml",
        "moulds": (folder / "moulds",),
        "specific_gravity": 1.75,
        "cake_solids_fraction": 0.62,
    }
    return BenchParts(**{**given, **changed})


def test_the_bench_that_was_set_up_is_found_by_the_eyes_in_its_picture(folder, capsys):
    bench(parts(folder), folder / "bench.toml")
    assert "wrote" in capsys.readouterr().out
    described = read_bench_file(folder / "bench.toml")
    assert described.unknown == ()
    assert [one.name for one in described.layout.moulds] == ["cream jug", "beaker"]
    image = cv2.imread(str(folder / "shot.png"))
    frame = Frame("bench", image, 0.0, datetime(2026, 3, 3, tzinfo=UTC))
    sighting, _ = look_at(frame, described.layout, None, {})
    assert sighting.camera_why == ""
    for hole in sighting.holes:
        assert hole.reading is not Missed.CARD_LOST
        assert hole.contents is Contents.EMPTY
    found = [one.card.rim_centre_from_tag_mm for one in described.layout.moulds]
    assert found[0] == pytest.approx((20.0, 50.0, 0.0), abs=0.5)
    assert found[1] == pytest.approx((-25.0, 50.0, 0.0), abs=0.5)


def test_what_a_calliper_leaves_open_reaches_the_bench(folder):
    bench(parts(folder), folder / "bench.toml")
    one = read_bench_file(folder / "bench.toml").layout.mould("cream jug").profile
    before = read_profile(folder / "moulds" / "12.toml").mould
    assert one.bore == before.bore and one.name == before.name
    assert one.target_wall_mm == pytest.approx(before.target_wall_mm)
    assert one.wetted_area_mm2 == pytest.approx(before.wetted_area_mm2)
    assert one.area_rel_sigma == before.area_rel_sigma > 0.2


def test_a_wall_that_the_hole_does_not_allow_is_said(folder, tmp_path, capsys):
    profile = read_profile(folder / "moulds" / "12.toml")
    thick = ProfileFile(
        type(profile.mould)(**{**_fields(profile.mould), "target_wall_mm": (26.0, 27.0)}),
        profile.card,
        profile.way,
    )
    write_profile(tmp_path / "thick.toml", thick)
    bench(parts(folder, moulds=(tmp_path / "thick.toml",)), tmp_path / "bench.toml")
    assert "note: cream jug: " in capsys.readouterr().out


def _fields(record):
    return {name: getattr(record, name) for name in type(record).__slots__}


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"moulds": ()}, "no mould was given"),
        ({"specific_gravity": 17.5}, "17.5"),
        ({"cake_solids_fraction": 62.0}, "62"),
    ],
)
def test_parts_that_cannot_be_joined_are_refused(folder, tmp_path, changed, said):
    with pytest.raises(Refused) as refused:
        bench(parts(folder, **changed), tmp_path / "bench.toml")
    assert said in str(refused.value)
    assert list(tmp_path.iterdir()) == []


def test_two_moulds_of_one_card_and_one_without_are_refused(folder, tmp_path):
    both = (folder / "moulds" / "12.toml", folder / "moulds" / "12.toml")
    with pytest.raises(Refused, match="two moulds have the name 'cream jug'"):
        bench(parts(folder, moulds=both), tmp_path / "bench.toml")
    profile = read_profile(folder / "moulds" / "12.toml")
    write_profile(tmp_path / "bare.toml", ProfileFile(profile.mould, way=profile.way))
    with pytest.raises(Refused, match="'cream jug' has neither a card nor a place"):
        bench(parts(folder, moulds=(tmp_path / "bare.toml",)), tmp_path / "bench.toml")
