"""The door of the page: who may ask, from which name, and what browsers are told to refuse."""

from __future__ import annotations

import ipaddress
import json
from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MOST_BODY_BYTES = 8192
"""The longest thing a caster can say is a note of 500 letters; this leaves room for any escaping of it."""

DRAWING_PATH = "/setup/drawing.json"
DRAWING_KIND = "application/octet-stream"
MOST_DRAWING_BYTES = 8_000_000
"""The one path that takes a file: a binary STL of 160 000 faces, four times what printing a pot needs (common
practice, no source). A larger one would take seconds from the watched bench: it is for the command."""

CONTENT_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)

ALWAYS = (
    ("content-security-policy", CONTENT_POLICY),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    ("referrer-policy", "no-referrer"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("permissions-policy", "camera=(), microphone=(), geolocation=()"),
)
"""Headers of every answer."""

_LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "::1"})
READING = frozenset({"GET", "HEAD"})
"""What asks and changes nothing."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a request is turned away: HTTP status, a short code, and a sentence."""

    status: int
    code: str
    say: str


def refusal_body(code: str, say: str, field: str = "") -> dict[str, dict[str, str]]:
    """Return the one shape in which this page says that something was wrong."""
    return {"error": {"code": code, "say": say, "field": field}}


class Guard:
    """ASGI layer in front of everything.

    Parameters
    ----------
    app : ASGIApp
        What it protects.
    opened : bool
        False: answer this machine alone. True: also others, by a number address or one of `names`.
    names : iterable of str
        Host names under which an opened bench may be called (such as `bench.local`); a name that is not
        listed is refused, so that a foreign page cannot point its own name at this address.
    """

    def __init__(self, app: ASGIApp, *, opened: bool = False, names: Iterable[str] = ()) -> None:
        self._app = app
        self._opened = opened
        self._names = frozenset(name.lower() for name in names)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or pass on with the headers that every answer carries."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        refused = self._refuse(scope)
        if refused is not None:
            await _answer(refused, _with_headers(send))
            return
        if scope["method"] in READING:
            await self._app(scope, receive, _with_headers(send))
            return
        if scope["path"] == DRAWING_PATH:
            # not gathered here: the door asks first who it is, and the length was named and will do
            length = int(Headers(scope=scope)["content-length"])
            await self._app(scope, _no_longer_than(length, receive), _with_headers(send))
            return
        body = await _whole_body(receive)
        if body is None:
            too_long = f"the body is longer than {MOST_BODY_BYTES} bytes; say it shorter"
            await _answer(Refusal(413, "too_long", too_long), _with_headers(send))
            return
        await self._app(scope, _replay(body, receive), _with_headers(send))

    def _refuse(self, scope: Scope) -> Refusal | None:
        headers = Headers(scope=scope)
        client = scope.get("client")
        if not self._opened and not is_loopback(client[0] if client else ""):
            return Refusal(403, "not_opened", "this bench answers its own machine alone until it is opened")
        hosts = headers.getlist("host")
        if len(hosts) != 1 or not self._known_host(hosts[0]):
            return Refusal(403, "foreign_host", "this bench does not go by the name that was asked for")
        if "transfer-encoding" in headers and "content-length" in headers:
            # A proxy that goes by the other one would take the rest of the body for a request of its own.
            return Refusal(400, "bad_length", "the request names its length in two ways")
        if scope["method"] in READING:
            return None
        own_origin = f"{scope.get('scheme', 'http')}://{hosts[0]}"
        return _refuse_origin(headers, own_origin) or _refuse_body(headers, scope["path"])

    def _known_host(self, host: str) -> bool:
        name = _host_name(host)
        if name is None:
            return False
        if name in _LOOPBACK_NAMES:
            return True
        # A number address cannot be rebound: the browser that shows it went to that very address.
        return self._opened and (name in self._names or _is_address(name))


