"""`tipbell slip`, as it is typed: published worked examples, the verdict, the day's slip kept."""

from __future__ import annotations

import json
import tomllib

import pytest
from made_recordings import HEAD, JUG, JUG_CARD
from overhead import TOML
from typer.testing import CliRunner

from watcher.__main__ import app
from watcher.storage.journal import open_journal
from watcher.storage.papers import PaperKind

BENCH = HEAD.replace('[clock]\nstart = "2026-03-03T08:10:00Z"', "") + TOML + JUG + JUG_CARD
IN_BAND = ("--litre", "1780", "--band", "1770:1790", "--stirred")


@pytest.fixture
def typed(tmp_path, monkeypatch):
    """`tipbell slip` in an empty folder."""
    monkeypatch.chdir(tmp_path)

    def run(*words: object):
        return CliRunner().invoke(app, ["slip", *(str(word) for word in words)])

    return run


@pytest.fixture
def bench(tmp_path):
    """A bench that is set up, not being watched."""
    (tmp_path / "tipbell.toml").write_text('[camera]\naddress = "0"\n[bench]\nname = "east"\n')
    (tmp_path / "bench.toml").write_text(BENCH)
    return tmp_path


def figures(answer):
    assert answer.exit_code == 0, answer.output
    return json.loads(answer.stdout)


@pytest.mark.parametrize(
    ("words", "gravity"),
    [
        # unit definition: an imperial pint of water weighs 20 oz; 35.5 oz is 1.775
        (("--pint", 35.5), 1.775),
        # a US pint is 473.18 mL: the trade's 750 to 850 g are 1.585 to 1.796
        (("--us-pint", 750), 1.585),
        (("--us-pint", 850), 1.796),
        # 140 and 120 degrees Twaddell are 1.70 and 1.60: textileindonesia.com/kb/twaddell
        (("--twaddell", 140), 1.70),
        (("--twaddell", 120), 1.60),
        # an assaying text with the modulus 144.3: 32 degrees Baume are 1.285 (superbook.org.ua)
        (("--baume", 32, "--modulus", 144.3), 1.285),
    ],
)
def test_every_way_to_weigh_a_slip_gives_its_gravity(typed, words, gravity):
    assert figures(typed(*words, "--json"))["specific_gravity"] == pytest.approx(gravity, abs=0.001)


@pytest.mark.parametrize(
    ("litre", "dry"),
    [
        (1700, 1166.7),  # Norsker and Danisch, Forming Techniques for the Self-Reliant Potter, GTZ 1991
        (1500, 833.3),  # a potters' forum (potters.org, subject 11877); 666.7 g of water
    ],
)
def test_a_litre_holds_the_dry_clay_of_the_published_examples(typed, litre, dry):
    found = figures(typed("--litre", litre, "--grains", 2.5, "--json"))
    assert found["dry_g_per_litre"] == pytest.approx(dry, abs=0.1)
    assert found["water_g_per_litre"] == pytest.approx(litre - dry, abs=0.1)


def test_ten_litres_at_1800_take_two_thirds_of_a_litre_of_water_to_1750(typed):
    # mass balance, by hand: 18.0 kg + w = 1.75 (10 + w), so w = 0.5 / 0.75
    found = figures(typed("--litre", 1800, "--band", "1740:1760", "--tank", 10, "--stirred", "--json"))
    assert found["verdict"] == "too_thick"
    assert found["mending"]["water_l"] == pytest.approx(0.5 / 0.75, rel=1e-6)
    assert found["mending"]["effect"]["time_ratio"] > 1.0  # more water per wall: it takes longer


def test_a_thin_tank_is_mended_with_the_thicker_slip_at_hand_and_the_sum_weighs_right(typed):
    asked = ("--litre", 1700, "--band", "1740:1760", "--tank", 10, "--stirred", "--thicker", 1850)
    found = figures(typed(*asked, "--json"))
    litres = found["mending"]["thicker_l"]
    assert (10 * 1.70 + litres * 1.85) / (10 + litres) == pytest.approx(1.75, abs=1e-9)


def test_no_water_is_spoken_of_before_the_tank_was_stirred(typed):
    answer = typed("--litre", 1800, "--band", "1740:1760", "--tank", 10)
    assert answer.exit_code == 0
    assert answer.stdout.startswith("stir first") and "L of water" not in answer.stdout
    again = typed("--litre", 1800, "--band", "1740:1760", "--tank", 10, "--stirred")
    assert again.stdout.startswith("too thick") and "0.67 L of water" in again.stdout


@pytest.mark.parametrize(("flow", "verdict"), [(45, "good"), (70, "gels"), (20, "runs")])
def test_flow_time_judges_a_slip_of_the_right_weight(typed, flow, verdict):
    found = figures(typed(*IN_BAND, "--flow", flow, "--flow-band", "40:50", "--json"))
    assert found["verdict"] == verdict
    assert found["mending"] is None


def test_a_flow_time_is_never_called_a_viscosity_and_a_cup_outside_its_window_is_said(typed):
    # Ford cup 4 is meant for 20 to 100 s (ASTM D1200)
    said = typed(*IN_BAND, "--flow", 15, "--cup", "ford_4").stdout
    assert "not a viscosity" in said and "20 to 100 s" in said
    assert "20 to 100 s" not in typed(*IN_BAND, "--flow", 45, "--cup", "ford_4").stdout


