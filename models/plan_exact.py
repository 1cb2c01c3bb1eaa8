"""The best starts for a few casts, by trying every tie: used where a bench has few moulds to pour."""

from __future__ import annotations

from collections.abc import Sequence

from models.plan_hands import CastParts, HandsDay, Part
from models.plan_sets import SetParts

MOST_CASTS = 5
"""Casts that are tried out to the end; the work grows about twentyfold with each more."""

_MOST_TRIALS = 30_000  # about a second; past it the best so far is given


def best_starts(
    day: HandsDay,
    fixed: Sequence[Part],
    casts: Sequence[CastParts],
    free_at: Sequence[int],
    before: int,
    sets: Sequence[SetParts] = (),
) -> tuple[int, ...] | None:
    """Find the starts of all casts so that the last has drained soonest, and sooner than `before`.

    Parameters
    ----------
    day : HandsDay
        With the running casts booked; given back as it was.
    fixed : sequence of Part
        What is booked in it already, from the start of the day.
    casts : sequence of CastParts
        One for each mould, at most `MOST_CASTS`.
    free_at : sequence of int
        First start of each. [grid steps]
    before : int
        The end to beat. [grid steps]
    sets : sequence of SetParts
        Casts whose walls are to be leather-hard within a window, by their place in `casts`.

    Returns
    -------
    tuple of int or None
        None if nothing ends sooner.

    Notes
    -----
    In a best plan that is shifted to the left as far as it goes, every cast either starts when its mould is
    free, or one of its parts begins where a part of another ends, or it is just not too early for a part of
    its set. All such chains are tried, worst cut off
    early. Checked against a mixed-integer program in the tests.
    """
    best: tuple[int, ...] | None = None
    limit = before
    trials = 0
    starts: dict[int, int] = {}

    def mates(i: int) -> list[tuple[int, int]]:
        """When the parts that stand already of the set of a cast are hard, with the set's window."""
        for one in sets:
            if i in one.moulds:
                poured = [starts[j] + casts[j].can_demould for j in one.moulds if j in starts]
                return [(hard, one.window) for hard in (*poured, *one.hard)]
        return []

    def grow(ends: list[int]) -> None:
        nonlocal best, limit, trials
        if len(starts) == len(casts):
            limit = max(starts[i] + c.drained for i, c in enumerate(casts))
            best = tuple(starts[i] for i in range(len(casts)))
            return
        for i, cast in enumerate(casts):
            if i in starts:
                continue
            tied = {end - part.begin for end in ends for part in cast.rigid}
            tied |= {hard - window - cast.can_demould for hard, window in mates(i)}
            for start in sorted({free_at[i], *(s for s in tied if s > free_at[i])}):
                trials += 1
                if start + cast.drained >= limit or trials > _MOST_TRIALS:
                    break
                hard = start + cast.can_demould
                apart = any(abs(hard - other) > window for other, window in mates(i))
                if apart or not day.fits(cast.rigid, start):
                    continue
                day.book(cast.rigid, start)
                starts[i] = start
                grow(ends + [start + part.end for part in cast.rigid])
                del starts[i]
                day.book(cast.rigid, start, hands=-1)

    grow([part.end for part in fixed])
    return best
