"""What the set-up's thinking says is shown in German too, where a page shows it without being asked."""

from __future__ import annotations

from models.target_list import STARTING_WALLS
from watcher.page.setup.words_told import TOLD, told_in
from watcher.setup.coverage import coverage


def test_every_view_of_the_board_that_is_missing_is_said_in_german():
    said = coverage([], []).missing
    assert len(said) == 11  # four corners, four tilts, near, far, and how many more
    assert [one for one in said if told_in("de", one) == one] == []


def test_the_starting_walls_are_named_in_german():
    assert [one.use for one in STARTING_WALLS if told_in("de", one.use) == one.use] == []


def test_a_number_stays_in_its_sentence_and_english_stays_as_it_is():
    assert told_in("de", "8 more views") == "noch 8 Ansichten"
    assert told_in("en", "8 more views") == "8 more views"


def test_what_is_not_known_is_shown_as_it_came():
    assert told_in("de", "mugs of 4 sizes") == "mugs of 4 sizes"
    assert all("{n}" in german for english, german in TOLD.items() if "{n}" in english)
