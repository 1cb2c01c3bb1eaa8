"""Truth: household pots drawn at random here, volumes and areas by fine sums; balances by hand [S28]."""

import math

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d

from models.doors import BadValue
from models.profile_ways import (
    AREA_REL_SIGMA,
    Way,
    area_from_calliper,
    area_from_weights,
    f_from_moisture,
    from_weights_in_and_out,
    in_plain_words,
    moisture_from_trimmings,
)


def _pot(rng):
    """Depths and diameters of a bottle, jug or beaker with its spare. [mm]"""
    height, hole = rng.uniform(70, 260), rng.uniform(24, 100)
    belly = hole * math.exp(abs(rng.normal(0, 0.5))) if rng.random() < 0.7 else hole * rng.uniform(0.85, 1.05)
    belly = min(belly, height * 1.3)
    spare = rng.uniform(18, 30)
    shoulder = spare + 0.25 * (height - spare) * rng.uniform(0.5, 1.2)
    knots = [0, spare, shoulder, spare + 0.6 * (height - spare), height]
    widths = [hole, 0.88 * hole, belly * rng.uniform(0.7, 1.0), belly, belly * rng.uniform(0.55, 1.0)]
    z = np.linspace(0, height, 400)
    return z, gaussian_filter1d(np.interp(z, knots, widths), 12, mode="nearest"), hole


def _area(z, d):
    r = d / 2
    return float(np.sum(math.pi * (r[1:] + r[:-1]) * np.hypot(np.diff(r), np.diff(z))) + math.pi * r[-1] ** 2)


def test_each_way_leaves_no_more_than_its_printed_spread():
    rng = np.random.default_rng(11)
    misses = {way: [] for way in (Way.CALLIPER, Way.WEIGHTS, Way.BORE_TABLE)}
    for _ in range(1500):
        z, d, hole = _pot(rng)
        true = _area(z, d)
        volume_l = float(np.trapezoid(math.pi * d**2 / 4, z)) / 1e6
        depth = float(z[-1])
        misses[Way.CALLIPER].append(math.log(area_from_calliper(hole, depth).value / true))
        poured_kg = 1.75 * volume_l * math.exp(rng.normal(0, 0.01))
        misses[Way.WEIGHTS].append(math.log(area_from_weights(poured_kg, 1.75, depth).value / true))
        rows = np.linspace(0, depth, 7)
        table = np.interp(rows, z, d) + rng.normal(0, 1, 7)
        misses[Way.BORE_TABLE].append(math.log(_area(rows, table) / true))
    for way, log_errors in misses.items():
        rms = float(np.sqrt(np.mean(np.square(log_errors))))
        # no flattery, and no blanket either
        assert 0.35 * AREA_REL_SIGMA[way] < rms <= AREA_REL_SIGMA[way], (way, rms)


def test_weights_of_a_true_cylinder_give_its_area():
    # 80 mm wide, 100 mm deep: 502.65 mL, 0.87965 kg at 1.75; area 25133 + 5027 mm2
    assert area_from_weights(0.87965, 1.75, 100.0).value == pytest.approx(30159, rel=1e-3)


def test_what_went_in_came_out_or_stayed_as_cake_or_left_as_water():
    # cake 90 mL, f .293: water 26.37 mL; in 500 mL, out 383.63 mL, at 1.75
    said = from_weights_in_and_out(
        poured_kg=0.875, tipped_kg=1.75 * 0.38363, sg=1.75, water_ml=26.37, water_sigma_ml=0.5
    )
    assert said.cake_ml.value == pytest.approx(90.0, abs=0.01)
    assert said.water_per_cake.value == pytest.approx(0.293, abs=1e-4)


def test_the_spread_of_weights_in_and_out_is_what_repetition_shows():
    rng = np.random.default_rng(5)
    into = 0.875 + rng.normal(0, 0.005, 4000)
    out = 1.75 * 0.38363 + rng.normal(0, 0.005, 4000)
    water = 26.37 + rng.normal(0, 0.5, 4000)
    cake = 1000 * (into - out) / 1.75 - water
    said = from_weights_in_and_out(
        poured_kg=0.875, tipped_kg=1.75 * 0.38363, sg=1.75, water_ml=26.37, water_sigma_ml=0.5
    )
    assert said.cake_ml.rel_sigma == pytest.approx(np.std(cake) / 90.0, rel=0.06)
    assert said.water_per_cake.rel_sigma == pytest.approx(np.std(water / cake) / 0.293, rel=0.08)


def test_trimmings_weighed_wet_and_dry():
    # 125 g wet, 100 g dry: w .25, f .29293 at 1.75 and G 2.6 [derived]
    w = moisture_from_trimmings(125.0, 100.0)
    assert w.value == pytest.approx(0.25)
    f = f_from_moisture(w, 1.75)
    assert f.value == pytest.approx(0.29293, rel=1e-4)
    # slopes by hand: phi_c^2 G/phi_s x sigma_w = 2.038 x .0080 and 1.2929/.75 x .002
    assert f.rel_sigma == pytest.approx(math.hypot(2.0376 * 0.0080, 0.00345) / 0.29293, rel=0.02)


def test_plain_words_name_millimetres_and_the_next_step():
    assert in_plain_words(Way.CALLIPER, 3.0, f_rel_sigma=0.2).startswith(
        "walls to about 1.5 mm until you do one"
    )
    assert in_plain_words(Way.CUT_TEST, 3.0, f_rel_sigma=0.2).startswith("walls to about 0.2 mm")


@pytest.mark.parametrize("bad", [math.nan, 0.0, -1.0, 1e9])
def test_absurd_measures_are_refused(bad):
    with pytest.raises(BadValue, match=r"^pour hole is .*; give mm, 4 to 2000"):
        area_from_calliper(bad, 100)
    with pytest.raises(BadValue, match=r"^depth is "):
        area_from_weights(1.0, 1.75, bad)
    with pytest.raises(BadValue, match=r"^slip poured in is "):
        area_from_weights(bad, 1.75, 100)
    with pytest.raises(BadValue, match=r"^trimmings wet is "):
        moisture_from_trimmings(bad, 100)
    with pytest.raises(BadValue, match=r"^trimmings dry is "):
        moisture_from_trimmings(125, bad)
    with pytest.raises(BadValue, match=r"^water given up is "):
        from_weights_in_and_out(poured_kg=0.9, tipped_kg=0.7, sg=1.75, water_ml=bad, water_sigma_ml=0.5)


def test_weights_that_cannot_be_are_said():
    with pytest.raises(BadValue, match=r"weigh both again"):
        from_weights_in_and_out(poured_kg=0.7, tipped_kg=0.9, sg=1.75, water_ml=20, water_sigma_ml=0.5)
    with pytest.raises(BadValue, match=r"^moisture is 1.5; give trimmings that were 10 to 60 %"):
        moisture_from_trimmings(250, 100)