def _refuse_origin(headers: Headers, own_origin: str) -> Refusal | None:
    # Browsers always send Origin with a POST. A program on this machine sends none; it passes because
    # the wanted content type cannot come from another site's form.
    origins = headers.getlist("origin")
    foreign = len(origins) > 1 or bool(origins and not _same_origin(origins[0], own_origin))
    if foreign or headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
        return Refusal(403, "foreign_origin", "only the bench's own page may say something here")
    return None


def _refuse_body(headers: Headers, path: str) -> Refusal | None:
    kind = headers.get("content-type", "").split(";")[0].strip().lower()
    length = headers.get("content-length", "" if path == DRAWING_PATH else "0")
    if path == DRAWING_PATH and kind != DRAWING_KIND:
        return Refusal(415, "no_file", f"send the STL itself, with the content type {DRAWING_KIND}")
    if path != DRAWING_PATH and kind != "application/json":
        return Refusal(415, "not_json", "send JSON, with the content type application/json")
    if not length:
        return Refusal(411, "no_length", "the request must name its length")
    if not (length.isascii() and length.isdigit() and len(length) <= 18):
        return Refusal(400, "bad_length", "the content length is not a number")
    if path == DRAWING_PATH and int(length) > MOST_DRAWING_BYTES:
        say = (
            f"the drawing is larger than {MOST_DRAWING_BYTES / 1e6:g} MB; export it as binary STL and more "
            "coarsely, or use `tipbell mould --stl`"
        )
        return Refusal(413, "too_long", say)
    if path != DRAWING_PATH and int(length) > MOST_BODY_BYTES:
        return Refusal(413, "too_long", f"the body is longer than {MOST_BODY_BYTES} bytes; say it shorter")
    return None


def _host_name(host: str) -> str | None:
    try:
        parts = urlsplit(f"//{host}")
        _ = parts.port
    except ValueError:
        return None
    if parts.path or parts.query or parts.fragment or parts.username is not None:
        return None
    return parts.hostname


def _same_origin(origin: str, own: str) -> bool:
    try:
        theirs, ours = urlsplit(origin), urlsplit(own)
        same_port = (theirs.port or _usual_port(theirs.scheme)) == (ours.port or _usual_port(ours.scheme))
    except ValueError:
        return False
    same_name = theirs.hostname is not None and theirs.hostname == ours.hostname
    return same_name and same_port and theirs.scheme == ours.scheme


def _usual_port(scheme: str) -> int:
    return 443 if scheme == "https" else 80


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def is_loopback(address: str) -> bool:
    """Say whether an address is this machine itself."""
    try:
        parsed = ipaddress.ip_address(address)
    except ValueError:
        return False
    mapped = getattr(parsed, "ipv4_mapped", None)
    return (mapped or parsed).is_loopback


def _with_headers(send: Send) -> Send:
    async def send_with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in ALWAYS:
                headers[name] = value
            if "cache-control" not in headers:
                headers["cache-control"] = "no-store"
        await send(message)

    return send_with_headers


async def _answer(refused: Refusal, send: Send) -> None:
    body = json.dumps(refusal_body(refused.code, refused.say)).encode()
    headers = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode())]
    if refused.status == 400:
        headers.append((b"connection", b"close"))  # nobody knows where the next request would begin
    await send({"type": "http.response.start", "status": refused.status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


async def _whole_body(receive: Receive) -> bytes | None:
    """Read the body to its end; None as soon as it is longer than allowed (a chunked one names no length)."""
    body = b""
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return body
        body += bytes(message.get("body", b""))
        if len(body) > MOST_BODY_BYTES:
            return None
        if not message.get("more_body", False):
            return body


def _no_longer_than(length: int, receive: Receive) -> Receive:
    left = length

    async def counted() -> Message:
        nonlocal left
        message = await receive()
        left -= len(message.get("body", b""))
        return message if left >= 0 else {"type": "http.disconnect"}

    return counted


def _replay(body: bytes, receive: Receive) -> Receive:
    given = False

    async def replayed() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return replayed
