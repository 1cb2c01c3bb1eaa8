"""Who is asking, and may they: in front of every page, picture, stream and word."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from starlette.datastructures import Headers
from starlette.requests import HTTPConnection
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from watcher.page.access.cookie import key_line
from watcher.page.access.drawing import stranger_page
from watcher.page.access.guestbook import GuestBook
from watcher.page.guard import READING, is_loopback, refusal_body
from watcher.records.guests import Rights

FOR_ANYBODY = frozenset({"/health.json", "/join", "/join.json"})
"""What somebody who has not joined may ask; of everything else they learn nothing."""

LEAVING = "/leave.json"
NOT_JOINED = (
    "this device has not joined the bench; on the bench's own computer open Settings, "
    "Let a phone in, and point this device's camera at the code"
)
ONLY_LOOKING = "this device may look, not act; ask at the bench's computer"


@dataclass(frozen=True, slots=True)
class Asker:
    """Who asks. `guest_id` is empty for the bench's own computer."""

    name: str
    rights: Rights
    guest_id: str = ""


OWN_COMPUTER = Asker("", Rights.KEEP)


class _TakenOut(Exception):
    """The one whose answer is still being sent was taken out meanwhile."""


class Door:
    """ASGI layer behind the guard: lets in the bench's own computer and whoever joined.

    Parameters
    ----------
    app : ASGIApp
        What it protects.
    book : GuestBook
        Who joined.
    cookie : str
        Name of the cookie that holds a device's key.
    """

    def __init__(self, app: ASGIApp, *, book: GuestBook, cookie: str) -> None:
        self._app = app
        self._book = book
        self._cookie = cookie

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or pass on with the asker in the request's state."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        asker = self._asker(scope)
        scope.setdefault("state", {})["asker"] = asker
        path, method = scope["path"], scope["method"]
        if path in FOR_ANYBODY or path.startswith("/static/"):
            await self._app(scope, receive, send)
        elif asker is None:
            await _refuse_stranger(scope, send)
        elif asker.rights is Rights.LOOK and method not in READING and path != LEAVING:
            await _answer(send, 403, refusal_body("only_looking", ONLY_LOOKING))
        elif asker.guest_id:
            await self._while_joined(asker, scope, receive, send)
        else:
            await self._app(scope, receive, send)

    def _asker(self, scope: Scope) -> Asker | None:
        client = scope.get("client")
        # Behind a proxy everybody seems to come from this machine: then nobody is taken for it.
        if client and is_loopback(client[0]) and not (scope.get("state") or {}).get("proxied"):
            return OWN_COMPUTER
        key = self._key(scope)
        guest = self._book.known(key) if key else None
        return Asker(guest.name, guest.rights, guest.guest_id) if guest is not None else None

    def _key(self, scope: Scope) -> str:
        return HTTPConnection(scope).cookies.get(self._cookie, "")

    async def _while_joined(self, asker: Asker, scope: Scope, receive: Receive, send: Send) -> None:
        """End an answer that goes on and on (the live stream) when its asker is taken out."""
        ended = False
        if self._book.must_note():
            await asyncio.to_thread(self._book.note)

        async def send_while_joined(message: Message) -> None:
            nonlocal ended
            if message["type"] == "http.response.start" and _is_page(message):
                # with every page anew: the browser forgets it ninety days after the last visit, not the first
                line = (b"set-cookie", key_line(scope, self._cookie, self._key(scope)))
                message = {**message, "headers": [*message["headers"], line]}
            going_on = message["type"] == "http.response.body" and message.get("more_body", False)
            if going_on and not self._book.is_joined(asker.guest_id):
                if not ended:
                    ended = True
                    await send({"type": "http.response.body", "body": b""})
                raise _TakenOut
            await send(message)

        try:
            await self._app(scope, receive, send_while_joined)
        except* _TakenOut:
            pass


def asker_of(connection: HTTPConnection) -> Asker | None:
    """Return who asks, as the door found; None for a stranger."""
    state: Mapping[str, Any] = connection.scope.get("state") or {}
    asker = state.get("asker")
    return asker if isinstance(asker, Asker) else None


def _is_page(start: Message) -> bool:
    return any(name == b"content-type" and value.startswith(b"text/html") for name, value in start["headers"])


async def _refuse_stranger(scope: Scope, send: Send) -> None:
    wanted = Headers(scope=scope).get("accept", "")
    if "text/html" in wanted and scope["method"] in READING:
        await stranger_page(scope, send)
        return
    await _answer(send, 401, refusal_body("not_joined", NOT_JOINED))


async def _answer(send: Send, status: int, body: Mapping[str, Any]) -> None:
    text = json.dumps(body).encode()
    headers = [(b"content-type", b"application/json"), (b"content-length", str(len(text)).encode())]
    if status == 401:
        headers.append((b"www-authenticate", b'Joining realm="bench"'))
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": text})
