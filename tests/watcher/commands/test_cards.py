"""`tipbell cards`, from an empty folder to a sheet at its true size."""

from __future__ import annotations

import tomllib

import pytest

from watcher.commands.cards import cards
from watcher.commands.refused import Refused


def read(folder):
    return tomllib.loads((folder / "sheet.toml").read_text(encoding="utf-8"))


def test_pages_and_the_sheets_table_are_written(tmp_path, capsys):
    cards(tmp_path / "print", moulds=("beaker", 'the "big" jug'), strip=True)
    assert sorted(path.name for path in (tmp_path / "print").iterdir()) == [
        "cards-a4.pdf", "cards-letter.pdf", "sheet.toml"
    ]  # fmt: skip
    held = read(tmp_path / "print")
    assert [tag["id"] for tag in held["sheet"]] == [0, 1, 2, 3]
    assert held["sheet"][0] == {
        "dictionary": "DICT_APRILTAG_36h11", "id": 0, "size_mm": 60.0, "centre_mm": [-98.0, 58.0, 0.0],
        "yaw_deg": 0.0,
    }  # fmt: skip
    assert held["card"][1] == {"name": 'the "big" jug', "tag_id": 11, "tag_size_mm": 30.0}
    assert held["print"]["measured"] is False
    assert "measure the 250 mm and the 160 mm line" in capsys.readouterr().out


def test_a_measured_line_changes_the_sizes_and_keeps_the_cards(tmp_path, capsys):
    cards(tmp_path, paper="a4", moulds=("beaker", "jug"), tag_mm=26.0)
    cards(tmp_path, ruler_mm=245.0, ruler_up_mm=156.8)
    held = read(tmp_path)
    assert held["print"]["scale"] == pytest.approx(0.98)
    assert held["sheet"][1]["size_mm"] == pytest.approx(58.8)
    assert held["sheet"][1]["centre_mm"] == pytest.approx([96.04, 56.84, 0.0])
    assert [card["tag_size_mm"] for card in held["card"]] == pytest.approx([25.48, 25.48])
    assert "2.0 % smaller" in capsys.readouterr().out
    cards(tmp_path, ruler_mm=250.0)  # measured again: from the drawn size, not from the last measure
    assert read(tmp_path)["card"][0]["tag_size_mm"] == pytest.approx(26.0, abs=1e-3)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"paper": "a3"}, "--paper is 'a3'; give a4, letter or both"),
        ({"ruler_up_mm": 160.0}, "--ruler-up is given without --ruler"),
        ({"ruler_mm": 25.0}, "looks like centimetres"),
        ({"moulds": ("cup", "cup")}, "two moulds have the name 'cup'"),
    ],
)
def test_what_cannot_be_used_is_refused_and_nothing_is_written(tmp_path, asked, said):
    with pytest.raises(Refused) as refused:
        cards(tmp_path / "print", **asked)
    assert said in str(refused.value)
    assert not (tmp_path / "print").exists()


def test_a_file_of_cards_that_was_spoilt_is_named(tmp_path):
    (tmp_path / "sheet.toml").write_text("not toml [", encoding="utf-8")
    with pytest.raises(Refused) as refused:
        cards(tmp_path, ruler_mm=250.0)
    assert "print the cards anew" in str(refused.value)
