"""Truth: straight bores worked by hand; the narrow neck [S30, read]; room in the plaster by hand [S13]."""

import math

import pytest

from models.doors import BadValue
from models.mould import checked_mould
from models.plaster import block
from models.slip import checked_slip
from models.target_check import check_target
from models.target_list import STARTING_WALLS, time_window

SLIP = checked_slip(specific_gravity=1.75, cake_solids_fraction=0.60606)  # f .29293 [derived]
# a neck of 20 mm all the way to 24 mm below the rim, then a body of 60 mm
BOTTLE = checked_mould("bottle", [(0, 24), (20, 20), (24, 20), (40, 60), (120, 60)])
CYLINDER = checked_mould("cylinder", [(0, 100), (200, 100)], trim_line_mm=100)


def test_water_of_a_straight_cylinder_is_f_times_its_cake():
    # wall 3 mm on 100 mm bore from level down, floor in; cake by hand at full height: pi (50^2 - 47^2) x 196
    # and 3 mm of floor inside it
    said = check_target(CYLINDER, SLIP, 3.0)
    ring = math.pi * (50**2 - 47**2) * 196
    floor = math.pi * 47**2 * 3
    assert said.water_ml == pytest.approx(0.29293 * (ring + floor) / 1000, rel=0.03)
    assert said.reachable
    assert said.shut_wall_mm is None
    # f L A/a: about .293 x (ring + floor)/(pi 48.5^2)
    assert said.drop_mm == pytest.approx(0.29293 * (ring + floor) / (math.pi * 48.5**2), rel=0.05)


def test_a_narrow_neck_freezes_shut_before_a_thick_wall():
    # 20 mm neck: shut at 10 mm of cake at the latest, sooner where the level has left
    said = check_target(BOTTLE, SLIP, 12.0)
    assert not said.reachable
    assert said.shut_wall_mm is not None
    assert said.shut_wall_mm <= 10.5
    assert any("freezes shut" in w for w in said.warnings)


def test_a_neck_that_sinks_fast_asks_for_top_ups():
    # body: about 15 500 mm2 x 2.5 mm x .293 = 11 mL; the neck holds 314 mm2 x 20 mm = 6.3 mL less its ring
    said = check_target(BOTTLE, SLIP, 2.5)
    assert said.reachable
    assert 1 <= len(said.top_up_at) <= 4
    assert list(said.top_up_at) == sorted(said.top_up_at)
    assert all(0 < share < 1 for share in said.top_up_at)
    assert any("top up" in w for w in said.warnings)


def test_a_damp_mould_is_told_to_dry():
    # 3 kg may take 15 % = 450 mL; 440 are in it
    said = check_target(CYLINDER, SLIP, 3.0, plaster=block(3.0), held_ml=440.0)
    assert not said.reachable
    assert any("let it dry first" in w for w in said.warnings)
    assert check_target(CYLINDER, SLIP, 3.0, plaster=block(3.0)).reachable


@pytest.mark.parametrize("bad", [math.nan, 0.0, -1.0, 99.0])
def test_absurd_targets_are_refused(bad):
    with pytest.raises(BadValue, match=r"^wanted wall is "):
        check_target(CYLINDER, SLIP, bad)
    if bad != 0.0:
        with pytest.raises(BadValue, match=r"^dampest is "):
            check_target(CYLINDER, SLIP, 3.0, dampest=bad)
    with pytest.raises(BadValue, match=r"^thin end is "):
        time_window(bad, 3.0)


def test_ten_per_cent_of_wall_is_a_fifth_of_the_time():
    assert time_window(3.0, 3.3) == pytest.approx(1.21)


def test_starting_walls_say_where_they_come_from():
    # 1/8, 3/16, 1/4 and 3/8 inch in mm: 3.2, 4.8, 6.35, 9.5 [unit definition]
    by_use = {w.use: w for w in STARTING_WALLS}
    assert (by_use["vases and general ware"].thin_mm, by_use["vases and general ware"].thick_mm) == (3.2, 4.8)
    assert by_use["bakeware"].thick_mm == pytest.approx(3 / 8 * 25.4, abs=0.05)
    assert all("trade" in w.source for w in STARTING_WALLS)
    assert all(w.thin_mm < w.thick_mm for w in STARTING_WALLS)
