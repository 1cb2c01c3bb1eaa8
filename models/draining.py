"""After the tip: draining, setting and demoulding, each with its range, taught by the mould's own history."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from models.doors import number
from models.ranged import Ranged, lognormal

DRAIN_MEDIAN_MIN, DRAIN_SIGMA_LOG = 20.0, 0.65
"""Time upside down where nothing is known: 10-15, 10-60, 30, 60 min in print [S17]; 80 % from 9 to 46."""

DEMOULD_MEDIAN_MIN, DEMOULD_SIGMA_LOG = 45.0, 0.60
"""From tip to demoulding of a `REFERENCE_WALL_MM` wall in a dry mould: 30-80 min in print [S3], about 45
[S17], several hours in industry; 80 % from 21 to 97."""

OPEN_SHARE = 0.6
"""Share of the way to demoulding at which the spare can be cut and a mould of several parts first opened
(common practice, no source)."""

REFERENCE_WALL_MM = 4.0
"""Wall of the printed stiffening times [S3]. [mm]"""

SCATTER_LOG = 0.20
"""How far one cast's setting is off when its mould is well known, as a logarithm (guess)."""

LONGEST_WAIT = 2.5
"""Nobody leaves a cast in its mould for more than so many times as long as it needs (guess)."""

WALL_POWER = 2.0
"""Setting time goes with this power of the wall: water must leave through the wall (guess, from L2 = K t)."""


@dataclass(frozen=True, slots=True)
class PastStep:
    """How long a step took once, and what it depends on.

    Attributes
    ----------
    minutes : float
        From the tip to the moment that the caster found right. [min]
    wall_mm : float
        Wet wall. [mm]
    slowness : float
        Dry K of the mould over K of that cast: 1 when dry, larger when damp.
    """

    minutes: float
    wall_mm: float
    slowness: float


@dataclass(frozen=True, slots=True)
class AfterTip:
    """Forecast from the moment of the tip, [min] each.

    Attributes
    ----------
    drained, spare_cut, demould : Ranged
        Turned upright again; spare cut; out of the mould.
    set_water_share : Ranged
        Water that stiffening adds to the plaster, over the water of the cast itself.
    """

    drained: Ranged
    spare_cut: Ranged
    demould: Ranged
    set_water_share: Ranged


def after_tip(
    *,
    wall_mm: float,
    slowness: float,
    water_per_cake: float,
    past_drains: Sequence[PastStep] = (),
    past_demoulds: Sequence[PastStep] = (),
    clean_by: Sequence[PastStep] = (),
    too_soon: Sequence[PastStep] = (),
) -> AfterTip:
    """Forecast draining, cutting the spare and demoulding of one cast.

    Parameters
    ----------
    wall_mm : float
        Wet wall at the tip, 0.3 to 60. [mm]
    slowness : float
        Dry K over K of this cast, 0.3 to 20: a damp mould sets slowly as it casts slowly.
    water_per_cake : float
        f of the slip.
    past_drains, past_demoulds : sequence of PastStep
        This mould's own, at the very moment when the cast let go.
    clean_by : sequence of PastStep
        Its demoulds that came clean: it may have been time before. Taken for the moment itself, a forecast
        that is followed would run away, later with every cast.
    too_soon : sequence of PastStep
        Its demoulds at which the cast stuck or slumped: the right moment was later than each of them.

    Notes
    -----
    Setting goes with wall squared and with slowness, as casting does: in the one printed series, stiffening
    of 30, 35, 40 min goes with casting of 3, 3.5, 4 min [S3]. Prior spreads span what makers print.
    Stiffening from moisture .25 to .18 gives the plaster 0.44 kg/m2 beside 1.17 of the cast [S28]; part of it
    leaves into the air, so the share runs from a third of that to all.
    """
    number("wall", wall_mm, wanted="the wet wall in mm, 0.3 to 60", least=0.3, most=60)
    number("slowness", slowness, wanted="dry K over K of this cast, 0.3 to 20", least=0.3, most=20)
    f = number("f", water_per_cake, wanted="water per cake, 0.01 to 3", least=0.01, most=3)
    drained = _learned(DRAIN_MEDIAN_MIN, DRAIN_SIGMA_LOG, past_drains, 1.0, "drain")
    size = _size(wall_mm, slowness)
    demould = _learned(
        DEMOULD_MEDIAN_MIN, DEMOULD_SIGMA_LOG, past_demoulds, size, "demould", clean_by, too_soon
    )
    cut = Ranged(OPEN_SHARE * demould.value, OPEN_SHARE * demould.low, OPEN_SHARE * demould.high)
    # dry clay per cake .606 x 2.6, moisture .25 -> .18: 0.110 of water per cake [S28]
    most = 0.110 / f
    return AfterTip(drained, cut, demould, Ranged(0.7 * most, most / 3.0, most))


