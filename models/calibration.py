"""From water to millimetres: the belief in a mould's area and slip, sharpened by each test."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from models.doors import number
from models.mould import MouldProfile
from models.ranged import Z80, Ranged, lognormal

Array = npt.NDArray[np.float64]

DISAGREES_SIGMA = 2.0
"""A test further off than this many standard deviations is shown before it is used."""

_SETTLED = np.array([0.0, 0.0, 0.20, 0.55, 0.25])
# Shares of the wetted area taken as spare, belly and foot (guess). Their log ratios to the mean wall must add
# up to about nothing, or the three would be a second wetted area.


class Place(StrEnum):
    """Where a wall was measured."""

    MEAN = "mean"
    SPARE = "spare"
    BELLY = "belly"
    FOOT = "foot"


_PLACES = (Place.SPARE, Place.BELLY, Place.FOOT)
_PLACE_SIGMA = (0.12, 0.06, 0.12)  # guess: settling slip thickens the foot, a falling level thins the spare


@dataclass(frozen=True, slots=True)
class PlaceRatio:
    """Wall at a place over the mean wall, learned, with its relative standard deviation."""

    place: Place
    ratio: float
    rel_sigma: float


@dataclass(frozen=True, slots=True)
class Calibration:
    """Belief about one mould with one slip; normal in the logarithms.

    Attributes
    ----------
    mean : ndarray, shape (5,)
        log of wetted area [mm2], log of f, and log of the wall at spare, belly and foot over the mean wall.
    covariance : ndarray, shape (5, 5)
    """

    mean: Array
    covariance: Array

    @property
    def wetted_area_mm2(self) -> Ranged:
        """Plaster that the slip wets, with its 80 % range, in mm2."""
        return lognormal(math.exp(self.mean[0]), math.sqrt(self.covariance[0, 0]))

    @property
    def water_per_cake(self) -> Ranged:
        """Water given up per volume of cake, with its 80 % range."""
        return lognormal(math.exp(self.mean[1]), math.sqrt(self.covariance[1, 1]))

    def learned_places(self) -> tuple[PlaceRatio, ...]:
        """Give the three places as a profile keeps them."""
        return tuple(
            PlaceRatio(place, math.exp(self.mean[2 + i]), math.sqrt(self.covariance[2 + i, 2 + i]))
            for i, place in enumerate(_PLACES)
        )

    def place_ratio(self, place: Place) -> Ranged:
        """Wall at a place over the mean wall, beyond what the forward model says of that place."""
        if place is Place.MEAN:
            return Ranged(1.0, 1.0, 1.0)
        i = 2 + _PLACES.index(place)
        return lognormal(math.exp(self.mean[i]), math.sqrt(self.covariance[i, i]))


def first_belief(
    *,
    wetted_area_mm2: float,
    area_rel_sigma: float,
    water_per_cake: float,
    f_rel_sigma: float,
    places: tuple[PlaceRatio, ...] = (),
) -> Calibration:
    """Start from a geometry (calliper, bore table, STL) and what is known of the slip.

    Parameters
    ----------
    wetted_area_mm2 : float
        200 to 1e7. [mm2]
    area_rel_sigma : float
        Relative standard deviation, 0.002 to 1: `models.profile_ways` has the one of each way.
    water_per_cake : float
        f, 0.01 to 3.
    f_rel_sigma : float
        Relative standard deviation, 0.001 to 1: a guessed moisture leaves about 0.2.
    places : tuple of PlaceRatio
        What the profile has learned of this mould's places; the rest starts as it is usual.
    """
    area = number("wetted area", wetted_area_mm2, wanted="mm2, 200 to 1e7", least=200, most=1e7)
    s_area = number("wetted area's spread", area_rel_sigma, wanted="a share, 0.002 to 1", least=0.002, most=1)
    f = number("f", water_per_cake, wanted="water per cake, 0.01 to 3", least=0.01, most=3)
    s_f = number("f's spread", f_rel_sigma, wanted="a share, 0.001 to 1", least=0.001, most=1)
    mean = np.array([math.log(area), math.log(f), 0.0, 0.0, 0.0])
    sigmas = np.array([s_area, s_f, *_PLACE_SIGMA])
    for known in places:
        i = 2 + _PLACES.index(known.place)
        mean[i] = math.log(number("place ratio", known.ratio, wanted="0.3 to 3", least=0.3, most=3))
        sigmas[i] = number("place ratio's spread", known.rel_sigma, wanted="0.005 to 1", least=0.005, most=1)
    covariance = np.diag(np.square(sigmas))
    return _seen(Calibration(mean, covariance), _SETTLED, 0.0, 0.01)


@dataclass(frozen=True, slots=True)
class WallTest:
    """A wall that somebody measured: a cut test after the cast, or a nick in the cake during it.

    Attributes
    ----------
    wall_mm, sigma_mm : float
        On the wet basis (`models.wall_basis.wet_wall`). [mm]
    place : Place
    water_ml, water_sigma_ml : float
        Water given up by the cast until then. [mL]
    expected_ratio : float
        Wall at this place over the mean wall by the forward model: below 1 where the level left it early.
    thinning : float
        Cake volume over wall times bare area by the forward model: below 1 in a narrow mould.
    """

    wall_mm: float
    sigma_mm: float
    place: Place
    water_ml: float
    water_sigma_ml: float
    expected_ratio: float = 1.0
    thinning: float = 1.0


@dataclass(frozen=True, slots=True)
class Sharpened:
    """The belief with the test in it, and the 80 % half-width of a 3 mm wall before and after, [mm]."""

    calibration: Calibration
    before_mm: float
    after_mm: float


@dataclass(frozen=True, slots=True)
class Questioned:
    """A test that does not fit: shown, not used, unless `sharpen` is told to trust it.

    Attributes
    ----------
    expected_mm : Ranged
        What was expected at that place. [mm]
    apart_sigma : float
        How far off, in standard deviations of both together.
    why : str
        One sentence for the caster.
    """

    expected_mm: Ranged
    apart_sigma: float
    why: str


def sharpen(belief: Calibration, test: WallTest, *, trust: bool = False) -> Sharpened | Questioned:
    """Put a measured wall into the belief, unless it disagrees by more than both uncertainties allow.

    Parameters
    ----------
    belief : Calibration
    test : WallTest
        Checked here.
    trust : bool
        The caster has looked again and stands by it: use it in any case.

    Notes
    -----
    log L = log W - log f - log A + log(place ratio) [S28]: linear, so one Kalman step is exact. f and A are
    sharpened as a product; each alone only as far as it was the less certain.
    """
    row, seen, sigma = _measurement(test)
    expected = float(row @ belief.mean)
    spread = math.sqrt(float(row @ belief.covariance @ row))
    apart = abs(seen - expected) / math.hypot(spread, sigma)
    if apart > DISAGREES_SIGMA and not trust:
        factor = test.wall_mm / math.exp(seen)
        there = lognormal(factor * math.exp(expected), spread)
        return Questioned(there, apart, _question(test, there))
    after = _seen(belief, row, seen, sigma)
    return Sharpened(after, wall_half_width_mm(belief, 3.0), wall_half_width_mm(after, 3.0))


def weighed_moisture(belief: Calibration, water_per_cake: float, rel_sigma: float) -> Calibration:
    """Put a measured f into the belief: weighed trimmings, or weights in and out against the drop."""
    f = number("measured f", water_per_cake, wanted="water per cake, 0.01 to 3", least=0.01, most=3)
    sigma = number("measured f's spread", rel_sigma, wanted="a share, 0.001 to 1", least=0.001, most=1)
    return _seen(belief, np.array([0.0, 1.0, 0.0, 0.0, 0.0]), math.log(f), sigma)


def mean_wall_mm(belief: Calibration, water_ml: float, *, thinning: float = 1.0) -> Ranged:
    """Mean wall for water given up, with the 80 % range that area and f leave, [mm]."""
    water = number("water given up", water_ml, wanted="mL, 0.1 to 100000", least=0.1, most=1e5)
    product = float(belief.mean[0] + belief.mean[1])
    return lognormal(1000.0 * water / math.exp(product) / thinning, _product_sigma(belief))


def wall_half_width_mm(belief: Calibration, wall_mm: float) -> float:
    """Half of the 80 % range of a mean wall near `wall_mm`: 'walls to about 0.4 mm', [mm]."""
    wall = number("wall", wall_mm, wanted="the wall in mm, above 0 to 60", above=0, most=60)
    return Z80 * wall * _product_sigma(belief)


def calibrated(belief: Calibration, mould: MouldProfile, *, water_per_cake: float) -> MouldProfile:
    """Give a mould the wetted area that makes water and wall agree, with what is left open.

    Parameters
    ----------
    belief : Calibration
    mould : MouldProfile
    water_per_cake : float
        f as the slip's record states it: only f times area is known well after a cut test, so the area must
        go with the f that it will be used with.
    """
    f = number("f", water_per_cake, wanted="water per cake, 0.01 to 3", least=0.01, most=3)
    area = math.exp(float(belief.mean[0] + belief.mean[1])) / f
    return replace(mould, wetted_area_mm2=area, area_rel_sigma=_product_sigma(belief))


def _product_sigma(belief: Calibration) -> float:
    return math.sqrt(float(belief.covariance[:2, :2].sum()))


def _measurement(test: WallTest) -> tuple[Array, float, float]:
    wall = number("measured wall", test.wall_mm, wanted="the wall in mm, 0.2 to 60", least=0.2, most=60)
    wall_sigma = number(
        "measured wall's spread",
        test.sigma_mm,
        wanted="mm, above 0, at most half the wall",
        above=0,
        most=wall / 2,
    )
    water = number("water given up", test.water_ml, wanted="mL, 0.1 to 100000", least=0.1, most=1e5)
    water_sigma = number(
        "spread of the water",
        test.water_sigma_ml,
        wanted="mL, above 0, at most half of it",
        above=0,
        most=water / 2,
    )
    ratio = number("expected ratio", test.expected_ratio, wanted="0.05 to 3", least=0.05, most=3)
    thin = number("thinning", test.thinning, wanted="0.3 to 1.5", least=0.3, most=1.5)
    row = np.array([-1.0, -1.0, 0.0, 0.0, 0.0])
    if test.place is not Place.MEAN:
        row[2 + _PLACES.index(test.place)] = 1.0
    seen = math.log(wall * thin / ratio / (1000.0 * water))
    return row, seen, math.hypot(wall_sigma / wall, water_sigma / water)


def _seen(belief: Calibration, row: Array, seen: float, sigma: float) -> Calibration:
    gain = belief.covariance @ row / (row @ belief.covariance @ row + sigma * sigma)
    rest = np.eye(len(row)) - np.outer(gain, row)
    covariance = rest @ belief.covariance @ rest.T + sigma * sigma * np.outer(gain, gain)
    return Calibration(belief.mean + gain * (seen - row @ belief.mean), np.asarray(covariance))


def _question(test: WallTest, there: Ranged) -> str:
    at = "on the mean" if test.place is Place.MEAN else f"at the {test.place.value}"
    return (
        f"a wall of {test.wall_mm:.1f} mm {at} does not fit the {there.low:.1f} to {there.high:.1f} mm "
        "expected there; measure again, and check place, state (wet, dry, fired) and which cast it was"
    )
