"""Tell those outside how things stand: a sign of life, and a house's own message server."""

from __future__ import annotations

from collections.abc import Callable

from watcher.alerts.mqtt import NOT_YET, Announcer, MessageServer
from watcher.alerts.sign_of_life import SignOfLife
from watcher.page.views import mould_view
from watcher.records.bench import Bench
from watcher.settings import OutsideSettings

ALIVE_S = 30.0
"""A bench whose present is older than this is no longer watched: it ticks every second. [s]"""


class Outside:
    """Those who are told, as far as the settings name any.

    Parameters
    ----------
    settings : OutsideSettings
    bench : callable
        Gives the present bench.
    now_s : callable
        Gives the present moment in the bench's seconds.

    Raises
    ------
    UnusableChannel
        An address cannot be used; a sentence without secrets.
    """

    def __init__(
        self, settings: OutsideSettings, bench: Callable[[], Bench], now_s: Callable[[], float]
    ) -> None:
        self._bench = bench
        self._announcer: Announcer | None = None
        self._life: SignOfLife | None = None
        if settings.messages is not None:
            server = MessageServer(settings.messages.get_secret_value())
            self._announcer = Announcer(server, bench().bench_id)
        if settings.sign_of_life is not None:
            address = settings.sign_of_life.get_secret_value()
            self._life = SignOfLife(address, lambda: now_s() - bench().now_s < ALIVE_S)

    def tell(self) -> None:
        """Give the message server what has changed. Never waits."""
        if self._announcer is not None:
            bench = self._bench()
            placed = enumerate(bench.layout.moulds, 1)
            self._announcer.tell(
                {mould.name: dict(mould_view(bench, mould, number)) for number, mould in placed}
            )

    def trouble(self) -> str:
        """Return a plain sentence while somebody outside cannot be told; empty while all is well.

        The first moments, before a connection was tried, are no trouble.
        """
        said = [
            one.trouble
            for one in (self._announcer, self._life)
            if one is not None and one.trouble not in ("", NOT_YET)
        ]
        return "; ".join(said)

    def close(self) -> None:
        """Say goodbye. Twice is fine."""
        if self._announcer is not None:
            self._announcer.close()
        if self._life is not None:
            self._life.close()
