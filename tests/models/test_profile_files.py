"""Truth: files written by hand here and what they plainly say; sizes of household pots [common practice]."""

import math
import tomllib
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models.calibration import Place, PlaceRatio
from models.mould import PourHole, ProfileError, checked_mould
from models.profile_files import SAMPLES, read_folder, read_profile, write_profile
from models.profile_text import ProfileCard, ProfileFile, profile_from_text, profile_to_text
from models.profile_ways import Way

PLAIN = """
version = 1
name = "tumbler"
bore = [[0, 80], [20, 70], [100, 60]]
"""


def _read(text, source="tumbler.toml"):
    return profile_from_text(text, source=source)


def test_the_shortest_profile_is_a_name_and_a_bore():
    said = _read(PLAIN)
    assert said.mould.name == "tumbler"
    assert said.mould.bore == ((0.0, 80.0), (20.0, 70.0), (100.0, 60.0))
    assert said.mould.holes == (PourHole(),)
    assert said.mould.target_wall_mm is None
    assert said.way is Way.BORE_TABLE
    assert said.warnings == ()


def test_every_key_of_a_recording_s_mould_is_understood():
    said = _read(
        PLAIN
        + """
tag_id = 11
tag_size_mm = 26.0
rim_centre_from_tag_mm = [37.0, 34.0, -0.35]
place_mm = [1.0, 2.0, 3.0]
holes = [{centre_mm = [0, 0]}, {centre_mm = [30, 0], bore = [[0, 20], [30, 18]], axes_mm = [24, 18]}]
target_wall_mm = [2.5, 3.0]
wetted_area_mm2 = 20000
target_water_ml = 15
trim_line_mm = 18
"""
    )
    assert said.card == ProfileCard(11, 26.0, (37.0, 34.0, -0.35), (1.0, 2.0, 3.0))
    assert said.mould.holes[1] == PourHole((30.0, 0.0), ((0.0, 20.0), (30.0, 18.0)), (24.0, 18.0))
    assert said.mould.target_wall_mm == (2.5, 3.0)
    assert (said.mould.wetted_area_mm2, said.mould.target_water_ml, said.mould.trim_line_mm) == (
        20000,
        15,
        18,
    )
    assert said.way is Way.CUT_TEST
    assert said.mould.area_rel_sigma == 0.05


def test_a_mould_cut_out_of_a_recording_is_version_0_and_is_moved_on():
    said = _read("[[mould]]\n" + PLAIN.replace("version = 1", "target_wall_mm = 2.5"))
    assert said.mould.name == "tumbler"
    # one number is the thin end of a window 10 % wide (common practice)
    assert said.mould.target_wall_mm == (2.5, pytest.approx(2.75))
    assert tomllib.loads(profile_to_text(said))["version"] == 1


def test_unknown_keys_are_passed_over_with_one_sentence_and_a_guess():
    said = _read(PLAIN + 'target_wal_mm = 3\nhue = "white"\n')
    assert said.warnings == (
        "tumbler.toml: passed over what is not known here: target_wal_mm (did you mean target_wall_mm?), hue",
    )


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("name = tumbler", "tumbler.toml is no TOML"),
        ("version = 1", "tumbler.toml: name is missing; give what you call the mould"),
        (
            PLAIN.replace('"tumbler"', "7"),
            "tumbler.toml: name is 7; give what you call the mould between quotes",
        ),
        (PLAIN.replace('"tumbler"', '" "'), "tumbler.toml: name is empty"),
        (
            PLAIN.replace("version = 1", "version = 9"),
            "version is 9; give a whole number up to 1, or a newer tool",
        ),
        (PLAIN.replace("version = 1", "version = true"), "version is True"),
        (PLAIN.replace("[20, 70]", "[20]"), "bore row 2 is [20]; give rows of [depth_mm, diameter_mm]"),
        (PLAIN.replace("[20, 70]", "[20, nan]"), "bore row 2 is [20, nan]"),
        (PLAIN.replace("[20, 70]", '[20, "70"]'), "bore row 2 is [20, '70']"),
        (PLAIN.replace("[20, 70]", "[120, 70]"), "tumbler.toml: tumbler: bore has depth 100 after 120"),
        (PLAIN.replace("[20, 70]", "[20, -70]"), "bore diameter at 20 mm is -70"),
        (PLAIN.replace("[20, 70]", "[20, 70000]"), "bore diameter at 20 mm is 70000"),
        (PLAIN.replace("bore", "bohr"), "tumbler.toml: bore is missing"),
        (PLAIN + "target_wall_mm = 0", "target_wall_mm is 0; give mm, 0.3 to 40"),
        (PLAIN + "target_wall_mm = nan", "target_wall_mm is nan; give mm"),
        (PLAIN + "target_wall_mm = [3]", "target_wall_mm is [3]; give a list of 2 numbers"),
        (PLAIN + "target_wall_mm = [3, 2]", "target_wall_mm is 2"),
        (PLAIN + "wetted_area_mm2 = -1", "wetted_area_mm2 is -1; give mm2"),
        (PLAIN + "target_water_ml = inf", "target_water_ml is inf; give mL"),
        (PLAIN + "trim_line_mm = 500", "trim_line_mm is 500"),
        (PLAIN + "tag_id = -4", "tag_id is -4; give a whole number"),
        (PLAIN + "tag_id = 1.5", "tag_id is 1.5; give a whole number"),
        (
            PLAIN + "rim_centre_from_tag_mm = [1, 2]",
            "rim_centre_from_tag_mm is [1, 2]; give a list of 3",
        ),
        (
            PLAIN + "way = 'guess'",
            "way is 'guess'; give one of calliper, weights, bore_table, mesh, cut_test",
        ),
        (PLAIN + "plaster_dry_kg = 0", "plaster_dry_kg is 0; give kg, 0.05 to 500"),
        (PLAIN + 'place_ratios = [["rim", 1.0, 0.1]]', "place_ratios has ['rim', 1.0, 0.1]; give rows of"),
        (
            PLAIN + 'place_ratios = [["foot", nan, 0.1]]',
            "place_ratios has ['foot', nan, 0.1]; give a ratio of",
        ),
        (
            PLAIN + 'place_ratios = [["foot", 1.0, 0.0]]',
            "place_ratios has ['foot', 1.0, 0.0]; give a ratio of",
        ),
        (PLAIN + "place_ratios = 3", "place_ratios has 3; give rows of"),
        (PLAIN + "holes = 2", "holes is 2; give a list"),
        (
            PLAIN + "holes = [{center_mm = [0, 0]}]",
            "holes[1].center_mm is not known; give centre_mm, bore or axes_mm",
        ),
        ("[[mould]]\nname='a'\n[[mould]]\nname='b'\n", "mould is given 2 times; give one [[mould]] a file"),
    ],
)
def test_each_fault_gets_one_sentence_with_file_key_value_and_wish(text, says):
    with pytest.raises(ProfileError) as caught:
        _read(text)
    said = str(caught.value)
    assert says in said
    assert said.startswith("tumbler.toml")
    assert said.count("tumbler.toml") == 1


