"""All that decides who may use a page, put together once."""

from __future__ import annotations

from watcher.clock import Clock
from watcher.page.access.brakes import Brakes
from watcher.page.access.cookie import cookie_name
from watcher.page.access.guestbook import GuestBook, GuestStore
from watcher.page.access.invitations import Invitations
from watcher.page.access.links import Reach
from watcher.records.guests import Rights

KEEPER_GOOD_FOR_S = 3600.0


class Access:
    """Who may use the page of one bench.

    Parameters
    ----------
    clock : Clock
        The computer's clock (not a replay's).
    bench_id : str
        The bench.
    store : GuestStore, optional
        Where joined devices outlive a restart; None: nowhere.
    opened : bool
        Whether anybody but this machine may come at all.
    reach : Reach
        How this machine is called from outside.
    proxy : str
        Address of the reverse proxy in front, if there is one.
    path : str
        Path under which the page lies there.
    """

    def __init__(
        self,
        clock: Clock,
        bench_id: str,
        store: GuestStore | None = None,
        *,
        opened: bool = False,
        reach: Reach = Reach(),  # noqa: B008  (frozen)
        proxy: str = "",
        path: str = "",
    ) -> None:
        self.opened = opened
        self.reach = reach
        self.proxy = proxy
        self.path = path
        self.cookie = cookie_name(bench_id)
        self.book = GuestBook(clock, store)
        self.invitations = Invitations(clock.now_s)
        self.brakes = Brakes(clock.now_s)

    def keeper_code(self) -> str:
        """Return a one-time code, good for an hour, for a device that may let others in.

        For whoever can read this machine's own files but is not seen as its own computer: behind a proxy, or
        outside a container.
        """
        return self.invitations.make(Rights.KEEP, "keeper", good_for_s=KEEPER_GOOD_FOR_S)
