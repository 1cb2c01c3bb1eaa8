"""The morning's slip check: verdict against the caster's own band, and what to do first."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from models.doors import BadValue, number
from models.slip_desk import Mix, blended, water_to_add_l
from models.slip_weight import checked_sg

STIR_MIN = 4.0
"""Stirring before a slip is judged (common practice; one text says 4 min by paddle)."""

REST_MIN = 10.0
"""Wait after water or deflocculant was stirred in, before measuring again (common practice, no source)."""

RECLAIM_SHARE_WARN = 0.5
"""Reclaim over the whole: two to one fresh, or half and half [S31]."""


class Verdict(StrEnum):
    """What the check says."""

    GOOD = "good"
    STIR_FIRST = "stir_first"  # seems thick, but was not stirred: water added now would be too much
    TOO_THICK = "too_thick"  # too little water: add `water_l`
    TOO_THIN = "too_thin"  # too much water: add thicker slip or powder, or let it stand open
    GELS = "gels"  # weight is right but it runs too slowly: deflocculant, not water
    RUNS = "runs"  # weight is right but it runs too fast: too much deflocculant, or not aged


@dataclass(frozen=True, slots=True)
class SlipBand:
    """The band that the caster wants the slip in; from the caster, not from us.

    Attributes
    ----------
    sg_low, sg_high : float
        Specific gravity.
    flow_low_s, flow_high_s : float or None
        Seconds from the caster's own cup, just stirred.
    """

    sg_low: float
    sg_high: float
    flow_low_s: float | None = None
    flow_high_s: float | None = None

    def __post_init__(self) -> None:
        low = checked_sg("band's lower specific gravity", self.sg_low)
        high = checked_sg("band's upper specific gravity", self.sg_high)
        if low > high:
            raise BadValue(f"band's lower specific gravity is {low:g}; give at most the upper one, {high:g}")
        if (self.flow_low_s is None) != (self.flow_high_s is None):
            raise BadValue("band's flow time is given at one end only; give both ends in s, or none")
        if self.flow_low_s is not None and self.flow_high_s is not None:
            least = number(
                "band's lower flow time", self.flow_low_s, wanted="seconds, above 0", above=0, most=3600
            )
            number(
                "band's upper flow time",
                self.flow_high_s,
                wanted=f"seconds, {least:g} to 3600",
                least=least,
                most=3600,
            )


@dataclass(frozen=True, slots=True)
class SlipVerdict:
    """What to do with the tank.

    Attributes
    ----------
    verdict : Verdict
    water_l : float
        Water to the middle of the band, only with `TOO_THICK`. Add half, stir, rest, measure again. [L]
    stir_min, rest_min : float
        Stir so long, then leave it so long, before the next reading; 0 where nothing is to be done. [min]
    """

    verdict: Verdict
    water_l: float = 0.0
    stir_min: float = 0.0
    rest_min: float = 0.0


def judge_slip(
    band: SlipBand, *, tank_l: float, sg: float, stirred: bool, flow_s: float | None = None
) -> SlipVerdict:
    """Judge a tank of slip against the caster's band.

    Parameters
    ----------
    band : SlipBand
    tank_l : float
        Slip in the tank, above 0. [L]
    sg : float
        Specific gravity read today.
    stirred : bool
        Whether the whole tank was stirred through before the reading was taken.
    flow_s : float, optional
        Flow time read today; compared only if the band has one. [s]

    Notes
    -----
    Weight says how much water, flow time says how it is deflocculated: water mends only the first
    [S32 and common practice]. A slip that was not stirred through is never judged thick.
    """
    number("tank", tank_l, wanted="the slip in the tank in L, above 0 to 100000", above=0, most=1e5)
    reading = checked_sg("specific gravity", sg)
    slow, fast = _flow(band, flow_s)
    if not stirred and (reading < band.sg_low or reading > band.sg_high or slow):
        return SlipVerdict(Verdict.STIR_FIRST, stir_min=STIR_MIN)
    if reading > band.sg_high:
        water = water_to_add_l(tank_l, reading, (band.sg_low + band.sg_high) / 2.0)
        return SlipVerdict(Verdict.TOO_THICK, water, STIR_MIN, REST_MIN)
    if reading < band.sg_low:
        return SlipVerdict(Verdict.TOO_THIN, stir_min=STIR_MIN, rest_min=REST_MIN)
    if slow:
        return SlipVerdict(Verdict.GELS, stir_min=STIR_MIN, rest_min=REST_MIN)
    if fast:
        return SlipVerdict(Verdict.RUNS, rest_min=REST_MIN)
    return SlipVerdict(Verdict.GOOD)


def _flow(band: SlipBand, flow_s: float | None) -> tuple[bool, bool]:
    if flow_s is None or band.flow_low_s is None or band.flow_high_s is None:
        return False, False
    seconds = number("flow time", flow_s, wanted="the seconds, above 0 to 3600", above=0, most=3600)
    return seconds > band.flow_high_s, seconds < band.flow_low_s


@dataclass(frozen=True, slots=True)
class Reclaimed:
    """Fresh slip with reclaim in it.

    Attributes
    ----------
    mix : Mix
        Volume and specific gravity of the whole.
    reclaim_share : float
        Reclaim over the whole, by volume.
    much : bool
        More than half is reclaim: its deflocculant and plaster crumbs want watching, measure flow again.
    """

    mix: Mix
    reclaim_share: float
    much: bool


def with_reclaim(fresh: Mix, reclaim: Mix) -> Reclaimed:
    """Slip of fresh and reclaimed slip poured together, with the share of reclaim [S31]."""
    mix = blended([fresh, reclaim])
    share = reclaim.volume_l / mix.volume_l
    return Reclaimed(mix, share, share > RECLAIM_SHARE_WARN)
