"""One cast as the fit takes it: fillings, each with the levels read since it was full."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from models.doors import BadValue
from models.slip import Slip

Array = npt.NDArray[np.float64]


class SeriesError(BadValue):
    """A series that cannot be fitted; the message names the field, the value and what is wanted."""


@dataclass(frozen=True, slots=True, eq=False)
class Filling:
    """Slip came in (poured, topped up, or poured again after a tip), and the n levels read since.

    Attributes
    ----------
    earliest_s, latest_s : float
        The filling was completed somewhere between these moments. [s]
    times_s, levels_mm, sigma_mm, drift_sigma_mm : ndarray, shape (n,)
        Moment, depth below the rim, standard deviation of the whole error and of the part that changes from
        reading to reading. Readings of one placement share the rest. [s, mm]
    placement : ndarray of int, shape (n,)
        Which standing of the mould each reading belongs to.
    pour_s : float or None
        How long the pour took, where it was timed. [s]
    began_earliest_s, began_latest_s : float or None
        The pour began somewhere between these moments (last look at an empty hole, first look at slip),
        where that is known. [s]
    drained_from_s : float or None
        A refill: the mould stood without slip from this moment until the filling. [s]
    slip : Slip or None
        A second slip for this filling (layered cast); None: the cast's slip.
    clay_mm, mm_per_clay_mm : ndarray, shape (n,), or None
        Clay on the wall that each level was read with, and by how much it would read shallower for a
        millimetre more: a camera sees the slip's edge on the ring of cake. None: read with a ruler. [mm, 1]
    rim_share : ndarray, shape (n,), or None
        How much of the pull of the rim's edge each level has, 0 to 1: an error that those near it share.
    """

    earliest_s: float
    latest_s: float
    times_s: Array
    levels_mm: Array
    sigma_mm: Array
    drift_sigma_mm: Array
    placement: npt.NDArray[np.int64]
    pour_s: float | None = None
    drained_from_s: float | None = None
    slip: Slip | None = None
    began_earliest_s: float | None = None
    began_latest_s: float | None = None
    clay_mm: Array | None = None
    mm_per_clay_mm: Array | None = None
    rim_share: Array | None = None

    @property
    def full_s(self) -> float:
        """Middle of the window in which it was completed, in s."""
        return 0.5 * (self.earliest_s + self.latest_s)


@dataclass(frozen=True, slots=True, eq=False)
class LevelSeries:
    """One cast: its fillings in the order they came."""

    fillings: tuple[Filling, ...]

    @property
    def readings(self) -> int:
        """Number of levels over all fillings."""
        return sum(len(filling.times_s) for filling in self.fillings)


def filling(
    *,
    earliest_s: float,
    latest_s: float,
    times_s: Sequence[float] | Array = (),
    levels_mm: Sequence[float] | Array = (),
    sigma_mm: Sequence[float] | Array | float = 0.3,
    drift_sigma_mm: Sequence[float] | Array | float | None = None,
    placement: Sequence[int] | npt.NDArray[np.int64] | int = 0,
    pour_s: float | None = None,
    drained_from_s: float | None = None,
    slip: Slip | None = None,
    began_earliest_s: float | None = None,
    began_latest_s: float | None = None,
    clay_mm: Sequence[float] | Array | float = 0.0,
    mm_per_clay_mm: Sequence[float] | Array | float = 0.0,
    rim_share: Sequence[float] | Array | float = 0.0,
) -> Filling:
    """Return one filling; single sigmas and placements stand for all readings.

    Raises
    ------
    SeriesError
        One sentence on the first value that cannot be right.
    """
    times = np.array(times_s, dtype=np.float64)
    n = len(times)
    levels = _column("levels_mm", levels_mm, n)
    sigma = _column("sigma_mm", sigma_mm, n)
    drift = sigma.copy() if drift_sigma_mm is None else _column("drift_sigma_mm", drift_sigma_mm, n)
    clay = _column("clay_mm", clay_mm, n)
    per_clay = _column("mm_per_clay_mm", mm_per_clay_mm, n)
    rim = _column("rim_share", rim_share, n)
    where = np.broadcast_to(np.asarray(placement, dtype=np.int64), (n,)).copy()
    if not (math.isfinite(earliest_s) and math.isfinite(latest_s) and earliest_s <= latest_s):
        raise SeriesError(f"filled between {earliest_s} and {latest_s} s; give two moments in order")
    if n and not np.all(np.isfinite(times)):
        raise SeriesError("times_s holds a moment that is no number; give seconds")
    if n and not np.all(np.diff(times) >= 0.0):
        raise SeriesError("times_s runs backwards; give the readings in the order of time")
    if n and not np.all(np.isfinite(levels)):
        raise SeriesError("levels_mm holds a level that is no number; leave such readings out")
    if n and not (np.all(sigma > 0.0) and np.all(drift > 0.0) and np.all(np.isfinite(sigma + drift))):
        raise SeriesError("sigma_mm and drift_sigma_mm must be above 0 mm for every reading")
    if pour_s is not None and not (math.isfinite(pour_s) and 0.0 < pour_s < 7200.0):
        raise SeriesError(f"pour_s is {pour_s}; give the seconds that the pour took, above 0")
    if began_earliest_s is not None and began_latest_s is not None:
        if not began_earliest_s <= began_latest_s <= latest_s:
            raise SeriesError(
                f"the pour began between {began_earliest_s} and {began_latest_s} s, ended by {latest_s} s; "
                "give moments in order"
            )
    if n and not np.all((rim >= 0.0) & (rim <= 1.0)):
        raise SeriesError("rim_share must lie between 0 and 1 for every reading")
    if n and not np.all(np.isfinite(clay + per_clay)):
        raise SeriesError("clay_mm or mm_per_clay_mm holds a value that is no number; give 0 where unknown")
    for column in (times, levels, sigma, drift, where, clay, per_clay, rim):
        column.flags.writeable = False
    return Filling(
        earliest_s,
        latest_s,
        times,
        levels,
        sigma,
        drift,
        where,
        pour_s,
        drained_from_s,
        slip,
        began_earliest_s,
        began_latest_s,
        clay,
        per_clay,
        rim,
    )


def _column(field: str, values: Sequence[float] | Array | float, n: int) -> Array:
    column = np.array(values, dtype=np.float64)
    if column.ndim == 0:
        return np.full(n, float(column))
    if column.shape != (n,):
        raise SeriesError(f"{field} holds {column.size} values for {n} readings; give one for each")
    return column
