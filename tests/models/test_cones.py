"""Truth: chart values seen second hand [S37, read]."""

import math

import pytest

from models.cones import cone_c, known_cones
from models.doors import BadValue


@pytest.mark.parametrize(
    ("cone", "rate", "c", "f"),
    [
        ("06", 60, 998, 1828),
        ("04", 60, 1063, 1945),
        ("6", 60, 1222, 2232),
        ("5", 60, 1186, 2167),
        ("05", 60, 1031, 1888),
        ("03", 60, 1086, 1987),
        ("6", 15, 1185, 2165),
        ("6", 150, 1243, 2269),
        ("04", 150, 1077, 1971),
        ("06", 15, 981, 1798),
    ],
)
def test_the_chart_in_both_scales(cone, rate, c, f):
    assert cone_c(cone, rate) == pytest.approx(c, abs=1)
    assert (f - 32) / 1.8 == pytest.approx(c, abs=1)  # the two printed scales agree


def test_faster_firing_bends_hotter():
    assert cone_c("6", 30) < cone_c("6", 60) < cone_c("6", 100)


def test_zero_six_is_not_six():
    assert known_cones()[0] == "06"
    assert known_cones()[-1] == "6"
    assert cone_c("6") - cone_c("06") == pytest.approx(224)


@pytest.mark.parametrize("bad", [math.nan, 0, -1, 1000])
def test_what_the_chart_does_not_hold_is_refused(bad):
    with pytest.raises(BadValue, match=r"^heating rate is "):
        cone_c("6", bad)
    with pytest.raises(BadValue, match=r"^cone is '17'; give one of 06, 05, 04, 03, 5, 6"):
        cone_c("17")
