"""What is wrong with a recording is said in one sentence: file, line or field, found, wanted."""

import pytest
from made_recordings import BEAKER, CAMERA, HEAD, JUG, JUG_CARD, write_levels, write_pictures

from watcher.camera.recording import read_recording
from watcher.camera.recording_fields import RecordingError

WHOLE = HEAD + CAMERA + JUG + JUG_CARD


def said_of(folder) -> str:
    with pytest.raises(RecordingError) as fault:
        list(read_recording(folder).moments())
    assert "\n" not in str(fault.value)
    return str(fault.value)


def test_a_folder_that_is_not_there(tmp_path):
    assert "nowhere does not exist; give the folder of a recording" in said_of(tmp_path / "nowhere")


def test_a_folder_without_a_description(tmp_path):
    assert "recording.toml is not in" in said_of(tmp_path)


def test_a_recording_with_neither_pictures_nor_levels(tmp_path):
    (tmp_path / "recording.toml").write_text(WHOLE)
    assert "neither frames.csv nor levels.csv" in said_of(tmp_path)


@pytest.mark.parametrize(
    ("old", "new", "parts"),
    [
        ("[clock]", "[clocks]", ["[clock] is missing"]),
        ("2026-03-03T08:10:00Z", "yesterday", ["[clock] start is 'yesterday'", "UTC"]),
        ("2026-03-03T08:10:00Z", "2026-03-03T08:10:00", ["[clock] start", "UTC"]),
        (
            "specific_gravity = 1.78",
            "specific_gravity = 17.8",
            ["specific_gravity is 17.8", "1.2 to 2.2"],
        ),
        ("specific_gravity = 1.78", "", ["[slip] specific_gravity is missing"]),
        ("width = 64", "width = 64.5", ["[camera] width is 64.5", "whole number"]),
        ("fx = 60.0", "fx = 0", ["[camera] fx is 0"]),
        ("fx = 60.0", "fx = nan", ["[camera] fx is nan"]),
        ("distortion = [0.0, ", "distortion = [", ["[camera] distortion", "k1, k2, p1, p2, k3"]),
        ("size_mm = 60.0", "size_mm = -60", ["[[sheet]] 1: size_mm is -60", "above 0"]),
        ("centre_mm = [-62.0, 62.0, 0.0]", "centre_mm = [-62.0, 62.0]", ["centre_mm", "[x, y, z]"]),
        ("DICT_APRILTAG_36h11", "DICT_APRILTAG_99h9", ["dictionary is 'DICT_APRILTAG_99h9'"]),
        ("tag_id = 12", "tag_id = 0", ["tag 0 is used twice", "the bench sheet", "cream jug"]),
        ("tag_id = 12", "", ["cream jug", "neither tag_id nor place_mm"]),
        ("[30.0, 49.0]", "[18.0, 49.0]", ["cream jug: bore has depth 18 after 20", "must grow"]),
        ("[30.0, 49.0]", "[30.0]", ["bore row 3 is [30.0]", "[depth_mm, diameter_mm]"]),
        ("target_wall_mm = 3.0", "target_wall_mm = 'thick'", ["target_wall_mm is 'thick'"]),
        ("target_wall_mm = 3.0", "target_wall_mm = [3.0, 2.0]", ["cream jug: target_wall_mm is 2.0"]),
        ('name = "cream jug"', "", ["[[mould]] 1: name is missing"]),
        ("[clock]", "[clock", ["recording.toml is not a TOML file", "line 2"]),
    ],
)
def test_a_value_of_the_description(tmp_path, old, new, parts):
    assert WHOLE.count(old) >= 1
    said = said_of(write_pictures(tmp_path / "r", toml=WHOLE.replace(old, new, 1)))
    assert said.startswith("recording.toml")
    for part in parts:
        assert part in said


def test_a_tag_number_on_two_moulds(tmp_path):
    said = said_of(write_pictures(tmp_path / "r", toml=WHOLE + BEAKER.replace("23", "12")))
    assert "tag 12 is used twice, by mould 'cream jug' and by mould 'beaker'" in said


def test_two_moulds_of_one_name(tmp_path):
    said = said_of(write_pictures(tmp_path / "r", toml=WHOLE + BEAKER.replace("beaker", "cream jug")))
    assert "two moulds have the name 'cream jug'" in said


@pytest.mark.parametrize(
    ("old", "new", "parts"),
    [
        (
            "file,time_s",
            "picture,time_s",
            ["no column 'file'", "found picture,", "wanted file,"],
        ),
        ("file,time_s", "file,time_s,file", ["has twice the column 'file'"]),
        (",30", ",thirty", ["line 3: time_s is 'thirty'", "seconds"]),
        (",30", ",nan", ["line 3: time_s is 'nan'"]),
        (",30", ",", ["line 3: time_s is blank"]),
        (",60", ",30", ["line 4: time_s is 30 after 30", "in order of time"]),
        (",60", ",20", ["line 4: time_s is 20 after 30", "in order of time"]),
        ("frames/000001", "../000001", ["line 3: file is '../000001.jpg'", "inside the recording"]),
        ("frames/000001", "/etc/000001", ["line 3", "inside the recording"]),
    ],
)
def test_a_line_of_the_frames(tmp_path, old, new, parts):
    folder = write_pictures(tmp_path / "r")
    table = (folder / "frames.csv").read_text()
    assert old in table
    (folder / "frames.csv").write_text(table.replace(old, new, 1))
    said = said_of(folder)
    assert said.startswith("frames.csv")
    for part in parts:
        assert part in said


def test_a_table_of_frames_without_a_frame(tmp_path):
    folder = write_pictures(tmp_path / "r")
    (folder / "frames.csv").write_text("file,time_s\n")
    assert "frames.csv holds no line" in said_of(folder)


@pytest.mark.parametrize(
    ("rows", "parts"),
    [
        ("0,teapot,1\n", ["line 2: mould is 'teapot'", "cream jug"]),
        ("0,cream jug,deep\n", ["line 2: level_mm is 'deep'", "millimetres below the rim"]),
        ("60,cream jug,1\n0,cream jug,2\n", ["line 3: time_s is 0 after 60", "in order of time"]),
        ("60,cream jug,1\n60,cream jug,2\n", ["line 3", "two levels at 60 s"]),
        ("", ["holds no line"]),
    ],
)
def test_a_line_of_given_levels(tmp_path, rows, parts):
    said = said_of(write_levels(tmp_path / "r", rows))
    assert said.startswith("levels.csv")
    for part in parts:
        assert part in said
