"""A drawn day is one that a caster could have had, and its readings err as the eyes were measured to err."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
import pytest

from watcher.records.readings import Contents, LevelReading, Sighting
from watcher.simulator.read_levels import PLACING_MM, Reader
from watcher.simulator.true_cast import cast_through
from watcher.simulator.truth import SimCast
from watcher.simulator.working_day import HANDS_S, Odds, WorkingDay, working_day
from watcher.simulator.workshop import workshop

START = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)
BENCH = workshop(3, seed=4)


def calm() -> WorkingDay:
    """Return a day on which nothing goes wrong, nobody comes too soon and nothing is topped up."""
    none = Odds(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    return working_day(BENCH, (4, 1), odds=none)


def test_one_pair_of_hands_pours_one_mould_after_the_other() -> None:
    day = working_day(BENCH, (4, 0))
    starts = sorted(cast.cast.fill_from_s for cast in day.casts)
    assert all(after - before >= HANDS_S for before, after in pairwise(starts))
    for mould in BENCH.moulds:
        own = [cast.cast for cast in day.casts if cast.mould == mould.name]
        assert all(before.clean_s < after.fill_from_s for before, after in pairwise(own))


def test_a_cast_that_the_caster_leaves_too_soon_is_never_ready() -> None:
    mould = BENCH.moulds[0]
    plain = SimCast(0.0, 30.0, 1.0)
    early = cast_through(mould.profile, plain, BENCH.slip_per_cake, longer=0.6, after_s=0.0)
    late = cast_through(mould.profile, plain, BENCH.slip_per_cake, longer=1.4, after_s=0.0)
    assert early.ready_s is None and late.ready_s is not None
    assert late.tip_s - 30.0 == pytest.approx(1.4 * (late.ready_s - 30.0))


def test_the_truth_of_a_cast_follows_the_law_of_cake_and_plaster_in_series() -> None:
    """L2 + r L = K t on a flat wall: 3.0 mm at K 1.0 and r 0.2 takes 9.6 min; the mean wall lags a little,
    for the slip reaches the upper wall only as it is poured."""
    mould = BENCH.moulds[0]
    thin_mm = mould.profile.target_wall_mm[0]
    cast = cast_through(
        mould.profile,
        SimCast(0.0, 30.0, 1.0, resistance_mm=0.2),
        BENCH.slip_per_cake,
        longer=1.2,
        after_s=0.0,
    )
    assert cast.ready_s == pytest.approx(60.0 * (thin_mm**2 + 0.2 * thin_mm), rel=0.06)


def test_readings_err_by_what_a_placement_shares_and_hardly_from_look_to_look() -> None:
    day = calm()
    reader = Reader(day, 5)
    errors: dict[str, list[float]] = {}
    for at_s in np.arange(0.0, day.end_s, 20.0):
        seen = reader.look(float(at_s), float(at_s), START + timedelta(seconds=float(at_s)))
        assert isinstance(seen, Sighting)
        for hole in seen.holes:
            standing = [c for c in day.casts if c.mould == hole.mould and c.level_mm(float(at_s)) is not None]
            if isinstance(hole.reading, LevelReading):
                assert standing, "nothing is read where no slip stands"
                errors.setdefault(f"{hole.mould}/{hole.placement}", []).append(
                    hole.reading.level_mm - standing[0].level_mm(float(at_s))
                )
            if not standing:
                assert (
                    hole.contents is not Contents.SLIP
                    or hole.hand_near
                    or any(
                        c.cast.fill_from_s <= at_s < c.cast.filled_s
                        for c in day.casts
                        if c.mould == hole.mould
                    )
                )
    assert errors
    steps = [b - a for own in errors.values() for a, b in pairwise(own) if abs(b - a) < 1.0]
    assert float(np.std(steps)) < 0.12
    middles = [float(np.median(own)) for own in errors.values() if len(own) > 5]
    assert all(abs(middle - PLACING_MM[0]) < 4.0 * PLACING_MM[1] for middle in middles)


def test_the_same_seed_draws_the_same_day() -> None:
    one, other = working_day(BENCH, (4, 2)), working_day(BENCH, (4, 2))
    assert one.faults == other.faults and one.words == other.words
    assert [cast.cast for cast in one.casts] == [cast.cast for cast in other.casts]
