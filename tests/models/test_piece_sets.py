"""Truth: times added up by hand; hypothesis for what must hold of any set."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.doors import BadValue
from models.piece_sets import SetPart, plan_set

BODY = SetPart("body", 20.0, 50.0)  # 74 min from pour to leather-hard
LID = SetPart("lid", 15.0, 40.0)  # 59 min
HANDLE = SetPart("handle", 6.0, 20.0)  # 30 min


def test_parts_come_leather_hard_together():
    plan = plan_set([HANDLE, BODY, LID])
    assert plan.pours == (("body", 0.0), ("lid", 15.0), ("handle", 44.0))
    assert plan.join_min.value == 74.0
    assert plan.apart_min == 0.0
    assert plan.join_min.low < 74.0 < plan.join_min.high


def test_slip_for_joining_is_drawn_two_hours_ahead():
    assert plan_set([BODY, LID]).draw_slip_min == 74.0 - 120.0


def test_two_like_parts_are_poured_one_after_the_other():
    plan = plan_set([LID, SetPart("second lid", 15.0, 40.0)])
    assert plan.pours[1][1] - plan.pours[0][1] == pytest.approx(2.0)
    assert plan.apart_min == pytest.approx(2.0)


@given(st.lists(st.tuples(st.floats(1, 60), st.floats(0, 120)), min_size=2, max_size=6))
def test_pours_never_meet_and_no_part_is_late(times):
    parts = [SetPart(str(i), cast, stand) for i, (cast, stand) in enumerate(times)]
    plan = plan_set(parts)
    starts = [at for _, at in plan.pours]
    assert starts[0] == 0.0
    assert all(b - a >= 2.0 - 1e-9 for a, b in pairwise(starts))
    by_name = dict(plan.pours)
    hard = [by_name[p.name] + 4.0 + p.cast_min + p.set_min for p in parts]
    assert max(hard) == pytest.approx(plan.join_min.value)


@pytest.mark.parametrize("bad", [math.nan, -1.0, 1e6])
def test_absurd_sets_are_refused(bad):
    with pytest.raises(BadValue, match=r"^lid: casting time is "):
        plan_set([BODY, SetPart("lid", bad, 40.0)])
    with pytest.raises(BadValue, match=r"^lid: setting time is "):
        plan_set([BODY, SetPart("lid", 15.0, bad)])
    with pytest.raises(BadValue, match=r"^set has 1 parts"):
        plan_set([BODY])
    with pytest.raises(BadValue, match=r"two parts of one name"):
        plan_set([BODY, BODY])
