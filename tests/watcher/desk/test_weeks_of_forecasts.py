"""Weeks of casts drawn by rules of their own; the desk's forecasts beside what then truly happened."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from types import MappingProxyType

import numpy as np
import pytest

from models.slip import Slip
from watcher.desk.after_learned import demoulding_of
from watcher.desk.plan_times import times_by_number
from watcher.records.afterwards import Finding, FindingKind
from watcher.records.bench import Filling, FillingKind
from watcher.records.kept import KeptCast

MONDAY = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
WALL_MM, DAYS, MOULDS = 3.0, 20, 24


def cast(mould: str, number: int, began: datetime, minutes: float, wall_mm: float, sigma: float) -> KeptCast:
    """A remembered cast whose wall was read with that relative spread."""
    began_s = (began - MONDAY).total_seconds()
    high = math.exp(1.2816 * sigma)
    estimate = {"wall_mm": wall_mm, "wall_low_mm": wall_mm / high, "wall_high_mm": wall_mm * high}
    return KeptCast(
        f"{mould} {began_s:.0f}", mould, number, began_s, began, began_s + 60.0 * minutes,
        began + timedelta(minutes=minutes), False, (Filling(FillingKind.POUR, began_s, began_s),),
        MappingProxyType({"estimate": estimate}),
    )  # fmt: skip


def weeks_of_casting(seed: int) -> list[tuple[int, float, float, bool]]:
    """Return (week, log of foretold over true, half width of the range in logs, held) of each cast.

    The plaster's rate is drawn wide, falls with each cast of a day by its own share, and scatters from day to
    day and from cast to cast; what is remembered of a wall is itself off by some per cent.
    """
    rng = np.random.default_rng(seed)
    k_dry, damper = float(rng.lognormal(0.1, 0.5)), float(rng.uniform(0.08, 0.28))
    kept: list[KeptCast] = []
    found = []
    for day in range(DAYS):
        weather = float(rng.lognormal(0.0, 0.06))
        for n in range(int(rng.integers(1, 4))):
            told = times_by_number(WALL_MM, kept[:12], today=n, casts=1)
            true_min = WALL_MM**2 / (k_dry * weather * float(rng.lognormal(0.0, 0.07))) * (1.0 + damper * n)
            low, high = told.spread(0)
            off = math.log(told.minutes[0] / true_min)
            found.append((day // 5, off, math.log(high / low) / 2.0, low <= true_min <= high))
            began = MONDAY + timedelta(days=day + 2 * (day // 5), hours=2.0 * n)
            # tipped when the caster gets there, a little late; the wall goes with the root of the time
            stood = true_min * float(rng.uniform(0.98, 1.12))
            read_mm = WALL_MM * math.sqrt(stood / true_min) * float(rng.lognormal(0.0, 0.03))
            kept.insert(0, cast("mug", n + 1, began, stood, read_mm, 0.03))
    return found


@pytest.mark.slow
def test_casting_times_are_foretold_better_week_by_week_and_the_ranges_hold() -> None:
    every = [one for seed in range(MOULDS) for one in weeks_of_casting(seed)]
    off = {week: np.array([abs(o) for w, o, _, _ in every if w == week]) for week in range(4)}
    held = {week: np.mean([h for w, _, _, h in every if w == week]) for week in range(4)}
    assert np.median(off[3]) < 0.12 < np.median(off[0]) + 0.06
    assert np.quantile(off[3], 0.9) < 0.28
    assert np.median(off[3]) < np.median(off[0])
    for week in (1, 2, 3):
        assert 0.70 < held[week] < 0.97, (week, held[week])


def weeks_of_demoulding(seed: int, *, careful: bool) -> list[tuple[int, float, bool]]:
    """Return (week, log of foretold over true, opened too soon) of every cast of a mould.

    It is opened at the minute foretold, or by who is careful at the late end of the range.
    """
    rng = np.random.default_rng(seed)
    own = 45.0 * (WALL_MM / 4.0) ** 2 * float(rng.lognormal(0.0, 0.5))
    kept: list[KeptCast] = []
    findings: list[Finding] = []
    found = []
    for day in range(DAYS):
        began = MONDAY + timedelta(days=day + 2 * (day // 5))
        one = cast("mug", 1, began, 9.0, WALL_MM, 0.03)
        kept.insert(0, one)
        told = demoulding_of(kept, findings, Slip(1.76, 0.62), WALL_MM)
        assert told is not None and one.tipped_at is not None
        true_min = own * float(rng.lognormal(0.0, 0.15))
        opened = told.minutes.high if careful else told.minutes.value
        too_soon = opened < true_min
        kind = FindingKind.STUCK if too_soon else FindingKind.CLEAN
        findings.append(Finding(day, one.cast_id, kind, one.tipped_at + timedelta(minutes=opened)))
        found.append((day // 5, math.log(told.minutes.value / true_min), too_soon))
    return found


@pytest.mark.slow
@pytest.mark.parametrize("careful", [False, True])
def test_demoulding_is_learned_from_sticking_and_coming_clean_and_does_not_run_away(careful: bool) -> None:
    every = [one for seed in range(MOULDS * 2) for one in weeks_of_demoulding(seed, careful=careful)]
    off = {week: np.array([o for w, o, _ in every if w == week]) for week in range(4)}
    soon = {week: np.mean([s for w, _, s in every if w == week]) for week in range(4)}
    if careful:
        # at the late end of what is foretold hardly any sticks, and the forecast stays near the truth
        assert soon[3] < 0.10
        assert -0.1 < np.mean(off[3]) < 0.45
        assert np.mean(off[3]) < np.mean(off[0]) + 0.1
    else:
        assert np.median(np.abs(off[3])) < 0.16 < np.median(np.abs(off[0])) + 0.05
        assert abs(np.mean(off[3])) < 0.1


if __name__ == "__main__":
    for name, run in (
        ("casting", weeks_of_casting),
        ("opened as foretold", lambda seed: weeks_of_demoulding(seed, careful=False)),
        ("opened late", lambda seed: weeks_of_demoulding(seed, careful=True)),
    ):
        rows = [one for seed in range(MOULDS * 4) for one in run(seed)]
        for week in range(4):
            mine = [r for r in rows if r[0] == week]
            off = np.array([abs(r[1]) for r in mine])
            print(f"{name}, week {week + 1}: mean {np.mean([r[1] for r in mine]):.2f}, "
                  f"median {np.median(off):.3f}, 90 % {np.quantile(off, 0.9):.3f}, "
                  f"last column {np.mean([r[-1] for r in mine]):.3f}")  # fmt: skip
