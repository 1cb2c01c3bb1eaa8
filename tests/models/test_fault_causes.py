"""Truth: what is printed of too much and too little deflocculant and of wet slip [S32, read]; [S30, read]."""

import pytest

from models.fault_causes import Cause, Fault, suspects


@pytest.mark.parametrize(
    ("seen", "cause"),
    [
        ({Fault.SLOW, Fault.SKIN, Fault.STICKS}, Cause.TOO_MUCH_DEFLOCCULANT),
        ({Fault.GELS, Fault.DRAINS_BADLY}, Cause.TOO_LITTLE_DEFLOCCULANT),
        ({Fault.DROPS_FAR, Fault.SLOW, Fault.MOULD_WET}, Cause.TOO_MUCH_WATER),
        ({Fault.HOT_SPOT}, Cause.POURED_ON_ONE_SPOT),
        ({Fault.DRAINS_BADLY}, Cause.NARROW_HOLE),
    ],
)
def test_the_printed_signs_lead_to_the_printed_cause(seen, cause):
    assert suspects(frozenset(seen))[0].cause is cause


def test_no_fault_suspects_nobody():
    assert suspects(frozenset()) == ()
