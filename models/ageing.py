"""A mould's K over its life: is it wearing out, and when will it be too slow."""

from __future__ import annotations

import math
from dataclasses import dataclass

from models.doors import number
from models.mould_memory import MouldMemory
from models.ranged import Z80, Ranged


@dataclass(frozen=True, slots=True)
class Ageing:
    """How a mould ages.

    Attributes
    ----------
    per_100_casts : Ranged
        K after 100 more casts over K now.
    slowing, quickening : bool
        The 80 % range lies wholly on one side of 1.
    casts_until : Ranged or None
        Casts until K has fallen to the share asked for; `high` may be infinite. None where it is not slowing.
    """

    per_100_casts: Ranged
    slowing: bool
    quickening: bool
    casts_until: Ranged | None


def ageing(memory: MouldMemory, *, worn_share: float = 0.7) -> Ageing:
    """Read a mould's ageing from its memory.

    Parameters
    ----------
    memory : MouldMemory
        From `models.mould_memory.learn`; its ageing is apart from damp and temperature.
    worn_share : float
        Share of today's K at which the caster would call the mould worn out, above 0 and below 1.

    Notes
    -----
    log K straight in the number of casts. Moulds live 80 to 200 casts [S21]; that K fades evenly is a guess.
    """
    share = number(
        "worn share", worn_share, wanted="a share of today's K, above 0 and below 1", above=0, most=0.999
    )
    rate = float(memory.mean[3])
    spread = math.sqrt(float(memory.covariance[3, 3]))
    low, high = rate - Z80 * spread, rate + Z80 * spread
    until = None
    if high < 0:
        goal = math.log(share)
        until = Ranged(100 * goal / rate, 100 * goal / low, 100 * goal / high)
    elif rate < 0 and low < 0 and memory.casts_used > 0:
        goal = math.log(share)
        until = Ranged(100 * goal / rate, 100 * goal / low, math.inf)
    return Ageing(Ranged(math.exp(rate), math.exp(low), math.exp(high)), high < 0, low > 0, until)
