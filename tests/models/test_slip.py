"""Water given up per volume of cake."""

import math

import pytest

from models.slip import Slip, SlipError, cake_solids_fraction, checked_slip


def test_the_worked_example_of_solids_and_water():
    # Worked by hand: SG 1.75, G 2.6, cake moisture 0.25 on the dry basis:
    # phi_s = 0.75/1.6 = 0.46875; phi_c = 1/(1 + 0.25*2.6) = 0.60606; f = 0.60606/0.46875 - 1 = 0.29293
    phi_c = cake_solids_fraction(moisture_dry_basis=0.25, solids_specific_gravity=2.6)
    slip = checked_slip(specific_gravity=1.75, cake_solids_fraction=phi_c)
    assert phi_c == pytest.approx(0.60606, abs=5e-6)
    assert slip.solids_fraction == pytest.approx(0.46875)
    assert slip.water_per_cake == pytest.approx(0.29293, abs=5e-6)


@pytest.mark.parametrize(
    ("sg", "moisture", "f"),
    # the same sum by hand for nine slips, to three places
    [
        (1.70, 0.20, 0.504), (1.70, 0.25, 0.385), (1.70, 0.30, 0.284),
        (1.75, 0.20, 0.404), (1.75, 0.25, 0.293), (1.75, 0.30, 0.199),
        (1.80, 0.20, 0.316), (1.80, 0.25, 0.212), (1.80, 0.30, 0.124),
    ],
)  # fmt: skip
def test_water_per_cake_of_nine_slips(sg, moisture, f):
    phi_c = cake_solids_fraction(moisture_dry_basis=moisture, solids_specific_gravity=2.6)
    assert Slip(sg, phi_c).water_per_cake == pytest.approx(f, abs=6e-4)


def test_the_spread_of_f_is_what_drawing_slips_gives():
    import numpy as np

    rng = np.random.default_rng(0)
    sg, cake = rng.normal(1.78, 0.004, 40000), rng.normal(0.635, 0.004, 40000)
    drawn = cake * 1.6 / (sg - 1.0) - 1.0
    slip = Slip(1.78, 0.635, sg_sigma=0.004, cake_sigma=0.004)
    assert slip.water_per_cake_rel_sigma == pytest.approx(drawn.std() / drawn.mean(), rel=0.03)


@pytest.mark.parametrize("bad", [math.nan, math.inf, 0.0, -1.7, 1.0, 17.5, "1.7", None])
def test_a_slip_that_cannot_be_is_refused(bad):
    with pytest.raises(SlipError, match=r"^specific_gravity is .*; give a number from 1.2 to 2.2$"):
        checked_slip(specific_gravity=bad, cake_solids_fraction=0.64)


def test_a_cake_that_holds_no_more_than_its_slip_is_refused():
    with pytest.raises(SlipError, match="clearly more solids than the slip"):
        checked_slip(specific_gravity=1.9, cake_solids_fraction=0.56)
