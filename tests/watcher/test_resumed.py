"""A bench that goes on after a restart answers as if watched all along; with a doubt, less surely.

The levels sink by a volume balance of the tests' own (`sinking`); nothing of the project's models is in them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from sinking import sinking_level

from models.mould import checked_mould
from models.slip import Slip
from watcher.pipeline import advance, new_bench, resumed
from watcher.records.bench import Bench, MouldState
from watcher.records.layout import BenchLayout, PlacedMould
from watcher.records.readings import Contents, HoleSighting, LevelReading, Missed, Sighting

START = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)
SLIP = Slip(1.76, 0.63)
POTS = 6
NAMES = tuple(f"pot {number}" for number in range(POTS))
MOULDS = tuple(
    PlacedMould(name, checked_mould(name, [[0, 60 + 3 * i], [90, 60 + 3 * i]], target_wall_mm=2.4))
    for i, name in enumerate(NAMES)
)
EVERY_S = 20.0


def fresh() -> Bench:
    return new_bench(BenchLayout("bench", None, (), MOULDS), SLIP)


def watched(seed: int, until_s: float) -> Bench:
    """Watch six pots poured within a quarter of an hour, whose plaster drinks at different rates."""
    rng = np.random.default_rng(seed)
    k = np.exp(rng.normal(0.4, 0.3, POTS))
    poured = np.sort(rng.uniform(50.0, 900.0, POTS))
    curves = [
        sinking_level(
            radius_mm=30.0 + 1.5 * i,
            depth_mm=90.0,
            k_mm2_per_min=float(k[i]),
            water_per_cake=SLIP.water_per_cake,
            full_mm=4.0,
            seconds=2000,
        )
        for i in range(POTS)
    ]
    bench = fresh()
    for at_s in np.arange(0.0, until_s, EVERY_S):
        holes = []
        for i, name in enumerate(NAMES):
            if at_s < poured[i]:
                holes.append(HoleSighting(name, Missed.UNCERTAIN, Contents.EMPTY))
            else:
                level_mm = float(curves[i][int(at_s - poured[i])] + rng.normal(0.0, 0.1))
                holes.append(HoleSighting(name, LevelReading(level_mm, 0.25, 0.1), Contents.SLIP))
        at = START + timedelta(seconds=float(at_s))
        bench = advance(bench, Sighting("bench", float(at_s), at, tuple(holes))).bench
    return bench


def without_fits(bench: Bench) -> Mapping[str, MouldState]:
    """Return the moulds as a journal gives them back: levels and dates, nothing worked out."""
    return {
        name: replace(state, cast=replace(state.cast, fit=None) if state.cast is not None else None)
        for name, state in bench.moulds.items()
    }


def k_of(bench: Bench) -> np.ndarray:
    return np.array([state.cast.fit.k_mm2_per_min.value for state in bench.moulds.values()])


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_after_a_restart_the_plaster_drinks_as_fast_as_before(seed: int) -> None:
    """Fitted once, one after the other, they came out 12 to 39 % apart."""
    bench = watched(seed, 1200.0)
    again = resumed(fresh(), without_fits(bench), (), 0.0)
    assert k_of(again) == pytest.approx(k_of(bench), rel=0.06)


def test_the_order_of_the_moulds_does_not_matter_after_a_restart() -> None:
    moulds = without_fits(watched(1, 1200.0))
    backwards = new_bench(BenchLayout("bench", None, (), MOULDS[::-1]), SLIP)
    assert k_of(resumed(backwards, moulds, (), 0.0))[::-1] == pytest.approx(
        k_of(resumed(fresh(), moulds, (), 0.0)), rel=1e-3
    )


def test_a_doubtful_clock_widens_the_range_of_every_cast() -> None:
    moulds = without_fits(watched(1, 1200.0))
    sure, doubtful = resumed(fresh(), moulds, (), 0.0), resumed(fresh(), moulds, (), 3600.0)
    for name in NAMES:
        one, other = (bench.moulds[name].cast.estimate for bench in (sure, doubtful))
        # not by much: how steeply the levels begin tells the pour as well
        assert other.ready_high_s - other.ready_low_s > one.ready_high_s - one.ready_low_s
        pours = [bench.moulds[name].cast.fillings[0] for bench in (sure, doubtful)]
        assert pours[1].earliest_s == pours[0].earliest_s - 3600.0


def test_the_days_casts_go_on_counting_after_a_restart_and_start_anew_the_next_day() -> None:
    bench = watched(1, 1200.0)
    same = resumed(fresh(), without_fits(bench), (), 0.0, START + timedelta(seconds=1200))
    assert same.moulds["pot 0"].casts_today == 1
    empty = HoleSighting("pot 0", Missed.UNCERTAIN, Contents.AWAY)
    later = START + timedelta(hours=20)
    next_day = advance(same, Sighting("bench", 72000.0, later, (empty,))).bench
    assert next_day.moulds["pot 0"].casts_today == 0
