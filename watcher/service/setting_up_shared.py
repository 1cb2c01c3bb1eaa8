"""Moulds of other benches that share this one's database: seen, and brought here with their past."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Protocol

from watcher.page.setup.port import Unfit
from watcher.page.setup.shown import ElsewhereShown, Told
from watcher.records.elsewhere import History, MouldElsewhere
from watcher.setup.lineage import Lineage, compared, new_to
from watcher.storage.elsewhere import take_in
from watcher.storage.journal import Journal
from watcher.storage.papers import PaperKind
from watcher.storage.writer import JournalFailed


class Elsewhere(Protocol):
    """Who knows other benches' moulds. Both raise OSError with a plain sentence."""

    def moulds(self) -> tuple[MouldElsewhere, ...]:
        """Return the moulds that other benches know."""
        ...

    def history(self, bench_id: str, mould: str) -> History | None:
        """Return all that a bench remembers of a mould; None: it knows none of that name."""
        ...


def shown_elsewhere(elsewhere: Elsewhere | None) -> tuple[ElsewhereShown, ...]:
    """Return other benches' moulds as the page shows them; none where there are no others."""
    if elsewhere is None:
        return ()
    try:
        moulds = elsewhere.moulds()
    except OSError as fault:
        raise Unfit(str(fault)) from None
    return tuple(
        ElsewhereShown(one.bench_id, one.name, one.versions, one.casts, one.casting) for one in moulds
    )


class Brings:
    """Brings a mould here: its profile's versions, its casts and what belongs to them.

    Parameters
    ----------
    elsewhere : Elsewhere
    journal : Journal
        This bench's own.
    now : callable
        Gives the bench's present by both its clocks.
    use : callable
        Takes a profile's text into use here, and says what came of it.
    """

    def __init__(
        self,
        elsewhere: Elsewhere,
        journal: Journal,
        now: Callable[[], tuple[float, datetime]],
        use: Callable[[str], Sequence[str]],
    ) -> None:
        self._elsewhere = elsewhere
        self._journal = journal
        self._now = now
        self._use = use

    def bring(self, bench_id: str, mould: str, choice: str = "") -> Told:
        """Bring one mould.

        Parameters
        ----------
        choice : str
            `theirs` or `ours`, where both benches have changed it; empty: ask.
        """
        try:
            history = self._elsewhere.history(bench_id, mould)
            if history is None:
                raise Unfit(f"bench {bench_id} knows no mould '{mould}'", "mould")
            if history.casting:
                raise Unfit(
                    f"{mould} is under cast on bench {bench_id}; bring it once it is empty there", "mould"
                )
            return self._taken(history, choice)
        except JournalFailed as fault:
            raise Unfit(f"it could not be kept: {fault}") from None
        except OSError as fault:
            raise Unfit(str(fault)) from None

    def _taken(self, history: History, choice: str) -> Told:
        ours = [paper.text for paper in reversed(self._journal.versions(PaperKind.PROFILE, history.mould))]
        theirs = [text for text, _, _ in history.profiles]
        stand = compared(ours, theirs)
        if stand is Lineage.BOTH and choice not in ("theirs", "ours"):
            return Told(question=_both(history, len(ours)))
        for place in new_to(ours, theirs):
            text, why, _ = history.profiles[place]
            self._keep(history.mould, text, f"from bench {history.bench_id}: {why}")
        casts = self._journal.write(
            lambda own: take_in(own, self._journal.bench_id, history, self._journal.next_number, self._now())
        )
        said: Sequence[str] = ()
        if stand in (Lineage.NEW, Lineage.THEIRS) or (stand is Lineage.BOTH and choice == "theirs"):
            said = self._use(theirs[-1])
        elif stand is Lineage.BOTH:
            self._keep(history.mould, ours[-1], f"kept over that of bench {history.bench_id}")
        return Told((*said, _came(history, stand, choice, casts)))

    def _keep(self, mould: str, text: str, why: str) -> None:
        self._journal.keep(PaperKind.PROFILE, mould, text, why=why, at=self._now()[1])


def _both(history: History, ours: int) -> str:
    return (
        f"both benches have changed {history.mould}: here it has {ours} versions, on bench "
        f"{history.bench_id} {len(history.profiles)}, and neither knows the other's newest. Go by that of "
        f"bench {history.bench_id}? All are kept, whichever counts"
    )


def _came(history: History, stand: Lineage, choice: str, casts: int) -> str:
    past = {0: "no cast that is new here", 1: "one cast came along"}.get(casts, f"{casts} casts came along")
    kept = stand in (Lineage.SAME, Lineage.OURS) or choice == "ours"
    return f"{history.mould}: {'goes by its own profile; ' if kept else ''}{past}"
