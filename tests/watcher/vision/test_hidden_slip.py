"""Boards, cloths, lids and froth on drawn benches: said as what they are, and never read through."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from drawn_benches import Looked, rms, watch

from watcher.records.readings import Contents, LevelReading, Missed
from watcher.simulator.bench import SimBench
from watcher.simulator.coverings import Cover, Froth
from watcher.simulator.faults import Blur, Faults, Hand, Nudge
from watcher.simulator.samples import sample_bench
from watcher.simulator.scene import Scene
from watcher.vision.froth import unrest
from watcher.vision.memory import MouldMemory

TIMES = [float(t) for t in range(0, 500, 20)]
FROM_S, TO_S = 230.0, 390.0
SURELY_S = 60.0
"""So long after it was laid there a cover must be known for one (three looks at 20 s)."""


def one_cup(**changes: object) -> SimBench:
    bench = sample_bench(1)
    return replace(bench, **changes)  # type: ignore[arg-type]


def seen(bench: SimBench, faults: Faults) -> list[Looked]:
    return next(iter(watch(bench, TIMES, faults)[0].values()))


def errors(looked: list[Looked], from_s: float = 0.0, to_s: float = 1e9) -> list[float]:
    return [x.error_mm for x in looked if x.error_mm is not None and from_s <= x.at_s < to_s]


@pytest.mark.parametrize(
    ("colour", "cloth"),
    [
        ((120.0, 160.0, 190.0), 0.0),  # a wooden board
        ((206.0, 212.0, 214.0), 0.0),  # a bat of the very plaster that the mould is of
        ((205.0, 210.0, 212.0), 25.0),  # a woven cloth
        ((60.0, 50.0, 45.0), 0.0),  # a dark lid
        ((150.0, 185.0, 205.0), 0.0),  # a board as brown as the slip
    ],
)
def test_what_is_laid_over_a_hole_is_said_to_cover_it_and_nothing_is_read(
    colour: tuple[float, float, float], cloth: float
) -> None:
    bench = one_cup()
    cover = Cover(FROM_S, TO_S, bench.moulds[0].name, colour=colour, cloth=cloth)
    looked = seen(bench, Faults(covers=(cover,)))
    under = [x for x in looked if FROM_S <= x.at_s < TO_S]
    assert not any(isinstance(x.seen.reading, LevelReading) for x in under)
    assert {x.seen.reading for x in under if x.at_s >= FROM_S + SURELY_S} == {Missed.COVERED}
    assert all(x.seen.contents is Contents.SLIP for x in under)
    assert not any(x.seen.reading is Missed.COVERED for x in looked if not FROM_S <= x.at_s < TO_S)
    after = [x for x in looked if x.at_s >= TO_S]
    assert after[0].error_mm is not None
    assert rms(errors(looked, TO_S)) < 0.5


def test_a_board_over_an_empty_hole_is_not_taken_for_slip() -> None:
    bench = one_cup()
    bench = replace(bench, moulds=(replace(bench.moulds[0], casts=()),))
    looked = seen(bench, Faults(covers=(Cover(FROM_S, TO_S, bench.moulds[0].name),)))
    assert {x.seen.contents for x in looked} == {Contents.EMPTY}
    assert any(x.seen.reading is Missed.COVERED for x in looked)


def test_a_hole_that_was_covered_before_the_camera_first_looked_is_called_covered() -> None:
    bench = one_cup()
    looked = seen(bench, Faults(covers=(Cover(0.0, 200.0, bench.moulds[0].name),)))
    assert {x.seen.reading for x in looked if SURELY_S <= x.at_s < 200.0} == {Missed.COVERED}
    assert rms(errors(looked, 240.0)) < 0.6


def test_a_hand_that_moves_over_the_hole_is_a_hand_however_long_it_stays() -> None:
    bench = one_cup()
    mould = bench.moulds[0]
    hands = []
    for k in range(8):
        from_s, way = FROM_S + 20.0 * k, 14.0 * (-1) ** k
        palm = (mould.seat.x_mm - 10.0 + way, mould.seat.y_mm - 30.0 + 6.0 * (k % 3), mould.height_mm + 30.0)
        hands.append(Hand(from_s, from_s + 20.0, palm, 84.0 + 5.0 * (k % 4)))
    looked = seen(bench, Faults(hands=tuple(hands)))
    assert {x.seen.reading for x in looked if FROM_S <= x.at_s < TO_S} == {Missed.HAND}


def test_a_mould_that_was_carried_away_is_not_called_covered() -> None:
    bench = one_cup()
    looked = seen(bench, Faults(nudges=(Nudge(FROM_S, bench.moulds[0].name, there=False),)))
    assert not any(x.seen.reading is Missed.COVERED for x in looked)
    assert looked[-1].seen.contents is Contents.AWAY


@pytest.mark.parametrize(
    ("contrast", "bubble_mm"), [(0.22, (1.5, 4.5)), (0.15, (3.0, 7.0)), (0.3, (1.5, 3.0))]
)
def test_froth_after_the_pour_is_said_and_its_edge_is_not_read_as_the_slips(
    contrast: float, bubble_mm: tuple[float, float]
) -> None:
    """The froth stands 1.5 mm above the slip: read as slip it would be an error of that size."""
    bench = sample_bench(2)
    froths = tuple(
        Froth(m.casts[0].filled_s - 10.0, m.casts[0].filled_s + 85.0, m.name, 1.5, contrast, bubble_mm)
        for m in bench.moulds
    )
    by_mould, _, _ = watch(bench, TIMES, Faults(froths=froths))
    for froth in froths:
        looked = by_mould[froth.mould]
        under = [x for x in looked if froth.from_s + 10.0 <= x.at_s < froth.to_s]
        assert not any(isinstance(x.seen.reading, LevelReading) for x in under)
        assert {x.seen.reading for x in under[1:]} == {Missed.FROTHED}
        assert all(x.seen.contents is Contents.SLIP for x in under)
        assert not any(x.seen.reading is Missed.FROTHED for x in looked if x.at_s >= froth.to_s)
        assert rms(errors(looked, froth.to_s)) < 0.5


def test_froth_is_several_times_as_restless_as_slip_that_lies_smooth() -> None:
    bench = one_cup()
    froth = Froth(100.0, 150.0, bench.moulds[0].name)
    _, _, eyes = watch(bench, [0.0, 20.0])
    memory: MouldMemory = eyes.moulds[bench.moulds[0].name]
    plan = memory.plans[0].strip
    found = [
        unrest(Scene(bench, Faults(froths=f)).picture(140.0), plan, 4.0, np.zeros(2)) for f in ((), (froth,))
    ]
    assert found[0] is not None and found[1] is not None
    assert found[1] > 5.0 * found[0]


def test_smooth_slip_is_never_called_frothed_nor_an_open_hole_covered() -> None:
    by_mould, _, _ = watch(sample_bench(4), [float(t) for t in range(0, 600, 30)])
    said = {
        x.seen.reading for looked in by_mould.values() for x in looked if isinstance(x.seen.reading, Missed)
    }
    assert not said & {Missed.FROTHED, Missed.COVERED, Missed.BLOWN_OUT}


def test_full_to_the_rim_in_a_soft_and_noisy_picture_is_not_called_covered() -> None:
    """There the rim hardly shows: slip stands two millimetres below it, a pixel and a half."""
    bench = replace(sample_bench(1, width_px=640, height_px=480), noise=4.0)
    blur = Blur(0.0, 1e9, 0.9)
    by_mould, _, _ = watch(bench, TIMES, Faults(blurs=(blur,)))
    said = {x.seen.reading for x in next(iter(by_mould.values())) if isinstance(x.seen.reading, Missed)}
    assert not said & {Missed.COVERED, Missed.HAND, Missed.FROTHED}
