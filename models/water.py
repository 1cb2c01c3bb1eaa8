"""Water: density and viscosity with temperature, and what they do to the speed of casting."""

from __future__ import annotations

import math

from models.doors import number

_KELL_TOP = (999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12)
_KELL_BOTTOM = 16.879850e-3

_DILUTE = (1.67752, 2.20462, 0.6366564, -0.241605)
# (power of 1/T - 1, power of density - 1, coefficient), IAPWS R12-08 [S6]
_DENSE = (
    (0, 0, 0.520094),
    (1, 0, 0.0850895),
    (2, 0, -1.08374),
    (3, 0, -0.289555),
    (0, 1, 0.222531),
    (1, 1, 0.999115),
    (2, 1, 1.88797),
    (3, 1, 1.26613),
    (5, 1, 0.120573),
    (0, 2, -0.281378),
    (1, 2, -0.906851),
    (2, 2, -0.772479),
    (3, 2, -0.489837),
    (4, 2, -0.257040),
    (0, 3, 0.161913),
    (1, 3, 0.257399),
    (0, 4, -0.0325372),
    (3, 4, 0.0698452),
    (4, 5, 0.00872102),
    (3, 6, -0.00435673),
    (5, 6, -0.000593264),
)
_CRITICAL_K = 647.096
_CRITICAL_KG_M3 = 322.0


def density_kg_m3(temperature_c: float) -> float:
    """Density of water at one atmosphere.

    Parameters
    ----------
    temperature_c : float
        0 to 100. [C]

    Returns
    -------
    float
        Density. [kg/m3] Within 0.01 % of IAPWS95 over 0-60 C (tested).

    Raises
    ------
    BadValue
        Outside 0-100 C.

    Notes
    -----
    Kell's ratio of polynomials [S15].
    """
    t = number(
        "water temperature", temperature_c, wanted="water's temperature in C, 0 to 100", least=0, most=100
    )
    top = sum(c * t**i for i, c in enumerate(_KELL_TOP))
    return top / (1.0 + _KELL_BOTTOM * t)


def viscosity_pa_s(temperature_k: float, density_kg_m3: float) -> float:
    """Viscosity of water by IAPWS R12-08 without the critical enhancement.

    Parameters
    ----------
    temperature_k : float
        250 to 1200; the formula is meant for 273 K and above. [K]
    density_kg_m3 : float
        Above 0 to 1300. [kg/m3]

    Returns
    -------
    float
        Dynamic viscosity. [Pa s]

    Notes
    -----
    [S6]: 298.15 K, 998 kg/m3 gives 889.735100 uPa s. The enhancement that is left out matters only close to
    the critical point (374 C).
    """
    temp = (
        number("temperature_k", temperature_k, wanted="kelvin, 250 to 1200", least=250, most=1200)
        / _CRITICAL_K
    )
    dens = (
        number("density_kg_m3", density_kg_m3, wanted="kg/m3, above 0 to 1300", above=0, most=1300)
        / _CRITICAL_KG_M3
    )
    dilute = 100.0 * math.sqrt(temp) / sum(h / temp**i for i, h in enumerate(_DILUTE))
    dense = math.exp(dens * sum((1.0 / temp - 1.0) ** i * (dens - 1.0) ** j * h for i, j, h in _DENSE))
    return dilute * dense * 1e-6


def viscosity_mpa_s(temperature_c: float) -> float:
    """Viscosity of water at one atmosphere and 0-100 C, [mPa s]."""
    return 1e3 * viscosity_pa_s(temperature_c + 273.15, density_kg_m3(temperature_c))


def speed_ratio(from_c: float, to_c: float) -> float:
    """How much faster a mould casts at `to_c` than at `from_c`, all else equal.

    Parameters
    ----------
    from_c, to_c : float
        Temperatures of slip and mould, 0 to 100. [C]

    Returns
    -------
    float
        K at `to_c` over K at `from_c`.

    Notes
    -----
    Darcy flow through cake and plaster goes with one over the viscosity of water [S27]. The suction is taken
    as unchanged. No measurement of K against temperature for clay slips was found.
    """
    return viscosity_mpa_s(from_c) / viscosity_mpa_s(to_c)
