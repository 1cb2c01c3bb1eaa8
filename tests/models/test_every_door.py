"""Whatever number comes to a door of the desk, the answer is finite or one sentence; never another error."""

import dataclasses
import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from models import (
    air,
    cones,
    draining,
    drying,
    flow_cups,
    lifting,
    piece_sets,
    plaster,
    profile_ways,
    slip_desk,
    slip_pressure,
    slip_weight,
    target_list,
    traps,
    wall_basis,
    water,
)
from models.doors import BadValue
from models.plaster import PlasterBlock

wild = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True),
    st.floats(-10, 10),
    st.floats(0.5, 2.5),
    st.floats(0, 3000),
    st.sampled_from([0.0, -0.0, 1.0, 2.0, 1e-300, 5e-324, 1e300, math.nan, math.inf, -math.inf]),
)

DOORS = {
    "water density": (1, water.density_kg_m3),
    "water viscosity": (2, water.viscosity_pa_s),
    "speed ratio": (2, water.speed_ratio),
    "evaporation": (4, lambda a, b, c, d: air.evaporation_kg_m2_h(air.Room(a, b, c, d))),
    "dew point": (2, lambda a, b: air.dew_point_c(air.Room(a, b))),
    "wet bulb pair": (3, air.humidity_ratio_from_wet_bulb),
    "weights": (
        1,
        lambda a: [slip_weight.specific_gravity(m, a, baume_modulus=145.0) for m in slip_weight.SlipMeasure],
    ),
    "dry and water": (3, lambda a, b, c: slip_desk.dry_and_water(a, b, solids_sg=c)),
    "mixed": (3, lambda a, b, c: slip_desk.mixed(a, b, solids_sg=c)),
    "water to add": (3, slip_desk.water_to_add_l),
    "thicker slip": (4, slip_desk.thicker_slip_to_add_l),
    "powder": (4, lambda a, b, c, d: slip_desk.powder_to_add_g(a, b, c, solids_sg=d)),
    "effect of": (4, lambda a, b, c, d: slip_desk.effect_of(a, b, solids_sg=c, moisture=d)),
    "cup": (1, lambda a: [flow_cups.read_cup(c, a, thixotropic=False) for c in flow_cups.Cup]),
    "thixotropy": (3, flow_cups.thixotropy),
    "plaster": (1, lambda a: plaster.block(a)),
    "dry density": (2, plaster.dry_density_from_wet),
    "pores": (1, plaster.pore_capacity),
    "thirst": (1, plaster.thirst),
    "dried": (2, lambda a, b: drying.water_left_ml(drying.Drying(9.0, 200.0), a, b)),
    "wall": (2, lambda a, b: wall_basis.wet_wall(a, b, wall_basis.Basis.FIRED, wall_basis.Shrinkage())),
    "calliper": (2, profile_ways.area_from_calliper),
    "weighed": (3, profile_ways.area_from_weights),
    "trimmings": (2, profile_ways.moisture_from_trimmings),
    "after the tip": (3, lambda a, b, c: draining.after_tip(wall_mm=a, slowness=b, water_per_cake=c)),
    "traps": (4, lambda a, b, c, d: traps.traps([(0.0, a), (b, c)], wall_mm=d, sg=1.75)),
    "lift": (6, lambda a, b, c, d, e, f: lifting.judge_lift(f, lifting.Lift(a, b, c, d, e))),
    "straps": (4, lambda a, b, c, d: slip_pressure.straps_for(depth_mm=a, width_mm=b, sg=c, strap_n=d)),
    "cone": (1, lambda a: cones.cone_c("6", a)),
    "window": (2, target_list.time_window),
    "set": (
        2,
        lambda a, b: piece_sets.plan_set([piece_sets.SetPart("a", a, b), piece_sets.SetPart("b", b, a)]),
    ),
    "room": (2, lambda a, b: drying.drying_in(air.Room(a, b), PlasterBlock(2.0, 0.1))),
}


def _figures(answer):
    if isinstance(answer, bool | str) or answer is None:
        return
    if isinstance(answer, int | float):
        yield float(answer)
    elif dataclasses.is_dataclass(answer):
        for field in dataclasses.fields(answer):
            yield from _figures(getattr(answer, field.name))
    elif isinstance(answer, list | tuple):
        for part in answer:
            yield from _figures(part)


@pytest.mark.parametrize("door", sorted(DOORS))
@settings(max_examples=50, deadline=None)
@given(values=st.tuples(*[wild] * 6))
@example(values=(0.0,) * 6)
@example(values=(math.nan,) * 6)
@example(values=(-1.0,) * 6)
@example(values=(1e9,) * 6)
def test_a_door_answers_in_finite_figures_or_in_one_sentence(door, values):
    count, ask = DOORS[door]
    try:
        answer = ask(*values[:count])
    except BadValue as said:
        text = str(said)
        assert "\n" not in text
        assert "give " in text or "stir " in text, text
    else:
        assert all(math.isfinite(figure) for figure in _figures(answer))
