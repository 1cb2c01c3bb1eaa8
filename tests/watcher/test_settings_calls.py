"""The settings of the calls: what may be set, and a sentence for what may not."""

from __future__ import annotations

from datetime import UTC, datetime, time

import pytest

from watcher.settings import SettingsError, read_settings

HEAD = '[camera]\naddress = "0"\n'


def read(folder, text):
    (folder / "tipbell.toml").write_text(HEAD + text)
    return read_settings(folder / "tipbell.toml")


def test_everything_about_calls_can_be_set(tmp_path):
    settings = read(
        tmp_path,
        '[bench]\nzone = "Europe/Berlin"\n[calls]\nquiet = "22:00-07:00"\nagain_min = [2, 5]\n'
        "hands_hold_min = 1\n"
        'silent_until = 2026-03-10\nsummary_at = "18:30"\ntop_up_min = 8\ncamera_blind_min = 2\n'
        '[[channel]]\nname = "phone"\naddress = "json://127.0.0.1/"\nfrom_step = 1\nwhen_quiet = "nothing"\n',
    )
    rules = settings.calls.rules(settings.bench.zone)
    assert (rules.again_min, rules.hands_hold_min, rules.top_up_min, rules.camera_blind_min) == (
        (2.0, 5.0),
        1,
        8,
        2,
    )
    # midnight in Berlin is 23:00 UTC in winter
    assert rules.silent_until == datetime(2026, 3, 9, 23, tzinfo=UTC)
    assert settings.calls.summary_at == time(18, 30)
    assert settings.calls.quiet == "22:00-07:00"
    assert settings.channel[0].when_quiet == "nothing"


def test_without_a_word_calls_are_on_louder_after_three_minutes_and_the_day_is_summed_up_at_eight(tmp_path):
    calls = read(tmp_path, "").calls
    assert calls.rules("UTC").again_min == (3.0, 6.0, 10.0)
    assert calls.rules("UTC").silent_until is None
    assert (calls.quiet, calls.summary_at) == ("", time(20))


def test_no_summary_can_be_chosen(tmp_path):
    assert read(tmp_path, '[calls]\nsummary_at = ""\n').calls.summary_at is None


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ('quiet = "22-7"', "22:00-07:00"),
        ('quiet = "24:00-07:00"', "22:00-07:00"),
        ('quiet = "07:00-07:00"', "22:00-07:00"),
        ("again_min = [3, 3]", "growing"),
        ("again_min = [6, 3]", "growing"),
        ("again_min = [0]", "growing"),
        ('silent_until = "next week"', "2026-03-10"),
        ('summary_at = "02:30"', "not 01:00 to 04:00"),
        ("summary_at = 02:30:00", "not 01:00 to 04:00"),
        ('summary_at = "8 pm"', "20:00"),
        ("hands_hold_min = 60", "0 to 15"),
        ("top_up_min = 0", "0.5 to 60"),
    ],
)
def test_what_cannot_be_is_refused_with_what_is_wanted(tmp_path, line, wanted):
    with pytest.raises(SettingsError) as refused:
        read(tmp_path, f"[calls]\n{line}\n")
    assert line.split(" ")[0] in str(refused.value)
    assert wanted in str(refused.value)


def test_a_channel_that_is_to_be_quiet_in_an_unknown_way_is_refused(tmp_path):
    with pytest.raises(SettingsError, match='"all", "calls"'):
        read(tmp_path, '[[channel]]\nname = "phone"\naddress = "json://h/"\nwhen_quiet = "no"\n')
