"""When the slip will sink to the trim line, so that the mould must be topped up before."""

from __future__ import annotations

from models.fit import AbsorptionFit
from models.ranged import Z80

_HALVINGS = 12


def trim_moment_s(fit: AbsorptionFit, trim_mm: float, from_s: float, to_s: float) -> float | None:
    """Return the early end of when the level reaches the trim line, looked for between two moments.

    Parameters
    ----------
    fit : AbsorptionFit
    trim_mm : float
        Depth of the trim line below the rim. [mm]
    from_s, to_s : float
        [s]

    Returns
    -------
    float or None
        The moment before which the level is above the line nine times in ten; None: later than `to_s`. [s]
    """

    def reached(at_s: float) -> bool:
        level_mm, sigma_mm, _ = fit.level_at(at_s)
        return level_mm + Z80 * sigma_mm >= trim_mm

    if not reached(to_s):
        return None
    if reached(from_s):
        return from_s
    for _ in range(_HALVINGS):
        middle = 0.5 * (from_s + to_s)
        from_s, to_s = (from_s, middle) if reached(middle) else (middle, to_s)
    return to_s
