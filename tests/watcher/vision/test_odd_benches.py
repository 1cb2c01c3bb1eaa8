"""Benches as they are: sloping, splashed, seen steeply, marked by a strip, skinned, carried about."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from drawn_benches import Looked, frame_of, rms, shifted_cards, watch

from models.mould import MouldProfile
from watcher.records.layout import SheetTag
from watcher.records.readings import Contents, Expected, HoleSighting, LevelReading, Missed
from watcher.simulator.bench import Seat, SimBench
from watcher.simulator.coverings import Skin, Splash
from watcher.simulator.faults import Faults, Nudge
from watcher.simulator.samples import sample_bench
from watcher.simulator.scene import Scene
from watcher.simulator.truth import SimCast
from watcher.simulator.viewing import looking_at
from watcher.vision.look import look_at

TIMES = [float(t) for t in range(0, 620, 20)]


def errors(looked: list[Looked], after_s: float = 0.0) -> list[float]:
    return [
        x.error_mm
        for x in looked
        if x.error_mm is not None and x.at_s >= after_s and x.true.phase == "casting"
    ]


def nearly_all_read(looked: list[Looked]) -> bool:
    casting = [x for x in looked if x.true.phase == "casting"]
    return sum(x.error_mm is not None for x in casting) >= 0.9 * len(casting)


def biases(by_mould: dict[str, list[Looked]]) -> list[float]:
    return [float(np.mean(errors(looked))) for looked in by_mould.values()]


@pytest.fixture(scope="module")
def level_biases() -> list[float]:
    return biases(watch(sample_bench(2), TIMES)[0])


def filled_to(mark_mm: float, bench: SimBench) -> SimBench:
    """The bench with its moulds filled less, so that slip does not stand at the rim on the low side."""
    moulds = tuple(
        replace(m, casts=tuple(replace(c, mark_mm=mark_mm) for c in m.casts)) for m in bench.moulds
    )
    return replace(bench, moulds=moulds)


@pytest.fixture(scope="module")
def lower_biases() -> list[float]:
    return biases(watch(filled_to(5.0, sample_bench(2)), TIMES)[0])


@pytest.mark.parametrize("towards_deg", [0.0, 90.0, 180.0, 270.0])
def test_on_a_bench_that_slopes_by_two_degrees_levels_are_as_true_as_on_a_level_one(
    towards_deg: float, lower_biases: list[float]
) -> None:
    fall = math.tan(math.radians(2.0))
    way = (fall * math.cos(math.radians(towards_deg)), fall * math.sin(math.radians(towards_deg)))
    bench = filled_to(5.0, replace(sample_bench(2), falls=way))
    by_mould, _, _ = watch(bench, TIMES)
    for looked, level in zip(by_mould.values(), lower_biases, strict=True):
        in_view = [x for x in looked if (x.true.level_mm or 99.0) < 16.0]
        assert nearly_all_read(in_view)
        assert rms(errors(in_view)) < 0.5
        assert abs(np.mean(errors(in_view)) - level) < 0.2


def test_a_slope_that_nobody_told_of_bends_the_levels(lower_biases: list[float]) -> None:
    """A hole of radius R read at its far side errs by about R tan(slope): 1.4 mm at 40 mm."""
    bench = filled_to(5.0, replace(sample_bench(2), falls=(0.0, math.tan(math.radians(2.0)))))
    by_mould, _, _ = watch(bench, TIMES, layout=replace(bench.layout(), up=(0.0, 0.0, 1.0)))
    moved = np.abs(np.array(biases(by_mould)) - lower_biases)
    assert moved.max() > 0.6


@pytest.mark.parametrize("seed", [3, 11])
def test_splashes_on_the_top_and_drips_down_the_wall_move_no_level(
    seed: int, level_biases: list[float]
) -> None:
    bench = sample_bench(2)
    spilt = tuple(Splash(m.casts[0].filled_s - 20.0, 1e9, m.name, seed=seed) for m in bench.moulds)
    by_mould, _, _ = watch(bench, TIMES, Faults(splashes=spilt))
    for looked, clean in zip(by_mould.values(), level_biases, strict=True):
        # the new look of the top is accepted after 80 s
        late = [x for x in looked if x.true.phase == "casting" and x.at_s > 280.0]
        assert sum(x.error_mm is not None for x in late) >= 0.9 * len(late)
        assert rms(errors(looked)) < 0.5
        assert abs(np.mean(errors(looked, 280.0)) - clean) < 0.25


@pytest.mark.parametrize("dish", [0.1, 0.25])
def test_a_surface_that_is_dished_is_read_at_its_edge(dish: float) -> None:
    by_mould, _, _ = watch(replace(sample_bench(2), dish=dish), TIMES)
    for looked in by_mould.values():
        assert nearly_all_read(looked)
        assert rms(errors(looked)) < 0.5


def knowing(bench: SimBench, faults: Faults, times_s: list[float]) -> list[Looked]:
    """Look at the one mould of a bench that knows how fast its slip should sink."""
    scene, eyes, found = Scene(bench, faults), None, []
    name = bench.moulds[0].name
    for at_s in times_s:
        inside = scene.insides(at_s)[0]
        ahead = Scene(bench).insides(at_s + 60.0)[0].level_mm
        speed = (
            (ahead - inside.level_mm) / 60.0 if ahead is not None and inside.level_mm is not None else None
        )
        known = Expected(
            "casting",
            speed_mm_per_s=speed,
            cake_depths_mm=tuple(inside.depths_mm),
            cake_mm=tuple(inside.clay_mm),
        )
        expected = {name: known} if inside.phase == "casting" else {}
        sighting, eyes = look_at(frame_of(scene.picture(at_s), at_s), bench.layout(), eyes, expected)
        found.append(Looked(at_s, sighting.holes[0], inside))
    return found


def test_a_skin_that_pins_the_edge_is_said_and_not_taken_for_a_level_that_stands_still() -> None:
    bench = sample_bench(1)
    cast = replace(bench.moulds[0].casts[0], k_mm2_per_min=2.5)
    bench = replace(bench, moulds=(replace(bench.moulds[0], casts=(cast,)),))
    times = [float(t) for t in range(0, 1500, 20)]
    skin = Skin(400.0, 1e9, bench.moulds[0].name)
    looked = knowing(bench, Faults(skins=(skin,)), times)
    assert rms(errors([x for x in looked if x.at_s < 400.0])) < 0.5
    late = [x for x in looked if x.at_s >= 1000.0]
    wrong = [x for x in late if x.error_mm is not None and abs(x.error_mm) > 1.0]
    assert late[-1].true.level_mm is not None
    assert len(wrong) == 0
    assert sum(x.seen.reading is Missed.SKINNED for x in late) >= 0.8 * len(late)
    free = knowing(bench, Faults(), times[:60])
    assert not any(x.seen.reading is Missed.SKINNED for x in free)


def steep_bench(bore_mm: float, from_vertical_deg: float) -> SimBench:
    """A bottle with a narrow pour hole, seen at an angle from 620 mm away; it sinks by two thirds of a bore a
    minute at first."""
    bench = sample_bench(1)
    bore = ((0.0, bore_mm), (40.0, bore_mm - 2.0), (60.0, 66.0), (110.0, 70.0), (128.0, 56.0))
    profile = MouldProfile("vinegar bottle", bore, target_wall_mm=(2.4, 2.64), trim_line_mm=40.0)
    cast = SimCast(60.0, 80.0, 0.12, resistance_mm=0.05)
    card = bore_mm / 2 + 26.0
    mould = replace(
        bench.moulds[0], profile=profile, casts=(cast,), seat=Seat(0.0, 110.0), height_mm=150.0,
        half_mm=56.0, card_xy_mm=(0.0, -card),
    )  # fmt: skip
    a = math.radians(from_vertical_deg)
    eye = (0.0, 110.0 - 560.0 * math.sin(a), 150.0 + 560.0 * math.cos(a))
    return replace(bench, view=looking_at(bench.view.lens, eye, (0.0, 60.0, 75.0)), moulds=(mould,))


def told(holes: list[HoleSighting]) -> set[float]:
    return {h.lost_below_mm for h in holes if h.lost_below_mm is not None}


@pytest.mark.parametrize("from_vertical_deg", [40.0, 48.0])
def test_in_a_22_mm_hole_the_level_is_read_until_it_sinks_out_of_sight_as_was_said_beforehand(
    from_vertical_deg: float,
) -> None:
    """A straight bore of radius R seen at an angle loses its far edge at d = 2 R / tan(angle) (geometry)."""
    bench = steep_bench(22.0, from_vertical_deg)
    times = [float(t) for t in range(0, 1400, 25)]
    looked = next(iter(watch(bench, times)[0].values()))
    before = told([x.seen for x in looked if x.true.phase == "empty"])
    assert before
    lost = max(before)
    bound = 22.0 / math.tan(math.radians(from_vertical_deg))
    assert 0.6 * bound < lost < bound
    levels = [x.true.level_mm for x in looked if x.true.level_mm is not None]
    assert levels[-1] > lost + 3.0
    near = [x for x in looked if x.true.phase == "casting" and (x.true.level_mm or 0.0) < 0.6 * lost]
    assert len(near) >= 4
    assert sum(x.error_mm is not None for x in near) >= 0.85 * len(near)
    assert rms(errors(near)) < 0.6
    gone = [x for x in looked if (x.true.level_mm or 0.0) > bound]
    assert len(gone) >= 6
    assert not any(isinstance(x.seen.reading, LevelReading) for x in gone)
    assert any(x.seen.reading is Missed.OUT_OF_SIGHT for x in gone)


@pytest.mark.parametrize("by_mm", [(7.0, -7.0), (0.0, 10.0), (-8.0, 5.0)])
def test_cards_put_back_within_ten_millimetres_are_put_right_by_the_empty_rim(
    by_mm: tuple[float, float], level_biases: list[float]
) -> None:
    bench = sample_bench(2)
    by_mould, _, _ = watch(bench, TIMES, layout=shifted_cards(bench.layout(), by_mm))
    for looked, right in zip(by_mould.values(), level_biases, strict=True):
        assert nearly_all_read(looked)
        assert abs(np.mean(errors(looked)) - right) < 0.5


def wall_tags(bench: SimBench) -> SimBench:
    """The same bench with its sheet replaced by four tags on the wall behind it."""
    places = ((-170.0, 392.0, 80.0), (-40.0, 392.0, 95.0), (90.0, 392.0, 90.0), (210.0, 392.0, 80.0))
    ids = (tag.tag_id for tag in bench.sheet)
    strip = tuple(
        SheetTag(i, 60.0, at, rotation_deg=(90.0, 0.0, 0.0)) for i, at in zip(ids, places, strict=True)
    )
    moulds = tuple(replace(m, seat=replace(m.seat, y_mm=m.seat.y_mm - 40.0)) for m in bench.moulds)
    view = looking_at(bench.view.lens, (15.0, -480.0, 640.0), (0.0, 150.0, 70.0))
    return replace(bench, sheet=strip, moulds=moulds, view=view)


def test_a_strip_of_tags_on_the_wall_serves_as_well_as_a_sheet() -> None:
    bench = wall_tags(sample_bench(1))
    by_mould, sightings, _ = watch(bench, TIMES)
    assert not any(s.camera_why for s in sightings)
    for looked in by_mould.values():
        assert nearly_all_read(looked)
        assert rms(errors(looked)) < 0.6


def test_a_mould_tipped_put_back_turned_and_poured_again_is_read_in_its_second_cast() -> None:
    bench = sample_bench(1)
    mould = bench.moulds[0]
    first = replace(mould.casts[0], tip_s=320.0, clean_s=330.0)
    second = SimCast(440.0, 470.0, 0.9)
    bench = replace(bench, moulds=(replace(mould, casts=(first, second)),))
    gone, back = Nudge(320.0, mould.name, there=False), Nudge(400.0, mould.name, (5.0, -3.0), 25.0)
    times = [float(t) for t in range(0, 800, 20)]
    looked = next(iter(watch(bench, times, Faults(nudges=(gone, back)))[0].values()))
    between = [x for x in looked if 320.0 <= x.at_s < 440.0]
    assert not any(isinstance(x.seen.reading, LevelReading) for x in between)
    assert between[-1].seen.contents is Contents.EMPTY
    again = [x for x in looked if x.at_s >= 500.0]
    assert sum(x.error_mm is not None for x in again) >= 0.75 * len(again)
    assert rms(errors(again)) < 0.5
    assert {x.seen.placement for x in again} == {1}


def test_box_moulds_and_round_ones_are_read_alike() -> None:
    bench = sample_bench(1)
    found = []
    for is_round in (False, True):
        mould = replace(bench.moulds[0], is_round=is_round)
        looked = next(iter(watch(replace(bench, moulds=(mould,)), TIMES)[0].values()))
        assert nearly_all_read(looked)
        found.append(float(np.mean(errors(looked))))
    assert abs(found[0] - found[1]) < 0.1


def test_eyes_that_start_on_a_full_bench_say_nothing_wrong() -> None:
    bench = sample_bench(1)
    looked = next(iter(watch(bench, [float(t) for t in range(300, 700, 20)])[0].values()))
    wrong = [x for x in looked if x.error_mm is not None and abs(x.error_mm) > 1.0]
    assert not wrong
