"""When a pour hole gets too narrow to drain: the ring of clay grows inwards while the slip still runs."""

from __future__ import annotations

import numpy as np

from models.fit import AbsorptionFit
from models.mould import MouldProfile
from models.traps import hanging_width_mm

STEP_MM = 2.0
FAR_SHARE = 3.0
FAR_MM = 4.0
"""A hole with more room than this many of the present walls and so many mm cannot close within minutes, the
fastest slip included: K = 5 mm2/min [S24] makes 5 mm in the first five. [mm]"""

_HALVINGS = 12


def drains_until_s(
    fit: AbsorptionFit, mould: MouldProfile, specific_gravity: float, from_s: float, to_s: float
) -> float | None:
    """Return when the slip no longer runs out by itself, looked for between two moments; None: not by then.

    A neck lets slip out only while air can pass it the other way: below `hanging_width_mm` slip hangs in it
    [S19, S30]. That is some minutes before the ring has shut it altogether.

    Parameters
    ----------
    fit : AbsorptionFit
    mould : MouldProfile
        Several pour holes let air in by one and slip out by another: they then drain until they are shut.
    specific_gravity : float
        Of the slip.
    from_s, to_s : float
        [s]
    """
    room = _room(mould, hanging_width_mm(specific_gravity))
    if room is None:
        return None
    depths, room_mm = room

    def hangs(at_s: float) -> bool:
        return bool(np.any(fit.cake_on_wall(at_s, depths) >= room_mm))

    if not hangs(to_s):
        return None
    if hangs(from_s):
        return from_s
    for _ in range(_HALVINGS):
        middle = 0.5 * (from_s + to_s)
        from_s, to_s = (from_s, middle) if hangs(middle) else (middle, to_s)
    return to_s


def is_wide(mould: MouldProfile, wall_mm: float) -> bool:
    """Whether no place of the mould is near to closing, at a glance: for every second."""
    narrowest_mm = min(
        *(diameter for _, diameter in mould.bore),
        *(diameter for hole in mould.holes for _, diameter in hole.bore),
        *(hole.axes_mm[1] for hole in mould.holes if hole.axes_mm is not None),
    )
    room_mm = 0.5 * (narrowest_mm - hanging_width_mm(1.0))
    return room_mm > FAR_SHARE * wall_mm + FAR_MM


def _room(mould: MouldProfile, width_mm: float) -> tuple[np.ndarray, np.ndarray] | None:
    """Depths on the way out, and how thick the clay may grow there; None where it never drained freely."""
    if len(mould.holes) != 1:
        return None
    rows = np.array(mould.bore)
    widest_mm = float(rows[int(np.argmax(rows[:, 1] * (rows[:, 0] >= mould.neck_mm))), 0])
    depths = np.arange(0.0, max(widest_mm, STEP_MM), STEP_MM)
    radii = mould.radius_mm(depths)
    hole = mould.holes[0]
    if hole.bore:
        depth, width = zip(*hole.bore, strict=True)
        radii = np.where(depths <= depth[-1], np.interp(depths, depth, width) / 2.0, radii)
    if hole.axes_mm is not None:
        radii = radii * min(1.0, hole.axes_mm[1] / (2.0 * float(radii[0])))
    room = radii - width_mm / 2.0
    return (depths, room) if bool(np.all(room > 0.0)) else None
