"""Truth: days simulated here with a known culprit; what one can say from one cast worked by hand."""

import math

import numpy as np
import pytest

from models.blame import Culprit, Residual, blame
from models.doors import BadValue


def _day(rng, *, shared=0.0, since=0.0, slow=None, own=0.0, moulds=5, casts=4):
    day = []
    for m in range(moulds):
        habit = rng.normal(0, 0.03)
        for n in range(casts):
            at = 8.0 + 2.0 * n + 0.2 * m
            shift = (shared if at >= since else 0.0) + (own if f"m{m}" == slow else 0.0) + habit
            day.append(Residual(f"m{m}", at, shift + rng.normal(0, math.hypot(0.06, 0.05)), 0.05))
    return day


def _share(rng, want, runs=40, **day):
    return sum(want(blame(_day(rng, **day))) for _ in range(runs)) / runs


def test_a_slip_that_slows_everybody_is_blamed_on_all():
    rng = np.random.default_rng(1)
    assert _share(rng, lambda b: b.culprit is Culprit.ALL, shared=math.log(1.2)) > 0.9


def test_one_damp_mould_is_blamed_alone():
    rng = np.random.default_rng(2)
    hits = {
        ratio: _share(
            rng,
            lambda b: b.culprit is Culprit.ONE and b.mould == "m3",
            runs=40,
            slow="m3",
            own=math.log(ratio),
        )
        for ratio in (1.25, 1.4)
    }
    assert hits[1.25] > 0.55  # near the edge: the rest is "unclear"
    assert hits[1.4] > 0.9


def test_a_day_like_any_other_blames_nobody():
    rng = np.random.default_rng(3)
    assert _share(rng, lambda b: b.culprit is Culprit.NOTHING) > 0.9


def test_since_when_is_found():
    rng = np.random.default_rng(4)
    said = [blame(_day(rng, shared=0.2, since=12.0)) for _ in range(30)]
    found = [b.since_h for b in said if b.culprit is Culprit.ALL and b.since_h is not None]
    assert len(found) > 15
    assert abs(float(np.median(found)) - 12.0) <= 0.5


def test_how_slow_is_within_the_range():
    rng = np.random.default_rng(5)
    ratios = [blame(_day(rng, shared=math.log(1.2), casts=6)).time_ratio for _ in range(60)]
    assert sum(r.low <= 1.2 <= r.high for r in ratios) / 60 == pytest.approx(0.8, abs=0.16)


def test_one_mould_alone_cannot_be_told_from_its_slip():
    said = blame([Residual("only", float(n), 0.25, 0.05) for n in range(5)])
    assert said.culprit is Culprit.UNCLEAR
    assert said.time_ratio.low < math.exp(0.25) < said.time_ratio.high * 1.05


def test_no_cast_blames_nobody():
    assert blame([]).culprit is Culprit.NOTHING


@pytest.mark.parametrize("bad", [math.nan, 1e6, -1e6])
def test_absurd_residuals_are_refused(bad):
    with pytest.raises(BadValue, match=r"^cast 1 log ratio is "):
        blame([Residual("a", 0.0, bad, 0.05)])
    with pytest.raises(BadValue, match=r"^cast 1 sigma is "):
        blame([Residual("a", 0.0, 0.0, bad)])
    with pytest.raises(BadValue, match=r"^cast 1 sigma is 0"):
        blame([Residual("a", 0.0, 0.0, 0.0)])
    with pytest.raises(BadValue, match=r"^cast 1 names no mould"):
        blame([Residual("", 0.0, 0.0, 0.05)])
