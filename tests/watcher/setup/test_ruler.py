"""A measured ruler line gives the print's scale, or the sentence on why it cannot."""

from __future__ import annotations

import pytest

from watcher.setup.ruler import PrintScale, WrongScale, print_scale


def test_a_line_measured_as_drawn_says_the_print_is_true():
    found = print_scale(250.0, 250.0, 160.0, 160.0)
    assert isinstance(found, PrintScale)
    assert found.factor == pytest.approx(1.0)
    assert found.sentence() == "The print is true to size."


def test_a_page_shrunk_to_its_margins_is_reckoned_with():
    found = print_scale(250.0, 242.5, 155.2, 160.0)
    assert isinstance(found, PrintScale)
    assert found.factor == pytest.approx(0.97, abs=1e-6)
    assert "3.0 % smaller" in found.sentence()


def test_two_lines_are_surer_than_one():
    one, both = print_scale(250.0, 250.0), print_scale(250.0, 250.0, 160.0, 160.0)
    # 0.3 mm of reading error each: 0.3 / 250, and 0.3 / hypot(250, 160)
    assert one.sigma == pytest.approx(0.0012)
    assert both.sigma == pytest.approx(0.3 / 296.816, rel=1e-4)


@pytest.mark.parametrize(
    ("measured", "said"),
    [
        (9.84, "looks like inches; give millimetres (249.9?)"),
        (25.0, "looks like centimetres; give millimetres (250.0?)"),
        (200.0, "print again at 100 %"),
        (375.0, "print again at 100 %"),
        (0.0, "measure from end mark to end mark"),
        (-250.0, "measure from end mark to end mark"),
        (float("nan"), "measure from end mark to end mark"),
        (float("inf"), "measure from end mark to end mark"),
    ],
)
def test_an_absurd_length_is_refused_with_what_it_may_be(measured, said):
    found = print_scale(250.0, measured)
    assert isinstance(found, WrongScale)
    assert said in found.why


def test_a_print_stretched_one_way_is_refused():
    found = print_scale(250.0, 250.0, 157.0, 160.0)
    assert isinstance(found, WrongScale)
    assert "100.0 % of its size one way and 98.1 % the other" in found.why