def slumps(minutes: float, forecast: AfterTip) -> bool:
    """Whether demoulding now is sooner than four in five good ones: it may slump or stick."""
    return (
        number("minutes since the tip", minutes, wanted="0 to 100000", least=0, most=1e5)
        < forecast.demould.low
    )


def _size(wall_mm: float, slowness: float) -> float:
    return float(slowness * (wall_mm / REFERENCE_WALL_MM) ** WALL_POWER)


def _learned(
    median: float,
    sigma: float,
    past: Sequence[PastStep],
    size: float,
    step: str,
    clean_by: Sequence[PastStep] = (),
    too_soon: Sequence[PastStep] = (),
) -> Ranged:
    """Bring each past step to size 1 and join it to the prior, normal in the logarithm."""
    weight = 1.0 / sigma**2
    total = weight * math.log(median)
    for i, seen in enumerate(past, 1):
        total += _size_1_log(seen, f"{step} {i}", step) / SCATTER_LOG**2
        weight += 1.0 / SCATTER_LOG**2
    mean, variance = total / weight, 1.0 / weight
    for i, seen in enumerate(clean_by, 1):
        latest = _size_1_log(seen, f"clean {i}", step)
        mean, variance = _sooner_than(mean, variance, latest)
        mean, variance = _later_than(mean, variance, latest - math.log(LONGEST_WAIT))
    for i, seen in enumerate(too_soon, 1):
        mean, variance = _later_than(mean, variance, _size_1_log(seen, f"too soon {i}", step))
    spread = sigma if not (past or clean_by or too_soon) else math.hypot(math.sqrt(variance), SCATTER_LOG)
    return lognormal(size * math.exp(mean), spread)


def _later_than(mean: float, variance: float, least: float) -> tuple[float, float]:
    """Mean and variance after it is known that one time, scattered about the mean, was above `least`.

    The normal with the same two moments as the exact answer stands for it.
    """
    spread = math.sqrt(variance + SCATTER_LOG**2)
    z = max((mean - least) / spread, -6.0)  # further out the two densities are below what floats hold well
    above = 0.5 * math.erfc(-z / math.sqrt(2.0))
    pull = math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi) / above
    return mean + variance / spread * pull, variance - variance**2 / spread**2 * pull * (pull + z)


def _sooner_than(mean: float, variance: float, most: float) -> tuple[float, float]:
    """Mean and variance after it is known that one time, scattered about the mean, was below `most`."""
    mirrored, variance = _later_than(-mean, variance, -most)
    return -mirrored, variance


def _size_1_log(seen: PastStep, name: str, step: str) -> float:
    """Logarithm of a past step's minutes, brought to size 1."""
    minutes = number(f"{name} minutes", seen.minutes, wanted="min, above 0 to 10000", above=0, most=1e4)
    number(f"{name} wall", seen.wall_mm, wanted="mm, 0.3 to 60", least=0.3, most=60)
    number(f"{name} slowness", seen.slowness, wanted="0.3 to 20", least=0.3, most=20)
    return math.log(minutes / (_size(seen.wall_mm, seen.slowness) if step == "demould" else 1.0))
