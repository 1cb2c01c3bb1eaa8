"""The eyes on drawn benches whose truth the simulator keeps (it shares no code with them)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from drawn_benches import Looked, frame_of, rms, shifted_cards, watch

from watcher.records.layout import PlacedMould
from watcher.records.readings import Contents, LevelReading, Missed, Sighting
from watcher.simulator.faults import Blur, Bump, Faults, Hand, LightChange, Nudge
from watcher.simulator.samples import odd_bench, sample_bench
from watcher.simulator.scene import Scene
from watcher.vision.look import look_at
from watcher.vision.memory import Eyes

TIMES = [float(t) for t in range(0, 620, 20)]
Watched = tuple[dict[str, list[Looked]], list[Sighting], Eyes]


def errors(looked: list[Looked], after_s: float = 0.0) -> list[float]:
    return [
        x.error_mm
        for x in looked
        if x.error_mm is not None and x.at_s >= after_s and x.true.phase == "casting"
    ]


def casting(looked: list[Looked]) -> list[Looked]:
    return [x for x in looked if x.true.phase == "casting"]


@pytest.fixture(scope="module")
def calm() -> Watched:
    return watch(sample_bench(2), TIMES)


def test_levels_on_a_calm_bench_are_true_within_half_a_millimetre(calm: Watched) -> None:
    for looked in calm[0].values():
        assert rms(errors(looked)) < 0.5
        assert np.std(errors(looked)) < 0.2


def test_nearly_every_clear_frame_is_read(calm: Watched) -> None:
    looked = [x for each in calm[0].values() for x in casting(each)]
    assert sum(x.error_mm is not None for x in looked) >= 0.9 * len(looked)


def test_an_empty_mould_reads_empty_and_never_a_level(calm: Watched) -> None:
    for looked in calm[0].values():
        empty = [x for x in looked if x.true.phase == "empty"]
        assert empty
        assert all(x.seen.contents is Contents.EMPTY for x in empty)
        assert not any(isinstance(x.seen.reading, LevelReading) for x in empty)


def test_a_reading_says_honestly_how_sure_it_is(calm: Watched) -> None:
    readings = [
        (x.error_mm, x.seen.reading.sigma_mm)
        for each in calm[0].values()
        for x in casting(each)
        if isinstance(x.seen.reading, LevelReading) and x.error_mm is not None
    ]
    inside = np.mean([abs(e) <= 1.2816 * s for e, s in readings])
    assert inside > 0.7


def test_the_same_pictures_give_the_same_sightings_and_memory_of_past_looks_only() -> None:
    bench = sample_bench(1)
    scene = Scene(bench)
    frames = [frame_of(scene.picture(t), t) for t in (0.0, 60.0, 120.0, 180.0)]
    runs = []
    for stop in (4, 4, 2):
        eyes, said = None, []
        for frame in frames[:stop]:
            sighting, eyes = look_at(frame, bench.layout(), eyes, {})
            said.append(sighting)
        runs.append(said)
    assert runs[0] == runs[1]
    assert runs[2] == runs[0][:2]


def test_oval_holes_and_moulds_with_two_holes_are_read() -> None:
    by_mould, _, _ = watch(odd_bench(), TIMES[::2])
    for looked in by_mould.values():
        assert rms(errors(looked)) < 0.6


def test_a_bumped_camera_is_found_again_and_levels_go_on() -> None:
    faults = Faults(bumps=(Bump(395.0, (20.0, -12.0, 8.0), (0.5, 2.0, 0.4)),))
    by_mould, sightings, _ = watch(sample_bench(2), TIMES, faults)
    assert any(s.camera_moved for s in sightings if s.taken_s >= 395.0)
    for looked in by_mould.values():
        after = errors(looked, 400.0)
        assert len(after) >= 6
        assert rms(after) < 0.5
        assert {x.seen.placement for x in looked} == {0}


def test_a_nudged_mould_is_followed_to_its_new_place() -> None:
    bench = sample_bench(2)
    name = bench.moulds[0].name
    faults = Faults(nudges=(Nudge(395.0, name, (6.0, -4.0), 5.0),))
    by_mould, _, _ = watch(bench, TIMES, faults)
    after = [x for x in by_mould[name] if x.at_s >= 400.0]
    assert after[-1].seen.placement == 1
    assert after[-1].seen.contents is Contents.SLIP
    assert rms(errors(by_mould[name], 420.0)) < 0.6


def test_a_hand_over_a_hole_is_said_and_hides_the_level_only_while_it_is_there() -> None:
    bench = sample_bench(1)
    seat = bench.moulds[0].seat
    hand = Hand(395.0, 425.0, (seat.x_mm - 10.0, seat.y_mm - 30.0, bench.moulds[0].height_mm + 30.0))
    by_mould, _, _ = watch(bench, TIMES, Faults(hands=(hand,)))
    looked = by_mould[bench.moulds[0].name]
    during = [x for x in looked if 395.0 <= x.at_s < 425.0]
    assert during
    assert all(x.seen.reading is Missed.HAND and x.seen.hand_near for x in during)
    after = [x for x in looked if x.at_s >= 430.0]
    assert after[0].error_mm is not None
    assert rms(errors(looked, 430.0)) < 0.5


@pytest.mark.parametrize(
    ("back_s", "shift_mm", "turn_deg"), [(420.0, (4.0, 2.0), 20.0), (330.0, (0.0, 0.0), 0.0)]
)
def test_a_mould_taken_away_full_comes_back_empty_also_soon_and_to_the_same_place(
    back_s: float, shift_mm: tuple[float, float], turn_deg: float
) -> None:
    bench = sample_bench(1)
    mould = bench.moulds[0]
    tipped = replace(mould, casts=(replace(mould.casts[0], tip_s=300.0),))
    bench = replace(bench, moulds=(tipped,))
    faults = Faults(
        nudges=(Nudge(300.0, mould.name, there=False), Nudge(back_s, mould.name, shift_mm, turn_deg))
    )
    by_mould, _, _ = watch(bench, TIMES, faults)
    looked = by_mould[mould.name]
    away = [x for x in looked if 300.0 <= x.at_s < back_s]
    back = [x for x in looked if x.at_s >= back_s + 20.0]
    assert back_s < 345.0 or away[-1].seen.contents is Contents.AWAY
    assert all(x.seen.contents is Contents.EMPTY for x in back)
    assert not any(isinstance(x.seen.reading, LevelReading) for x in (*away, *back))


def test_a_lamp_switched_off_and_on_moves_no_level() -> None:
    faults = Faults(lights=(LightChange(300.0, 460.0, (0.55, 0.6, 0.66)),))
    by_mould, _, _ = watch(sample_bench(1), TIMES, faults)
    looked = next(iter(by_mould.values()))
    dim = [x.error_mm for x in looked if 300.0 <= x.at_s < 460.0 and x.error_mm is not None]
    bright = [x.error_mm for x in looked if x.at_s >= 460.0 and x.error_mm is not None]
    assert len(dim) >= 6
    assert abs(np.median(dim) - np.median(bright)) < 0.25


def test_cards_that_sit_eight_millimetres_off_are_put_right_by_the_empty_rim() -> None:
    bench = sample_bench(2)
    by_mould, _, _ = watch(bench, TIMES, layout=shifted_cards(bench.layout(), (6.0, 5.0)))
    for looked in by_mould.values():
        assert rms(errors(looked, 200.0)) < 0.8


def test_a_mould_without_a_card_is_read_at_its_given_place() -> None:
    bench = sample_bench(1)
    mould, seat = bench.moulds[0], bench.moulds[0].seat
    place = (seat.x_mm + 3.0, seat.y_mm - 2.0, mould.height_mm)
    layout = replace(bench.layout(), moulds=(PlacedMould(mould.name, mould.profile, None, place),))
    by_mould, _, _ = watch(
        replace(bench, moulds=(replace(mould, seat=replace(seat, yaw_deg=0.0)),)), TIMES, layout=layout
    )
    assert rms(errors(by_mould[mould.name], 200.0)) < 0.8


def test_an_unknown_lens_still_gives_levels() -> None:
    bench = sample_bench(1)
    by_mould, _, _ = watch(bench, TIMES[::2], layout=replace(bench.layout(), lens=None))
    assert rms(errors(next(iter(by_mould.values())), 200.0)) < 2.0


def test_a_dark_picture_and_a_burnt_out_one_say_so() -> None:
    bench = sample_bench(1)
    for value, why in ((4, Missed.DARK), (255, Missed.BLOWN_OUT)):
        picture = np.full((720, 1280, 3), value, np.uint8)
        sighting, _ = look_at(frame_of(picture, 0.0), bench.layout(), None, {})
        assert {h.reading for h in sighting.holes} == {why}
        assert sighting.camera_why


def test_no_sheet_in_view_gives_no_level_and_says_so() -> None:
    bench = sample_bench(1)
    noise = np.random.default_rng(3).integers(60, 180, (720, 1280, 3)).astype(np.uint8)
    sighting, eyes = look_at(frame_of(noise, 0.0), bench.layout(), None, {})
    assert {h.reading for h in sighting.holes} == {Missed.CARD_LOST}
    assert sighting.camera_why
    assert eyes.camera is None


def test_a_hole_tells_beforehand_below_what_depth_its_level_is_lost(calm: Watched) -> None:
    """Seen at an angle phi, a level in a straight bore of radius R leaves sight at d = 2 R / tan phi."""
    by_mould, _, eyes = calm
    for name, looked in by_mould.items():
        strip = eyes.moulds[name].plans[0].strip
        lost = looked[-1].seen.lost_below_mm
        bound = 2.0 * strip.shape.radii_mm[0] / np.tan(strip.steep)
        if lost is not None:
            assert 0.4 * bound < lost < bound
        else:
            assert bound > 0.9 * min(strip.depths_mm[-1], 48.0)


def test_a_picture_out_of_focus_is_called_blurred_and_the_next_sharp_one_is_read() -> None:
    bench = sample_bench(1)
    by_mould, sightings, _ = watch(bench, TIMES[:22], Faults(blurs=(Blur(315.0, 345.0, 14.0),)))
    looked = next(iter(by_mould.values()))
    soft = [x for x in looked if 315.0 <= x.at_s < 345.0]
    assert soft
    assert {x.seen.reading for x in soft} == {Missed.BLURRED}
    assert any(s.camera_why for s in sightings)
    assert next(x for x in looked if x.at_s >= 360.0).error_mm is not None


def test_slip_that_rises_slowly_before_eyes_that_look_often_is_no_empty_hole() -> None:
    """A minute's pour, looked at every two seconds: each look differs little from the one before."""
    drawn = sample_bench(2)
    slow = tuple(
        replace(mould, casts=(replace(mould.casts[0], fill_from_s=20.0, filled_s=80.0),))
        for mould in drawn.moulds
    )
    by_mould, _, _ = watch(replace(drawn, moulds=slow), [2.0 * k for k in range(50)])
    for looked in by_mould.values():
        assert all(x.seen.contents is Contents.EMPTY for x in looked if x.at_s < 20.0)
        assert looked[-1].seen.contents is Contents.SLIP
        assert rms(errors(looked)) < 0.5


@pytest.mark.parametrize("tint", [(0.55, 0.6, 0.66), (0.8, 0.9, 1.15), (1.15, 1.1, 0.9), (0.6, 0.8, 1.2)])
def test_a_lamp_of_another_colour_pours_no_slip_into_empty_moulds(tint) -> None:
    drawn = sample_bench(3)
    bare = replace(drawn, moulds=tuple(replace(mould, casts=()) for mould in drawn.moulds))
    faults = Faults(lights=(LightChange(60.0, 1e6, tint),))
    by_mould, _, _ = watch(bare, [20.0 * k for k in range(6)], faults)
    for looked in by_mould.values():
        assert [x.seen.contents for x in looked] == [Contents.EMPTY] * len(looked)
