"""Temperature of a firing from its cone: self-supporting pyrometric cones by heating rate."""

from __future__ import annotations

import math

from models.doors import BadValue, number

RATES_C_PER_H = (15.0, 60.0, 150.0)
"""Rates over the last 100 C that the charts are given for. [C/h]"""

# The chart after its revision of 1996, seen second hand [S37]; never mixed with the older one.
_CONES = {
    "06": (981.0, 998.0, 1013.0),
    "05": (1021.0, 1031.0, 1044.0),
    "04": (1046.0, 1063.0, 1077.0),
    "03": (1071.0, 1086.0, 1104.0),
    "5": (1159.0, 1186.0, 1207.0),
    "6": (1185.0, 1222.0, 1243.0),
}

CONE_SIGMA_C = 2.0
"""How far a single cone may bend off its temperature [S37]."""


def known_cones() -> tuple[str, ...]:
    """Cones of the table, coolest first."""
    return tuple(sorted(_CONES, key=lambda cone: _CONES[cone][1]))


def cone_c(cone: str, rate_c_per_h: float = 60.0) -> float:
    """Temperature at which a self-supporting cone bends, [C].

    Parameters
    ----------
    cone : str
        As it is stamped: "06" and "6" are 224 degrees apart.
    rate_c_per_h : float
        Heating over the last 100 C, 15 to 150. [C/h]

    Raises
    ------
    BadValue
        A cone that is not in the table, or a rate outside the chart.

    Notes
    -----
    Between the chart's rates straight in the logarithm of the rate (ours).
    """
    if cone not in _CONES:
        raise BadValue(f"cone is {cone!r}; give one of {', '.join(known_cones())}, as it is stamped")
    rate = number("heating rate", rate_c_per_h, wanted="C an hour, 15 to 150", least=15, most=150)
    slow, middle, fast = _CONES[cone]
    if rate <= RATES_C_PER_H[1]:
        share = math.log(rate / RATES_C_PER_H[0]) / math.log(RATES_C_PER_H[1] / RATES_C_PER_H[0])
        return slow + share * (middle - slow)
    share = math.log(rate / RATES_C_PER_H[1]) / math.log(RATES_C_PER_H[2] / RATES_C_PER_H[1])
    return middle + share * (fast - middle)
