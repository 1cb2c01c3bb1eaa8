"""Truth: straight lines in log K worked by hand; mould life 80-200 casts [S21, read, trade]."""

import math

import numpy as np
import pytest

from models.ageing import ageing
from models.doors import BadValue
from models.mould_memory import MouldMemory


def _memory(rate, sigma, used=50):
    covariance = np.diag([0.01, 0.1, 0.1, sigma**2])
    return MouldMemory(np.array([0.5, 1.8, 0.0, rate]), covariance, 0.06, used)


def test_a_mould_that_loses_a_quarter_in_100_casts():
    said = ageing(_memory(math.log(0.75), 0.03))
    assert said.slowing
    assert said.per_100_casts.value == pytest.approx(0.75)
    # ln .7/ln .75 x 100 = 124 casts
    assert said.casts_until.value == pytest.approx(124.0, abs=0.1)
    assert said.casts_until.low < 124 < said.casts_until.high


def test_a_mould_of_which_little_is_known_is_not_called_worn():
    said = ageing(_memory(0.0, 0.1, used=0))
    assert not said.slowing
    assert not said.quickening
    assert said.casts_until is None


def test_a_hint_of_slowing_has_an_open_end():
    assert ageing(_memory(-0.05, 0.1)).casts_until.high == math.inf


def test_a_mould_that_opens_up_is_said_to_quicken():
    assert ageing(_memory(0.2, 0.05)).quickening


@pytest.mark.parametrize("bad", [math.nan, 0.0, -1.0, 1.0, 7.0])
def test_absurd_shares_are_refused(bad):
    with pytest.raises(BadValue, match=r"^worn share is "):
        ageing(_memory(-0.1, 0.05), worn_share=bad)
