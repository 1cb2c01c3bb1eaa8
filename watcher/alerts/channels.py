"""A channel to a caster: its name, its address, its patience; and addresses with their secrets masked."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from enum import StrEnum
from urllib.parse import parse_qsl, unquote, urlsplit

from watcher.settings import Settings

MASK = "****"
_SHORTEST_SECRET = 4  # masking shorter pieces would blot out ordinary words without hiding anything


class WhenQuiet(StrEnum):
    """What a channel does in quiet hours."""

    ALL = "all"  # rings as by day
    CALLS = "calls"  # rings for what must be done now; what is good to know waits for the morning
    NOTHING = "nothing"  # rests, as long as another channel rings for calls


@dataclass(frozen=True, slots=True)
class Channel:
    """A way to reach somebody.

    Attributes
    ----------
    name : str
        What the caster calls it, such as `phone`.
    url : str
        An address as apprise knows them (`ntfy://...`, `mailto://...`, `json://...`), or `speaker://` for the
        computer's own. Holds secrets: never shown, never logged.
    timeout_s : float
        How long one attempt may take in all. [s]
    from_step : int
        First step of escalation that uses this channel: 0 for every first call, 1 for the call after nobody
        answered, and so on.
    when_quiet : WhenQuiet
        What it does in quiet hours.
    """

    name: str
    url: str = field(repr=False)
    timeout_s: float = 8.0
    from_step: int = 0
    when_quiet: WhenQuiet = WhenQuiet.CALLS

    @property
    def rings_here(self) -> bool:
        """Whether it is the computer's own speaker, `speaker://`."""
        return self.url.lower().startswith("speaker:")

    @property
    def masked(self) -> str:
        """The address as it may be shown: its kind and host only."""
        return masked(self.url)


def masked(url: str) -> str:
    """Return kind and host of an address; everything that could be a secret is left out.

    Many services carry the key in the place of the host or the path, so the host is shown only for kinds of
    address where it is one: a name with a dot, a number address, or `localhost`.
    """
    parts = urlsplit(url)
    if not parts.scheme:
        return MASK
    if not parts.netloc and parts.path in ("", "/") and not parts.query:
        return f"{parts.scheme}://"
    try:
        host, port = parts.hostname or "", parts.port
    except ValueError:
        return f"{parts.scheme}://{MASK}"
    if host != "localhost" and not re.fullmatch(r"[\w-]+(\.[\w-]+)+|[0-9a-f:]*:[0-9a-f:.]*", host):
        return f"{parts.scheme}://{MASK}"
    rest = "/" if parts.path in ("", "/") and not parts.query else f"/{MASK}"
    return f"{parts.scheme}://{host}{f':{port}' if port else ''}{rest}"


def scrubbed(text: str, url: str) -> str:
    """Return a message with every piece of the address that could be a secret masked."""
    for secret in sorted(_secrets(url), key=len, reverse=True):
        text = text.replace(secret, MASK)
    return text


def _secrets(url: str) -> set[str]:
    parts = urlsplit(url)
    userinfo = parts.netloc.rpartition("@")[0]
    pieces = {userinfo, *userinfo.split(":"), *parts.path.split("/")}
    pieces |= {value for _, value in parse_qsl(parts.query)}
    if masked(url) == f"{parts.scheme}://{MASK}":
        pieces |= {parts.netloc, parts.netloc.rpartition("@")[2]}
    pieces |= {unquote(piece) for piece in pieces}
    return {piece for piece in pieces if len(piece) >= _SHORTEST_SECRET}


def channels_of(settings: Settings) -> list[Channel]:
    """Return the channels of the settings."""
    return [
        Channel(
            one.name,
            one.address.get_secret_value(),
            from_step=one.from_step,
            when_quiet=WhenQuiet(one.when_quiet),
        )
        for one in settings.channel
    ]
