"""The morning's reading of the slip: what was measured, what it comes to, and what to do first."""

from __future__ import annotations

from dataclasses import dataclass

from models.constants import SOLIDS_SPECIFIC_GRAVITY
from models.constants_desk import CAKE_MOISTURE
from models.diary import REFERENCE_C
from models.doors import BadValue, number
from models.flow_cups import Cup, Thixotropy, read_cup, thixotropy
from models.slip import Slip
from models.slip_check import SlipBand, SlipVerdict, Verdict, judge_slip
from models.slip_desk import (
    Contents,
    SlipChange,
    dry_and_water,
    effect_of,
    powder_to_add_g,
    thicker_slip_to_add_l,
)
from models.slip_weight import SlipMeasure, specific_gravity
from models.water import speed_ratio

MUCH_THIXOTROPY = 1.5
"""A flow time this many times as long after standing is worth a warning (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class SlipWords:
    """What the caster measured and wants to know; readings as they were taken.

    Attributes
    ----------
    measure : SlipMeasure
        In which `reading`, `band` and `thicker` are given.
    baume_modulus : float or None
        Asked for with degrees Baume only.
    stirred : bool
        Whether the whole tank was stirred through before the reading.
    temperature_c : float or None
        Of the slip. [C]
    flow_s, stood_s, stood_min : float or None
        Flow time just stirred, and after a wait. [s], [s], [min]
    cup : str or None
        Name of the cup where it is a known one.
    band, flow_band : tuple of float or None
        The caster's own, low and high; flow in s.
    tank_l, thicker : float or None
        Slip in the tank [L], and the thicker slip that is at hand.
    grains_sg : float or None
        Specific gravity of the dry clay's grains; None: the bench's.
    """

    measure: SlipMeasure
    reading: float
    baume_modulus: float | None = None
    stirred: bool = False
    temperature_c: float | None = None
    flow_s: float | None = None
    stood_s: float | None = None
    stood_min: float | None = None
    cup: str | None = None
    band: tuple[float, float] | None = None
    flow_band: tuple[float, float] | None = None
    tank_l: float | None = None
    thicker: float | None = None
    grains_sg: float | None = None


@dataclass(frozen=True, slots=True)
class CupTime:
    """A flow time: comparable with others of this cup; `misfit` says why the cup does not suit it."""

    seconds: float
    cup: str | None
    why: str
    misfit: str = ""


@dataclass(frozen=True, slots=True)
class Mending:
    """How the tank is brought to the middle of the band; only one way or the other.

    Attributes
    ----------
    goal_sg : float
    water_l, thicker_l, powder_kg : float or None
        What is added to the whole tank. [L], [L], [kg]
    effect : SlipChange or None
        What that does to casting time and fall; None where this slip cannot be reckoned.
    """

    goal_sg: float
    water_l: float | None = None
    thicker_l: float | None = None
    powder_kg: float | None = None
    effect: SlipChange | None = None


@dataclass(frozen=True, slots=True)
class SlipMorning:
    """Everything that the morning's check says.

    Attributes
    ----------
    sg : float
    per_litre : Contents
        Dry clay and water in a litre. [g]
    warmth_ratio : float or None
        Casting time at this temperature over that at 20 C.
    flow, thick : CupTime or None, Thixotropy or None
    band : SlipBand or None
        In specific gravity.
    verdict : SlipVerdict or None
        None without a band.
    mending : Mending or None
    against_bench : SlipChange or None
        What today's slip does beside the one in the bench's file.
    """

    words: SlipWords
    sg: float
    per_litre: Contents
    warmth_ratio: float | None
    flow: CupTime | None
    thick: Thixotropy | None
    band: SlipBand | None
    verdict: SlipVerdict | None
    mending: Mending | None
    against_bench: SlipChange | None


def morning_of(words: SlipWords, bench_slip: Slip | None = None) -> SlipMorning:
    """Work through a morning's reading.

    Parameters
    ----------
    words : SlipWords
    bench_slip : Slip, optional
        What the bench's file says: its cake, and the slip that today's is compared with.

    Raises
    ------
    BadValue
        With one sentence on the first value that cannot be right.
    """
    sg = _gravity(words, words.reading)
    flow, thick = _flow(words)
    band = _band(words)
    tank_l = 1.0 if words.tank_l is None else words.tank_l
    verdict = None
    if band is not None:
        verdict = judge_slip(band, tank_l=tank_l, sg=sg, stirred=words.stirred, flow_s=words.flow_s)
    mending = _mending(words, sg, band, verdict, bench_slip)
    return SlipMorning(
        words,
        sg,
        dry_and_water(1.0, sg, solids_sg=_grains(words, bench_slip)),
        None if words.temperature_c is None else _warmth(words.temperature_c),
        flow,
        thick,
        band,
        verdict,
        mending,
        None if bench_slip is None else _effect(words, bench_slip.specific_gravity, sg, bench_slip),
    )


def _gravity(words: SlipWords, reading: float) -> float:
    return specific_gravity(words.measure, reading, baume_modulus=words.baume_modulus)


def _warmth(temperature_c: float) -> float:
    given = number("temperature", temperature_c, wanted="that of the slip in C, 1 to 50", least=1, most=50)
    return speed_ratio(given, REFERENCE_C)


def _flow(words: SlipWords) -> tuple[CupTime | None, Thixotropy | None]:
    if words.flow_s is None:
        for field, given in (
            ("flow time after standing", words.stood_s),
            ("minutes of standing", words.stood_min),
            ("cup", words.cup),
        ):
            if given is not None:
                raise BadValue(f"{field} is given alone; give the flow time just stirred as well")
        return None, None
    if (words.stood_s is None) != (words.stood_min is None):
        raise BadValue("flow time after standing and minutes of standing go together; give both, or neither")
    cup = None if words.cup is None else _cup(words.cup)
    compared = read_cup(cup or Cup.FORD_4, words.flow_s)
    misfit = ""
    if cup is not None:
        try:
            read_cup(cup, words.flow_s, thixotropic=False)
        except BadValue as fault:
            misfit = str(fault)
    time = CupTime(words.flow_s, words.cup, getattr(compared, "why", ""), misfit)
    if words.stood_s is None or words.stood_min is None:
        return time, None
    return time, thixotropy(words.flow_s, words.stood_s, words.stood_min)


def _cup(name: str) -> Cup:
    try:
        return Cup(name)
    except ValueError:
        raise BadValue(f"cup is '{name}'; give one of {', '.join(cup.value for cup in Cup)}") from None


def _band(words: SlipWords) -> SlipBand | None:
    if words.band is None:
        if words.flow_band is not None:
            raise BadValue("band of the flow time is given alone; give the band of the weight as well")
        return None
    low, high = (_gravity(words, end) for end in words.band)
    flow_low, flow_high = words.flow_band or (None, None)
    return SlipBand(low, high, flow_low, flow_high)


def _mending(
    words: SlipWords, sg: float, band: SlipBand | None, verdict: SlipVerdict | None, bench_slip: Slip | None
) -> Mending | None:
    if band is None or verdict is None:
        return None
    goal = (band.sg_low + band.sg_high) / 2.0
    if verdict.verdict is Verdict.TOO_THICK:
        water = None if words.tank_l is None else verdict.water_l
        return Mending(goal, water_l=water, effect=_effect(words, sg, goal, bench_slip))
    if verdict.verdict is not Verdict.TOO_THIN:
        return None
    effect = _effect(words, sg, goal, bench_slip)
    if words.tank_l is None:
        return Mending(goal, effect=effect)
    if words.thicker is None:
        powder_g = powder_to_add_g(words.tank_l, sg, goal, solids_sg=_grains(words, bench_slip))
        return Mending(goal, powder_kg=powder_g / 1000.0, effect=effect)
    litres = thicker_slip_to_add_l(words.tank_l, sg, goal, _gravity(words, words.thicker))
    return Mending(goal, thicker_l=litres, effect=effect)


def _grains(words: SlipWords, slip: Slip | None) -> float:
    if words.grains_sg is not None:
        return words.grains_sg
    return SOLIDS_SPECIFIC_GRAVITY if slip is None else slip.solids_specific_gravity


def _effect(words: SlipWords, before: float, after: float, slip: Slip | None) -> SlipChange | None:
    """Compare two slips of one body; None where one of them is as thick as its own cake."""
    solids = _grains(words, slip)
    moisture = CAKE_MOISTURE
    if slip is not None:  # phi_c = 1/(1 + w G) turned round
        moisture = (1.0 / slip.cake_solids_fraction - 1.0) / solids
    try:
        return effect_of(before, after, solids_sg=solids, moisture=moisture)
    except BadValue:
        return None
