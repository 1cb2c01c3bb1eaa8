"""Two pour holes of one mould on drawn benches: all are read, one hidden, burnt out or wrong does no harm."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from drawn_benches import Looked, rms, watch

from watcher.records.layout import BenchLayout
from watcher.records.readings import Contents, LevelReading, Missed
from watcher.simulator.bench import SimBench, on_bench
from watcher.simulator.coverings import Cover, SunPatch
from watcher.simulator.faults import Faults, Hand
from watcher.simulator.samples import odd_bench
from watcher.vision.agreeing import agreed

TIMES = [float(t) for t in range(0, 620, 20)]
FROM_S, TO_S = 290.0, 470.0


@pytest.fixture(scope="module")
def twin() -> SimBench:
    bench = odd_bench()
    return replace(bench, moulds=bench.moulds[1:])


@pytest.fixture(scope="module")
def calm(twin: SimBench) -> list[Looked]:
    return next(iter(watch(twin, TIMES)[0].values()))


def seen(bench: SimBench, faults: Faults, layout: BenchLayout | None = None) -> list[Looked]:
    return next(iter(watch(bench, TIMES, faults, layout)[0].values()))


def readings(looked: list[Looked], from_s: float = 0.0, to_s: float = 1e9) -> list[LevelReading]:
    found = [x.seen.reading for x in looked if from_s <= x.at_s < to_s and x.true.phase == "casting"]
    assert all(isinstance(r, LevelReading) for r in found)
    return [r for r in found if isinstance(r, LevelReading)]


def errors(looked: list[Looked], from_s: float = 0.0, to_s: float = 1e9) -> list[float]:
    return [x.error_mm for x in looked if x.error_mm is not None and from_s <= x.at_s < to_s]


def moving_hand(bench: SimBench, hole: int) -> Hand:
    mould = bench.moulds[0]
    x, y = mould.profile.holes[hole].centre_mm
    outward = -1.0 if x < 0 else 1.0
    at = on_bench(mould, mould.seat, np.array([[x + 60.0 * outward, y - 20.0, 25.0]]))[0]
    return Hand(FROM_S, TO_S, (float(at[0]), float(at[1]), float(at[2])), 0.0 if outward < 0 else 180.0)


def half_seen(bench: SimBench, hole: int) -> BenchLayout:
    """The bench as it would be described if the mould had only this pour hole."""
    layout = bench.layout()
    placed = layout.moulds[0]
    only = replace(placed.profile, holes=(placed.profile.holes[hole],))
    return replace(layout, moulds=(replace(placed, profile=only),))


def test_both_holes_together_are_surer_than_either_alone(twin: SimBench, calm: list[Looked]) -> None:
    both = readings(calm, 200.0)
    assert rms(errors(calm)) < 0.25
    for hole in (0, 1):
        one = readings(seen(twin, Faults(), half_seen(twin, hole)), 200.0)
        for together, alone in zip(both, one, strict=True):
            assert together.sigma_mm < 0.95 * alone.sigma_mm
            assert together.drift_sigma_mm < alone.drift_sigma_mm


@pytest.mark.parametrize("hole", [0, 1])
def test_with_a_hand_over_one_hole_the_other_is_read_and_no_step_is_seen(twin: SimBench, hole: int) -> None:
    looked = seen(twin, Faults(hands=(moving_hand(twin, hole),)))
    during = [x for x in looked if FROM_S <= x.at_s < TO_S]
    assert any(x.seen.hand_near for x in during)
    before, hidden, after = (errors(looked, *span) for span in ((200, FROM_S), (FROM_S, TO_S), (TO_S, 1e9)))
    assert len(hidden) == len(during)
    assert abs(np.mean(hidden) - np.mean(before)) < 0.06
    assert abs(np.mean(after) - np.mean(before)) < 0.06


def test_with_one_hole_hidden_the_level_is_said_to_be_less_sure(twin: SimBench, calm: list[Looked]) -> None:
    looked = seen(twin, Faults(hands=(moving_hand(twin, 0),)))
    for one, both in zip(readings(looked, FROM_S, TO_S), readings(calm, FROM_S, TO_S), strict=True):
        assert one.sigma_mm > both.sigma_mm


@pytest.mark.parametrize("hole", [0, 1])
def test_with_one_hole_burnt_out_by_the_sun_the_other_is_read(twin: SimBench, hole: int) -> None:
    name = twin.moulds[0].name
    looked = seen(twin, Faults(sun_patches=(SunPatch(FROM_S, TO_S, name, hole),)))
    assert len(errors(looked, FROM_S, TO_S)) == len([x for x in looked if FROM_S <= x.at_s < TO_S])
    assert rms(errors(looked)) < 0.25


def test_with_both_burnt_out_that_is_the_reason(twin: SimBench) -> None:
    name = twin.moulds[0].name
    looked = seen(twin, Faults(sun_patches=tuple(SunPatch(FROM_S, TO_S, name, k) for k in (0, 1))))
    assert {x.seen.reading for x in looked if FROM_S <= x.at_s < TO_S} == {Missed.BLOWN_OUT}
    assert rms(errors(looked, TO_S)) < 0.25


def test_slip_that_came_in_while_one_hole_was_covered_is_read_in_the_other(twin: SimBench) -> None:
    name = twin.moulds[0].name
    looked = seen(twin, Faults(covers=(Cover(100.0, 330.0, name, 0),)))
    during = [x for x in looked if 200.0 <= x.at_s < 330.0]
    assert all(x.error_mm is not None and x.seen.contents is Contents.SLIP for x in during)
    assert rms(errors(looked, 330.0)) < 0.3


def level(mm: float, sigma_mm: float = 0.3) -> LevelReading:
    return LevelReading(mm, sigma_mm, 0.1, 0.95)


def test_two_that_agree_are_weighted_by_what_each_has_to_itself() -> None:
    """By hand: half of the lasting variance 0.09 - 0.01 is shared, 0.05 is each one's own: 0.04 + 0.025."""
    found = agreed((level(5.0), level(5.2)), None)
    assert found is not None
    assert found.weights == pytest.approx((0.5, 0.5))
    assert found.reading.level_mm == pytest.approx(5.1)
    assert found.reading.sigma_mm == pytest.approx(0.065**0.5)
    assert found.reading.drift_sigma_mm == pytest.approx(0.1 / 2**0.5)


def test_two_that_differ_by_more_than_they_claim_are_less_sure_than_one() -> None:
    found = agreed((level(5.0), level(7.0)), None)
    assert found is not None
    assert found.reading.level_mm == pytest.approx(6.0)
    assert found.reading.sigma_mm > 0.9


def test_the_one_that_is_not_where_the_level_must_be_is_left_out() -> None:
    found = agreed((level(5.0), level(8.0)), 5.2)
    assert found is not None
    assert found.weights == (1.0, 0.0)
    three = agreed((level(5.0), level(5.1), level(11.0)), None)
    assert three is not None
    assert three.weights[2] == 0.0


def test_two_that_contradict_each_other_with_nothing_to_tell_them_apart_give_no_level() -> None:
    assert agreed((level(2.0), level(9.0)), None) is None
