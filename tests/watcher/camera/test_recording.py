"""A recording plays what is in its folder, at its own moments."""

from datetime import UTC, datetime

import cv2
import numpy as np
import pytest
from made_recordings import BEAKER, CAMERA, HEAD, JUG, JUG_CARD, jpeg, write_levels, write_pictures

from watcher.camera.recording import read_recording
from watcher.camera.recording_fields import RecordingError
from watcher.records.frames import Blind, Frame, NoFrame
from watcher.records.readings import Contents, Missed


def test_pictures_come_at_their_own_moments_in_utc(tmp_path):
    frames = list(read_recording(write_pictures(tmp_path / "r", times=(12, 37.5, 62))).moments())
    assert [frame.taken_s for frame in frames] == [12.0, 37.5, 62.0]
    assert frames[1].taken_at == datetime(2026, 3, 3, 8, 10, 37, 500_000, tzinfo=UTC)
    assert frames[0].image.shape == (48, 64, 3)
    assert not frames[0].image.flags.writeable


def test_the_picture_is_what_opencv_decodes(tmp_path):
    frame = next(read_recording(write_pictures(tmp_path / "r")).moments())
    assert np.array_equal(frame.image, cv2.imdecode(np.frombuffer(jpeg(), np.uint8), cv2.IMREAD_COLOR))


def test_what_stands_on_the_bench_is_read_field_by_field(tmp_path):
    toml = (
        HEAD
        + CAMERA.replace("yaw_deg = 0.0", "rotation_deg = [90, 0, 0]")
        + JUG
        + JUG_CARD
        + "trim_line_mm = 28\n"
    )
    toml += "[bench]\nup = [0, 0, 2]\n"
    layout = read_recording(write_pictures(tmp_path / "r", toml=toml)).layout
    jug = layout.mould("cream jug")
    assert layout.lens.width_px == 64 and layout.lens.cy_px == 23.5
    assert layout.sheet[0].rotation_deg == (90.0, 0.0, 0.0)
    assert layout.up == (0.0, 0.0, 1.0)
    assert jug.card.tag_id == 12 and jug.card.rim_centre_from_tag_mm == (-44.0, 38.0, -0.35)
    assert jug.profile.bore[1] == (20.0, 54.0)
    assert jug.profile.target_wall_mm[0] == 3.0
    assert jug.profile.trim_line_mm == 28.0


def test_a_mould_without_a_card_stands_at_its_place_and_needs_no_target(tmp_path):
    toml = HEAD + CAMERA + JUG.replace("target_wall_mm = 3.0", "place_mm = [10, 20, 130]")
    mould = read_recording(write_pictures(tmp_path / "r", toml=toml)).layout.mould("cream jug")
    assert mould.card is None
    assert mould.place_mm == (10.0, 20.0, 130.0)
    assert mould.profile.target_wall_mm is None


def test_two_holes_an_oval_one_and_the_other_optional_keys_are_read(tmp_path):
    toml = (
        HEAD
        + JUG.replace("target_wall_mm = 3.0", "target_wall_mm = [2.8, 3.4]")
        + """
wetted_area_mm2 = 21000
target_water_ml = 35.5
holes = [{centre_mm = [0, 0], axes_mm = [62, 50]}, {centre_mm = [40, 5], bore = [[0, 20], [30, 16]]}]
"""
    )
    profile = (
        read_recording(write_levels(tmp_path / "r", "0,cream jug,2\n", toml=toml)).layout.moulds[0].profile
    )
    assert profile.target_wall_mm == (2.8, 3.4)
    assert profile.wetted_area_mm2 == 21000.0 and profile.target_water_ml == 35.5
    assert profile.holes[0].axes_mm == (62.0, 50.0)
    assert profile.holes[1].centre_mm == (40.0, 5.0)
    assert profile.holes[1].bore == ((0.0, 20.0), (30.0, 16.0))


def test_given_levels_are_sightings_and_a_missing_row_is_not_read(tmp_path):
    rows = "0,cream jug,1.5\n0,beaker,2.0\n60,beaker,4.25\n"
    _, first, second = read_recording(write_levels(tmp_path / "r", rows, toml=HEAD + JUG + BEAKER)).moments()
    assert [hole.reading.level_mm for hole in first.holes] == [1.5, 2.0]
    assert second.taken_s == 60.0
    assert second.holes[0].reading is Missed.NOT_GIVEN and second.holes[0].contents is Contents.UNKNOWN
    assert second.holes[1].reading.level_mm == 4.25 and second.holes[1].reading.sigma_mm > 0