_names = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=20).filter(
    lambda s: s.strip()
)
_mm = st.floats(5, 300)


@settings(max_examples=80, deadline=None)
@given(
    name=_names,
    note=st.text(st.characters(exclude_categories=["Cs"]), max_size=40),
    wide=st.lists(_mm, min_size=2, max_size=8),
    water=st.none() | st.floats(1, 500),
    tag=st.none() | st.integers(0, 586),
    way=st.sampled_from(Way),
)
def test_what_is_written_reads_back_the_same(name, note, wide, water, tag, way):
    bore = [(20.0 * i, d) for i, d in enumerate(wide)]
    mould = checked_mould(name, bore, target_water_ml=water, area_rel_sigma=0.02)
    places = (PlaceRatio(Place.FOOT, 1.07, 0.05), PlaceRatio(Place.SPARE, 0.9, 0.08))
    profile = ProfileFile(mould, ProfileCard(tag_id=tag), way, 2.5, 7, places, note)
    assert _read(profile_to_text(profile)) == profile


def test_writing_never_overwrites_unless_told(tmp_path):
    path = tmp_path / "tumbler.toml"
    write_profile(path, _read(PLAIN))
    with pytest.raises(ProfileError, match=r"^tumbler.toml is there already; give another name"):
        write_profile(path, _read(PLAIN.replace("80", "90")))
    assert read_profile(path).mould.bore[0] == (0.0, 80.0)
    write_profile(path, _read(PLAIN.replace("80", "90")), replace=True)
    assert read_profile(path).mould.bore[0] == (0.0, 90.0)
    assert [p.name for p in tmp_path.iterdir()] == ["tumbler.toml"]


def test_files_that_cannot_be_are_said(tmp_path):
    with pytest.raises(ProfileError, match=r"^gone.toml cannot be read"):
        read_profile(tmp_path / "gone.toml")
    (tmp_path / "picture.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ProfileError, match=r"^picture.toml is no text in UTF-8"):
        read_profile(tmp_path / "picture.toml")
    (tmp_path / "big.toml").write_text("#" * 300_000)
    with pytest.raises(ProfileError, match=r"^big.toml has 300000 bytes"):
        read_profile(tmp_path / "big.toml")
    with pytest.raises(ProfileError, match=r"^a.toml cannot be written"):
        write_profile(tmp_path / "none" / "a.toml", _read(PLAIN))


def test_two_moulds_of_one_name_are_refused(tmp_path):
    (tmp_path / "a.toml").write_text(PLAIN)
    (tmp_path / "b.toml").write_text(PLAIN)
    with pytest.raises(ProfileError, match=r"^b.toml: name is 'tumbler' as in another file"):
        read_folder(tmp_path)


def test_the_samples_are_household_pots_that_read_without_a_warning():
    moulds = read_folder(SAMPLES)
    assert 6 <= len(moulds) <= 8
    for sample in moulds:
        assert sample.warnings == ()
        deep = sample.mould.bore[-1][0]
        assert 30 <= deep <= 300
        assert sample.plaster_dry_kg is not None
        # plaster of at least 15 mm all round, at 1.08 g/mL, weighs more than half a kilogram
        assert sample.plaster_dry_kg > 0.5


def test_the_learned_beaker_s_area_agrees_with_its_bore():
    # frustums by hand: sum of pi (r1 + r2) slant, and the floor; a cut test within 10 % of the drawing
    (beaker,) = [s for s in read_folder(SAMPLES) if s.mould.name == "bud beaker"]
    bore = beaker.mould.bore
    area = math.pi * (bore[-1][1] / 2) ** 2
    for (z1, d1), (z2, d2) in pairwise(bore):
        area += math.pi * (d1 + d2) / 2 * math.hypot(z2 - z1, (d2 - d1) / 2)
    assert beaker.mould.wetted_area_mm2 == pytest.approx(area, rel=0.10)


def test_samples_are_not_the_recordings_pots():
    names = {s.mould.name for s in read_folder(SAMPLES)}
    assert not names & {"bud vase", "cream jug", "mug", "bulb vase", "jam pot", "carafe", "sauce bottle"}
