"""Behind a reverse proxy: who really asks, by which scheme, and under which path the page lies."""

from __future__ import annotations

import ipaddress

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

UNKNOWN = "unknown"
"""Stands for the address of somebody whom the proxy did not name."""

_TOLD_BY_PROXIES = (
    "x-forwarded-for",
    "x-forwarded-host",
    "x-forwarded-proto",
    "x-real-ip",
    "forwarded",
    "via",
)


class Proxied:
    """ASGI layer in front of everything: puts the real asker in the place of the proxy.

    Nothing that a proxy may say is believed unless it comes from the address that the settings name, and even
    then the path and the names of the bench come from the settings alone.

    Parameters
    ----------
    app : ASGIApp
        What lies behind.
    address : str
        The proxy's own address; empty: there is none.
    path : str
        The path under which the page is reached, such as `/bench`; empty: none. Whether the proxy leaves it
        in front of what it passes on does not matter.
    """

    def __init__(self, app: ASGIApp, *, address: str = "", path: str = "") -> None:
        self._app = app
        self._address = _plain(address)
        self._path = path.rstrip("/")

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on with the real asker, noting that a proxy stands between."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        peer = _plain(scope["client"][0] if scope.get("client") else "")
        state = dict(scope.get("state") or {})
        # Browsers have not spoken HTTP/1.0 for decades, but some proxies do unless told otherwise.
        told = any(name in headers for name in _TOLD_BY_PROXIES) or scope.get("http_version") == "1.0"
        state["proxied"] = told or (self._address != "" and peer == self._address)
        state["path"] = self._path
        changed: dict[str, object] = {"state": state}
        if self._address and peer == self._address:
            # The last one is the proxy's own word; those before it are whatever the asker sent.
            asker = _plain(",".join(headers.getlist("x-forwarded-for")).rsplit(",", 1)[-1])
            changed["client"] = (asker or UNKNOWN, 0)
            scheme = headers.getlist("x-forwarded-proto")
            changed["scheme"] = "https" if scheme == ["https"] else "http"
        here = scope["path"]
        if self._path and (here == self._path or here.startswith(self._path + "/")):
            if here == self._path and scope["method"] in ("GET", "HEAD"):
                await _on_to(self._path + "/", send)
                return
            changed |= _under(scope, len(self._path))
        await self._app({**scope, **changed}, receive, send)


def _under(scope: Scope, skipped: int) -> dict[str, object]:
    raw: bytes = scope.get("raw_path") or scope["path"].encode()
    return {"path": scope["path"][skipped:] or "/", "raw_path": raw[skipped:] or b"/", "root_path": ""}


async def _on_to(path: str, send: Send) -> None:
    """Without its last stroke the page's relative links would lead out of the path."""
    headers = [(b"location", path.encode("ascii")), (b"content-length", b"0")]
    await send({"type": "http.response.start", "status": 307, "headers": headers})
    await send({"type": "http.response.body", "body": b""})


def _plain(address: str) -> str:
    """Return an address in its one usual form, or an empty text for what is none."""
    try:
        parsed = ipaddress.ip_address(address.strip().strip("[]"))
    except ValueError:
        return ""
    mapped = getattr(parsed, "ipv4_mapped", None)
    return str(mapped or parsed)
