"""The simulated casts against closed forms, against book-keeping, and against another integration."""

from __future__ import annotations

import importlib
import math
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from models.mould import MouldProfile
from watcher.simulator.truth import CastingMould, Inside, SimCast

MAKE = Path(__file__).resolve().parents[3] / "sample_frames" / "make"
SLIP_PER_CAKE = 0.64 / ((1.76 - 1.0) / 1.6)
JAR = MouldProfile("jar", ((0, 74), (20, 68), (27, 62), (60, 84), (92, 66)))
TUBE = MouldProfile("tube", ((0, 400), (200, 400)))


@pytest.fixture
def other() -> Iterator[ModuleType]:
    """The renderer's integration (midpoint steps, another grid), written apart from this one."""
    sys.path.insert(0, str(MAKE))
    yield importlib.import_module("casting")
    sys.path.remove(str(MAKE))
    sys.modules.pop("casting", None)


def casting(profile: MouldProfile, cast: SimCast) -> CastingMould:
    return CastingMould(profile, (cast,), SLIP_PER_CAKE)


def test_a_wall_grows_by_the_square_root_law() -> None:
    cast = SimCast(0.0, 10.0, k_mm2_per_min=0.9, resistance_mm=0.0)
    mould = casting(TUBE, cast)
    for minutes in (5, 10, 20):
        inside = mould.at(60.0 * minutes)
        deep = inside.clay_mm[inside.depths_mm > 150.0][0]
        assert deep == pytest.approx(math.sqrt(0.9 * minutes), rel=0.01)


def test_a_resistance_and_a_fading_plaster_slow_the_wall_as_their_integrals_say() -> None:
    cast = SimCast(0.0, 10.0, 0.9, resistance_mm=0.4, fading_s=900.0)
    inside = casting(TUBE, cast).at(1200.0)
    deep = inside.clay_mm[inside.depths_mm > 150.0][0]
    drunk = 0.9 * (900.0 / 60.0) * math.log1p(1200.0 / 900.0)
    assert deep**2 + 0.4 * deep == pytest.approx(drunk, rel=0.01)


def test_in_a_wide_tub_the_slip_sinks_by_the_water_that_the_cake_gave_up() -> None:
    cast = SimCast(0.0, 10.0, 0.9, resistance_mm=0.0)
    mould = casting(TUBE, cast)
    first, last = mould.at(60.0), mould.at(900.0)
    assert first.level_mm is not None and last.level_mm is not None
    wall_0, wall_1 = math.sqrt(0.9), math.sqrt(0.9 * 15)
    grown = 2 * math.pi * 200 * 198 * (wall_1 - wall_0) + math.pi * 200**2 * (wall_1 - wall_0)
    expected = (SLIP_PER_CAKE - 1) * grown / (math.pi * 200**2)
    assert last.level_mm - first.level_mm == pytest.approx(expected, rel=0.06)


@pytest.mark.parametrize("k", [0.6, 2.5])
def test_another_integration_finds_the_same_level_and_wall(other: ModuleType, k: float) -> None:
    cast = SimCast(20.0, 60.0, k, resistance_mm=0.25)
    mould = casting(JAR, cast)
    slip = other.Slip(1.76, 0.64)
    theirs = other.Mould(other.Cavity(JAR.bore, 27.0), slip, 2.4)
    run = other.run_mould(theirs, [other.Cast(20.0, 60.0, k, 0.25, 0.0)], 1000.0)
    for time_s in (80.0, 300.0, 900.0):
        mine, there = mould.at(time_s), run.at(time_s)
        assert mine.level_mm == pytest.approx(there.level_mm, abs=0.15)
        assert mine.wall_mm == pytest.approx(there.wall_mm, abs=0.03)


def test_cake_that_the_sinking_slip_has_left_stops_growing() -> None:
    bottle = MouldProfile("bottle", ((0, 34), (24, 29), (36, 26), (66, 66), (110, 70)))
    mould = casting(bottle, SimCast(0.0, 40.0, 0.8))
    early, late = mould.at(400.0), mould.at(1500.0)
    assert late.level_mm is not None and late.level_mm > 25.0
    at_10 = [float(np.interp(10.0, i.depths_mm, i.clay_mm)) for i in (early, late)]
    assert at_10[1] == pytest.approx(at_10[0], abs=0.02)
    assert late.wall_mm > early.wall_mm + 0.5


def test_a_top_up_brings_the_slip_back_to_the_mark_and_leaves_the_wall_alone() -> None:
    mould = casting(JAR, SimCast(0.0, 30.0, 1.0, mark_mm=3.0, top_ups=((600.0, 620.0),)))
    before, during, after = mould.at(596.0), mould.at(610.0), mould.at(622.0)
    assert (before.phase, during.phase, after.phase) == ("casting", "topping_up", "casting")
    assert before.level_mm is not None and before.level_mm > 5.0
    assert after.level_mm == pytest.approx(3.0, abs=0.15)
    left_alone = casting(JAR, SimCast(0.0, 30.0, 1.0, mark_mm=3.0)).at(622.0)
    assert after.wall_mm == pytest.approx(left_alone.wall_mm, abs=0.005)


def test_a_ladle_of_slip_lowers_the_level_by_its_volume_and_grows_no_wall() -> None:
    kept = casting(JAR, SimCast(0.0, 30.0, 0.8)).at(500.0)
    robbed = casting(JAR, SimCast(0.0, 30.0, 0.8, lost_ml=((400.0, 20.0),))).at(500.0)
    assert kept.level_mm is not None and robbed.level_mm is not None
    open_mm2 = math.pi * (36.0 - float(np.interp(6.0, kept.depths_mm, kept.clay_mm))) ** 2
    assert robbed.level_mm - kept.level_mm == pytest.approx(20_000 / open_mm2, rel=0.08)
    assert robbed.wall_mm == pytest.approx(kept.wall_mm, abs=0.01)


def test_a_cast_is_empty_then_fills_casts_is_tipped_and_taken_out() -> None:
    mould = casting(JAR, SimCast(20.0, 60.0, 1.0, tip_s=600.0, clean_s=900.0))
    stages: list[Inside] = [mould.at(t) for t in (0.0, 40.0, 300.0, 700.0, 950.0)]
    assert [s.phase for s in stages] == ["empty", "filling", "casting", "tipped", "empty"]
    assert [s.level_mm is None for s in stages] == [True, False, False, True, True]
    assert stages[3].wall_mm > 1.5 and stages[4].wall_mm == 0.0


def test_moments_are_asked_for_in_growing_order() -> None:
    mould = casting(JAR, SimCast(0.0, 30.0, 1.0))
    mould.at(100.0)
    with pytest.raises(ValueError, match="growing order"):
        mould.at(50.0)


def test_the_wall_is_wetted_only_as_high_as_the_slip_has_stood() -> None:
    mould = casting(JAR, SimCast(0.0, 40.0, 0.8, mark_mm=3.0))
    marks = [mould.at(t) for t in (10.0, 20.0, 44.0, 600.0)]
    assert marks[0].mark_mm == pytest.approx(marks[0].level_mm) and marks[0].mark_mm > 40.0
    assert marks[1].mark_mm == pytest.approx(marks[1].level_mm)
    assert marks[2].mark_mm == pytest.approx(3.0, abs=0.3)
    assert marks[3].mark_mm == marks[2].mark_mm and marks[3].level_mm > 5.0