def test_thixotropy_is_the_ratio_of_the_pair_and_much_of_it_is_warned_of(typed):
    pair = ("--flow", 40, "--stood-min", 10, "--stood")
    assert figures(typed(*IN_BAND, *pair, 70, "--json"))["thixotropy"]["ratio"] == pytest.approx(1.75)
    assert "pour soon after stirring" in typed(*IN_BAND, *pair, 70).stdout
    assert "pour soon after stirring" not in typed(*IN_BAND, *pair, 44).stdout


def test_a_cold_slip_casts_slower_as_water_is_more_viscous(typed):
    # IAPWS-95 by the reference library iapws 1.5.5: 1.1376 mPa s at 15 C, 1.0016 at 20 C
    found = figures(typed(*IN_BAND, "--temperature", 15, "--json"))
    assert found["time_ratio_to_20_c"] == pytest.approx(1.1376 / 1.0016, rel=0.01)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "0 weights"),
        (("--litre", 1750, "--pint", 35), "2 weights"),
        (("--litre", 175), "litre_g is 175; give"),
        (("--litre", "nan"), "litre_g is nan"),
        (("--baume", 60), "baume_modulus is None"),
        (("--litre", 1750, "--band", "1740-1760"), "--band is '1740-1760'"),
        (("--litre", 1750, "--band", "1760:1740"), "at most the upper"),
        (("--litre", 1750, "--band", "1.74:1.76"), "litre_g is 1.74"),
        (("--litre", 1750, "--flow-band", "40:50"), "given alone"),
        (("--litre", 1750, "--cup", "mug", "--flow", 40), "cup is 'mug'"),
        (("--litre", 1750, "--stood", 60), "given alone"),
        (("--litre", 1750, "--flow", 40, "--stood", 60), "go together"),
        (("--litre", 1750, "--flow", 40, "--stood", 20, "--stood-min", 10), "shorter than"),
        (("--litre", 1750, "--temperature", 90), "temperature is 90"),
        (("--litre", 1750, "--band", "1700:1720", "--stirred", "--tank", -3), "tank is -3"),
        (("--litre", 1750, "--stirred", "--write"), "--bench"),
        (("--litre", 1750, "--stirred", "--keep"), "tipbell.toml is not there"),
        (("--litre", 1750, "--bench", "nowhere.toml"), "nowhere.toml"),
    ],
)
def test_what_cannot_be_used_ends_with_one_sentence_and_status_two(typed, words, says):
    answer = typed(*words)
    assert answer.exit_code == 2, answer.output
    assert answer.stderr.count("\n") == 1 and answer.stderr.startswith("tipbell: ")
    assert says in answer.stderr


def test_the_days_slip_is_kept_in_the_benchs_memory_with_what_was_measured(typed, bench):
    answer = typed("--litre", 1755, "--band", "1740:1760", "--stirred", "--temperature", 18, "--keep")
    assert answer.exit_code == 0, answer.output
    assert "specific_gravity = 1.755" in answer.stdout
    journal = open_journal(f"sqlite:///{bench / 'tipbell-memory' / 'journal.db'}", "east")
    try:
        (paper,) = journal.versions(PaperKind.SLIP, "slip")
    finally:
        journal.close()
    kept = tomllib.loads(paper.text)
    assert kept["slip"] == {"specific_gravity": 1.755, "cake_solids_fraction": 0.635}
    assert kept["measured"]["reading"] == 1755 and kept["measured"]["temperature_c"] == 18
    assert (bench / "bench.toml").read_text() == BENCH  # the caster's file is left alone


def test_the_band_of_the_slip_kept_last_judges_the_next_morning(typed, bench):
    typed("--litre", 1755, "--band", "1740:1760", "--stirred", "--keep")
    assert figures(typed("--litre", 1790, "--stirred", "--json"))["verdict"] == "too_thick"
    assert "by your band of" in typed("--litre", 1790, "--stirred").stdout
    # read in another measure, the band does not tell what it means
    assert figures(typed("--gravity", 1.79, "--stirred", "--json"))["verdict"] is None


def test_a_memory_that_is_in_use_is_said_and_nothing_is_kept(typed, bench):
    journal = open_journal(f"sqlite:///{bench / 'tipbell-memory' / 'journal.db'}", "east")
    try:
        answer = typed(*IN_BAND, "--keep", "--write")
        assert answer.exit_code == 2 and "stop it first" in answer.stderr
        assert journal.versions(PaperKind.SLIP, "slip") == ()
    finally:
        journal.close()
    assert (bench / "bench.toml").read_text() == BENCH


def test_only_the_gravity_changes_in_the_benchs_file_and_the_old_one_is_kept(typed, bench):
    noted = BENCH.replace("specific_gravity = 1.78", "specific_gravity = 1.78  # weighed on Monday")
    (bench / "bench.toml").write_text(noted)
    answer = typed("--litre", 1755, "--stirred", "--write")
    assert answer.exit_code == 0, answer.output
    assert (bench / "bench.toml").read_text() == noted.replace("1.78  #", "1.755  #")
    assert (bench / "bench.toml.before").read_text() == noted


def test_a_reading_from_the_settled_bottom_is_answered_with_stir_first_and_cannot_be_kept(typed, bench):
    # thicker than the wall that the bench's file says it casts: (2.05 - 1) / 1.6 is 0.656 against 0.635
    assert typed("--litre", 2050, "--band", "1740:1760").stdout.startswith("stir first")
    kept = typed("--litre", 2050, "--band", "1740:1760", "--stirred", "--keep")
    assert kept.exit_code == 2 and "the slip was not kept" in kept.stderr


def test_an_unstirred_slip_is_not_kept(typed, bench):
    answer = typed("--litre", 1755, "--write")
    assert answer.exit_code == 2 and "stir the tank" in answer.stderr
    assert (bench / "bench.toml").read_text() == BENCH
