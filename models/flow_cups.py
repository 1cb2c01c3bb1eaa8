"""Flow cups: seconds to run out, and the viscosity they stand for where the liquid allows one."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from models.doors import BadValue, number


class Cup(StrEnum):
    """The cups whose formulas are known here."""

    FORD_1 = "ford_1"
    FORD_2 = "ford_2"
    FORD_3 = "ford_3"
    FORD_4 = "ford_4"
    FORD_5 = "ford_5"
    ISO_3_MM = "iso_3mm"
    ISO_4_MM = "iso_4mm"
    ISO_5_MM = "iso_5mm"
    ISO_6_MM = "iso_6mm"
    DIN_4_MM = "din_4mm"


@dataclass(frozen=True, slots=True)
class _CupLaw:
    """nu = a t - b - c/t, valid from `least_s` to `most_s`, at `standard_c`."""

    a: float
    b: float
    c: float
    least_s: float
    most_s: float
    standard_c: float


# Ford nu = K (t - c) of ASTM D1200; ISO 2431 nu = A t - B/t; DIN 53211 nu = 4.57 t - 452/t [S8].
# Time windows of ASTM and ISO read; Ford 5 and DIN windows from memory (fairly sure).
_LAWS = {
    Cup.FORD_1: _CupLaw(0.49, 0.49 * 35.0, 0.0, 55.0, 100.0, 25.0),
    Cup.FORD_2: _CupLaw(1.44, 1.44 * 18.0, 0.0, 40.0, 100.0, 25.0),
    Cup.FORD_3: _CupLaw(2.31, 2.31 * 6.58, 0.0, 20.0, 100.0, 25.0),
    Cup.FORD_4: _CupLaw(3.85, 3.85 * 4.49, 0.0, 20.0, 100.0, 25.0),
    Cup.FORD_5: _CupLaw(12.1, 12.1 * 2.0, 0.0, 20.0, 100.0, 25.0),
    Cup.ISO_3_MM: _CupLaw(0.443, 0.0, 200.0, 30.0, 100.0, 23.0),
    Cup.ISO_4_MM: _CupLaw(1.37, 0.0, 200.0, 30.0, 100.0, 23.0),
    Cup.ISO_5_MM: _CupLaw(3.28, 0.0, 220.0, 30.0, 100.0, 23.0),
    Cup.ISO_6_MM: _CupLaw(6.90, 0.0, 570.0, 30.0, 100.0, 23.0),
    Cup.DIN_4_MM: _CupLaw(4.57, 0.0, 452.0, 25.0, 150.0, 20.0),
}

COMPARE_ONLY = (
    "slip thickens while it stands, so these seconds only compare with your own readings taken the same way; "
    "they are not a viscosity"
)


@dataclass(frozen=True, slots=True)
class CupViscosity:
    """Viscosity of a liquid that does not thicken while it stands, at the cup's standard temperature."""

    viscosity_mm2_s: float
    standard_c: float


@dataclass(frozen=True, slots=True)
class CompareOnly:
    """A flow time of a thixotropic slip: good against other flow times of the same cup, no viscosity."""

    seconds: float
    why: str = COMPARE_ONLY


def read_cup(cup: Cup, seconds: float, *, thixotropic: bool = True) -> CupViscosity | CompareOnly:
    """Say what a flow time stands for.

    Parameters
    ----------
    cup : Cup
    seconds : float
        Time to run out, within the cup's window unless only compared. [s]
    thixotropic : bool
        Casting slip is (default): then the time is a comparative number only [S8].

    Raises
    ------
    BadValue
        No time at all; or, where a viscosity is asked for, a time outside the cup's window.
    """
    law = _LAWS[cup]
    if thixotropic:
        return CompareOnly(
            number("flow time", seconds, wanted="the seconds, above 0 to 3600", above=0, most=3600)
        )
    window = f"{law.least_s:g} to {law.most_s:g} s for this cup; outside it take a wider or narrower one"
    t = number("flow time", seconds, wanted=window, least=law.least_s, most=law.most_s)
    return CupViscosity(law.a * t - law.b - law.c / t, law.standard_c)


@dataclass(frozen=True, slots=True)
class Thixotropy:
    """How much a slip thickens while it stands, from two flow times of one cup.

    Attributes
    ----------
    ratio : float
        Flow time after standing over flow time just stirred.
    stood_min : float
        How long it stood between. [min]
    """

    ratio: float
    stood_min: float


def thixotropy(stirred_s: float, stood_s: float, stood_min: float) -> Thixotropy:
    """Compare two readings of one cup with a wait between them (common practice, no source).

    Parameters
    ----------
    stirred_s : float
        Flow time at once after stirring. [s]
    stood_s : float
        Flow time of the same slip, filled in at once and let go after the wait. [s]
    stood_min : float
        The wait, above 0 to 120; take the same one every day. [min]

    Raises
    ------
    BadValue
        A time is absurd, or the slip ran clearly faster after standing: then it was not stirred through.
    """
    fresh = number("flow time stirred", stirred_s, wanted="the seconds, above 0 to 3600", above=0, most=3600)
    later = number(
        "flow time after standing", stood_s, wanted="the seconds, above 0 to 3600", above=0, most=3600
    )
    wait = number("wait", stood_min, wanted="the minutes of standing, above 0 to 120", above=0, most=120)
    if later < 0.95 * fresh:
        raise BadValue(
            f"flow time after standing is {later:g} s, shorter than the {fresh:g} s just stirred; "
            "stir the slip through and take both again"
        )
    return Thixotropy(later / fresh, wait)
