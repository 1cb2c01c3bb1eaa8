"""Truth: worked figures of the cup standards, seen second hand [S8]."""

import math

import pytest

from models.doors import BadValue
from models.flow_cups import CompareOnly, Cup, CupViscosity, read_cup, thixotropy


@pytest.mark.parametrize(
    ("cup", "seconds", "mm2_s", "tol"),
    [
        (Cup.FORD_4, 80, 290.7135, 0.01),  # [read]
        (Cup.ISO_3_MM, 57, 21.7422, 0.001),  # [read]
        (Cup.ISO_4_MM, 50, 64.5, 0.001),  # [read]
        (Cup.DIN_4_MM, 97, 438.6302, 0.001),  # [read]
    ],
)
def test_worked_figures(cup, seconds, mm2_s, tol):
    read = read_cup(cup, seconds, thixotropic=False)
    assert isinstance(read, CupViscosity)
    assert read.viscosity_mm2_s == pytest.approx(mm2_s, abs=tol)


@pytest.mark.parametrize(
    ("cup", "seconds"),
    [(Cup.FORD_4, 15), (Cup.FORD_1, 54), (Cup.FORD_2, 39), (Cup.ISO_3_MM, 29), (Cup.ISO_6_MM, 101)],
)
def test_times_outside_a_cup_s_window_are_refused(cup, seconds):
    with pytest.raises(BadValue, match=r"^flow time is .*; give .* to .* s for this cup"):
        read_cup(cup, seconds, thixotropic=False)


def test_slip_is_compared_and_never_called_a_viscosity():
    read = read_cup(Cup.FORD_4, 15)
    assert isinstance(read, CompareOnly)
    assert read.seconds == 15
    assert "not a viscosity" in read.why


@pytest.mark.parametrize("bad", [math.nan, 0, -3, 1e6])
def test_absurd_times_are_refused(bad):
    with pytest.raises(BadValue, match=r"^flow time is "):
        read_cup(Cup.FORD_4, bad)
    with pytest.raises(BadValue, match=r"^flow time stirred is "):
        thixotropy(bad, 30, 5)
    with pytest.raises(BadValue, match=r"^flow time after standing is "):
        thixotropy(30, bad, 5)
    with pytest.raises(BadValue, match=r"^wait is "):
        thixotropy(30, 40, bad)


def test_a_slip_that_thickens_shows_it():
    pair = thixotropy(30, 45, 5)
    assert pair.ratio == 1.5
    assert pair.stood_min == 5


def test_a_slip_that_runs_faster_after_standing_was_not_stirred():
    with pytest.raises(BadValue, match="stir the slip through"):
        thixotropy(45, 30, 5)