def test_a_mould_counts_as_empty_until_its_first_level_is_given(tmp_path):
    rows = "0,cream jug,1.5\n60,cream jug,2.5\n60,beaker,4.25\n90,cream jug,3.0\n"
    moments = read_recording(write_levels(tmp_path / "r", rows, toml=HEAD + JUG + BEAKER)).moments()
    jug, beaker = zip(*(sighting.holes for sighting in moments), strict=True)
    empty, slip = Contents.EMPTY, Contents.SLIP
    assert [hole.contents for hole in jug] == [empty, slip, slip, slip]
    assert [hole.contents for hole in beaker] == [empty, empty, slip, Contents.UNKNOWN]


@pytest.mark.parametrize(
    ("data", "why", "word"),
    [
        (jpeg()[:-40], Blind.UNREADABLE, "cut short"),
        (b"", Blind.UNREADABLE, "0 bytes"),
        (b"not a picture at all", Blind.UNREADABLE, "not a picture"),
        (jpeg(80, 48), Blind.WRONG_SIZE, "80x48"),
        (None, Blind.UNREADABLE, "cannot be opened"),
    ],
)
def test_a_bad_picture_in_the_middle_is_passed_over_and_said(tmp_path, data, why, word):
    folder = write_pictures(tmp_path / "r")
    bad = folder / "frames" / "000001.jpg"
    bad.unlink()
    if data is not None:
        bad.write_bytes(data)
    first, second, third = read_recording(folder).moments()
    assert isinstance(first, Frame) and isinstance(third, Frame)
    assert isinstance(second, NoFrame)
    assert second.why is why and second.at_s == 30.0
    assert "frames.csv line 3: frames/000001.jpg" in second.detail and word in second.detail


def test_a_thumbnail_in_the_header_does_not_hide_that_the_picture_is_cut_short(tmp_path):
    whole, small = jpeg(), jpeg(16, 16)
    with_thumbnail = whole[:2] + b"\xff\xe1" + (len(small) + 2).to_bytes(2, "big") + small + whole[2:]
    folder = write_pictures(tmp_path / "r")
    (folder / "frames" / "000001.jpg").write_bytes(with_thumbnail)
    (folder / "frames" / "000002.jpg").write_bytes(with_thumbnail[:-60])
    _, second, third = read_recording(folder).moments()
    assert isinstance(second, Frame)
    assert isinstance(third, NoFrame)


def test_a_first_picture_of_another_size_ends_it_because_the_lens_cannot_be_right(tmp_path):
    folder = write_pictures(tmp_path / "r")
    (folder / "frames" / "000000.jpg").write_bytes(jpeg(80, 48))
    with pytest.raises(RecordingError, match=r"frames/000000\.jpg: the picture is 80x48; give 64x48"):
        list(read_recording(folder).moments())


def test_unknown_columns_and_keys_are_passed_over_with_one_remark_for_each_file(tmp_path):
    toml = HEAD + CAMERA + "colour = 3\n" + JUG + JUG_CARD + "glaze = 'none'\n[weather]\nrain = true\n"
    folder = write_pictures(tmp_path / "r", toml=toml)
    table = (folder / "frames.csv").read_text().replace("file,time_s", "file,time_s,gain,iso")
    (folder / "frames.csv").write_text(table.replace(",0\n", ",0,1,100\n"))
    recording = read_recording(folder)
    of_keys, of_columns = recording.remarks
    assert all(word in of_keys for word in ("recording.toml", "weather", "colour", "glaze"))
    assert "frames.csv column gain" in of_columns and "iso" in of_columns
    assert len(list(recording.moments())) == 3


def test_the_truth_of_a_recording_is_never_opened(tmp_path):
    folder = write_pictures(tmp_path / "r")
    for name in ("truth.csv", "truth_pose.csv", "events.csv"):
        (folder / name).mkdir()  # opening a folder as a file would fail
    assert len(list(read_recording(folder).moments())) == 3
