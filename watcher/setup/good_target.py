"""Make it like that one: the target of a mould from what the caster said of its casts."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from models.doors import BadValue
from models.good_cast import JudgedCast, NoTarget, WaterTarget, Word, target_from
from models.mould import MouldProfile
from models.slip import Slip
from watcher.records.kept import KeptCast
from watcher.setup.wall_test import water_given

WORDS = {"came_out_right": Word.GOOD, "too_thin": Word.TOO_THIN, "too_thick": Word.TOO_THICK}
MOST_CASTS = 12
"""Words of older casts count no more: taste and slip move on (common practice, no source)."""


def target_of(
    mould: MouldProfile,
    slip: Slip,
    casts: Sequence[KeptCast],
    slip_of: Callable[[str], Slip | None] = lambda _: None,
) -> WaterTarget | NoTarget:
    """Find the water at which a mould is to be called.

    Parameters
    ----------
    mould : MouldProfile
    slip : Slip
        Today's.
    casts : sequence of KeptCast
        Of that mould, newest first.
    slip_of : callable
        The slip kept under a hash, or None; then today's is taken.
    """
    judged = []
    for cast in reversed(casts[:MOST_CASTS]):
        word = WORDS.get(cast.verdict)
        if word is None or cast.tipped_s is None or not cast.fillings:
            continue
        then = slip_of(cast.slip_hash) or slip
        try:
            water, sigma = water_given(mould, then, cast.fillings, cast.tipped_s)
        except BadValue:
            continue
        name = f"the cast of {cast.began_at:%d %b %H:%M}"
        judged.append(JudgedCast(name, water, min(sigma, 0.5 * water), then.water_per_cake, word))
    return target_from(judged, water_per_cake_today=slip.water_per_cake)
