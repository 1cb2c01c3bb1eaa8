"""A wall that somebody measured, put beside the cast it came from: the mould's profile gets sharper by it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from models.calibration import (
    Place,
    Questioned,
    Sharpened,
    WallTest,
    calibrated,
    first_belief,
    sharpen,
)
from models.cavity import cut
from models.doors import BadValue
from models.fit import AbsorptionFit, CannotFit, fit_absorption
from models.mould import MouldProfile
from models.profile_text import ProfileFile
from models.profile_ways import Way
from models.ranged import Z80
from models.slip import Slip
from models.target_check import FILLED_TO_MM
from models.wall_basis import Basis, Shrinkage, wet_wall
from models.where_measured import place_in_model
from watcher.estimates import PRIOR, level_series
from watcher.records.bench import Filling

CALLIPER_MM = 0.15
"""How surely a wall of clay is measured with a calliper (common practice, no source). [mm]"""
LEAST_AREA_SIGMA = 0.002


@dataclass(frozen=True, slots=True)
class WallMeasured:
    """What the caster measured: the wall as it is, where, and in which state.

    `depth_mm`: how far below the rim, for a nick or a broken piece; None: the usual depth of that place.
    `trust`: the caster looked again and stands by it.
    """

    wall_mm: float
    place: Place
    basis: Basis
    sigma_mm: float = CALLIPER_MM
    depth_mm: float | None = None
    trust: bool = False


@dataclass(frozen=True, slots=True)
class Sharper:
    """A profile with a test in it.

    `before_mm`, `after_mm`: half of the 80 % range of a 3 mm wall, [mm]; `area_before_mm2`,
    `area_after_mm2`: the wetted area that water and wall agree on; `water_ml`: what the cast had given
    up by then.
    """

    profile: ProfileFile
    before_mm: float
    after_mm: float
    area_before_mm2: float
    area_after_mm2: float
    water_ml: float

    def sentences(self) -> tuple[str, ...]:
        """Say what the test has changed."""
        return (
            f"before: walls to about {self.before_mm:.1f} mm, plaster {self.area_before_mm2 / 100:.0f} cm2",
            f"after: walls to about {self.after_mm:.1f} mm, plaster {self.area_after_mm2 / 100:.0f} cm2",
        )


def sharper_by(
    profile: ProfileFile, slip: Slip, fillings: Sequence[Filling], at_s: float, given: WallMeasured
) -> Sharper | Questioned:
    """Sharpen a mould's profile by a wall measured at one moment of a cast.

    Parameters
    ----------
    profile : ProfileFile
    slip : Slip
        That the cast was poured with.
    fillings : sequence of Filling
        Of that cast, with their readings.
    at_s : float
        The moment of the wall: the tip, or that of a nick. [s]
    given : WallMeasured

    Raises
    ------
    BadValue
        A value cannot be right, or the cast's levels tell nothing of its water.
    """
    mould = profile.mould
    wet = wet_wall(given.wall_mm, given.sigma_mm, given.basis, Shrinkage())
    water, water_sigma = water_given(mould, slip, fillings, at_s)
    there = place_in_model(
        mould, slip, mean_wall_mm=wet.wall_mm, place=given.place, depth_mm=given.depth_mm,
        filled_to_mm=min(FILLED_TO_MM, mould.neck_mm),
    )  # fmt: skip
    area = wetted_area(mould)
    belief = first_belief(
        wetted_area_mm2=area,
        area_rel_sigma=max(mould.area_rel_sigma, LEAST_AREA_SIGMA),
        water_per_cake=slip.water_per_cake,
        f_rel_sigma=max(slip.water_per_cake_rel_sigma, LEAST_AREA_SIGMA),
        places=profile.places,
    )
    test = WallTest(
        wet.wall_mm, wet.sigma_mm, given.place, water, water_sigma, there.expected_ratio, there.thinning
    )
    answer = sharpen(belief, test, trust=given.trust)
    if isinstance(answer, Questioned):
        return answer
    return _sharper(profile, slip, answer, area, water)


def water_given(
    mould: MouldProfile, slip: Slip, fillings: Sequence[Filling], at_s: float
) -> tuple[float, float]:
    """Water that a cast had given up at a moment, with its standard deviation, worked out anew. [mL].

    Raises
    ------
    BadValue
        Its levels tell nothing.
    """
    fit = fit_absorption(level_series(tuple(fillings)), mould, slip, PRIOR)
    if isinstance(fit, CannotFit):
        raise BadValue(f"this cast tells nothing of its water: {fit.why}")
    assert isinstance(fit, AbsorptionFit)
    if fit.readings_used < 2:
        raise BadValue("the level of this cast was read less than twice; take another one")
    water = fit.at(at_s).water_ml
    return water.value, max((water.high - water.low) / (2.0 * Z80), 0.01 * water.value)


def wetted_area(mould: MouldProfile) -> float:
    """Plaster that the slip wets in a full mould, as the profile has it. [mm2]."""
    if mould.wetted_area_mm2 is not None:
        return mould.wetted_area_mm2
    return float(cut(mould).wetted_mm2(min(FILLED_TO_MM, mould.neck_mm)))


def _sharper(profile: ProfileFile, slip: Slip, answer: Sharpened, area: float, water: float) -> Sharper:
    mould = calibrated(answer.calibration, profile.mould, water_per_cake=slip.water_per_cake)
    assert mould.wetted_area_mm2 is not None
    kept = replace(profile, mould=mould, way=Way.CUT_TEST, places=answer.calibration.learned_places())
    return Sharper(kept, answer.before_mm, answer.after_mm, area, mould.wetted_area_mm2, water)
