"""When to tip: the wall now and the moment at which it is, or was, what is wanted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from models.fit import AbsorptionFit
from models.good_cast import THICK_OVER_THIN
from models.mould import MouldProfile
from models.ranged import Ranged


@dataclass(frozen=True, slots=True)
class TipEstimate:
    """Wall and tip of one cast at one moment. Ranges hold the truth four times in five.

    Attributes
    ----------
    wall_mm, wall_low_mm, wall_high_mm : float
        Mean wall of the piece now. [mm]
    ready_s, ready_low_s, ready_high_s : float or None
        When the wall reaches the thin end of what is wanted, or did. None: see `why`. [s]
    why : str
        Why there is no moment, or what the caster should know of it; empty when there is nothing.
    water_ml : float
        Water given up so far. [mL]
    latest_s : float or None
        When the wall reaches the thick end of what is wanted. [s]
    shut_s : float or None
        When the ring of cake shuts the pour hole. [s]
    """

    wall_mm: float
    wall_low_mm: float
    wall_high_mm: float
    ready_s: float | None
    ready_low_s: float | None
    ready_high_s: float | None
    why: str = ""
    water_ml: float = 0.0
    latest_s: float | None = None
    shut_s: float | None = None


def estimate_tip(fit: AbsorptionFit, mould: MouldProfile, now_s: float) -> TipEstimate:
    """Estimate a mould's tip.

    Parameters
    ----------
    fit : AbsorptionFit
    mould : MouldProfile
        Its target: a wall, else the water of a cast that was good.
    now_s : float
        The moment to speak of. [s]
    """
    state = fit.at(now_s)
    ready, why = _ready(fit, mould) if not mould.solid else (None, _fed(fit, mould, now_s))
    latest = _latest(fit, mould)
    return TipEstimate(
        state.wall_mm.value,
        state.wall_mm.low,
        state.wall_mm.high,
        ready.value if ready is not None else None,
        ready.low if ready is not None else None,
        ready.high if ready is not None else None,
        why or fit.why,
        state.water_ml.value,
        latest.value if latest is not None else None,
        fit.shut_s,
    )


def _latest(fit: AbsorptionFit, mould: MouldProfile) -> Ranged | None:
    """When the thick end of what is wanted is reached: of a wall, else of a good cast's water."""
    if mould.solid:
        return None
    if mould.target_wall_mm is not None:
        return fit.moment_of_wall(mould.target_wall_mm[1])
    if mould.target_water_ml is not None:
        return fit.moment_of_water(THICK_OVER_THIN * mould.target_water_ml)
    return None


def _fed(fit: AbsorptionFit, mould: MouldProfile, now_s: float) -> str:
    """Say how a solid piece stands: it is through when the cake from all sides meets at its thickest."""
    through_s = fit.moment_of_growth(float(mould.radius_mm(np.array([row[0] for row in mould.bore])).max()))
    if through_s.value <= now_s:
        return "a solid piece is not tipped: it has cast through"
    minutes = (through_s.value - now_s) / 60.0
    return f"a solid piece is not tipped: keep it fed, about {minutes:.0f} min until it has cast through"


def _ready(fit: AbsorptionFit, mould: MouldProfile) -> tuple[Ranged | None, str]:
    if mould.target_wall_mm is not None:
        ready = fit.moment_of_wall(mould.target_wall_mm[0])
        wanted = f"{mould.target_wall_mm[0]:g} mm"
    elif mould.target_water_ml is not None:
        ready = fit.moment_of_water(mould.target_water_ml)
        wanted = f"{mould.target_water_ml:g} mL of water"
    else:
        return None, "no target: say how thick the wall should be, or which cast was good"
    shut_s = fit.shut_s
    if ready is not None and fit.leaking:  # what leaks is not in the wall: rather called late than early
        ready = Ranged(ready.high, ready.low, ready.high + (ready.high - ready.value))
    if ready is None and shut_s is not None:
        return None, f"the pour hole freezes shut before {wanted}: top up, or drain sooner"
    if ready is None:
        return None, f"this cast does not get to {wanted}"
    if shut_s is not None and ready.value > shut_s:
        return None, f"the pour hole freezes shut before {wanted}: top up, or drain sooner"
    return ready, ""
