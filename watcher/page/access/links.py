"""Addresses by which another device reaches the page, and the QR codes that carry them."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass

import segno
from starlette.requests import Request

MOST_LINKS = 5


@dataclass(frozen=True, slots=True)
class Reach:
    """How this machine is called from outside.

    Attributes
    ----------
    addresses : callable
        Gives the machine's present number addresses, the likeliest first.
    names : tuple of str
        Names from the settings, and the computer's own.
    """

    addresses: Callable[[], tuple[str, ...]] = lambda: ()
    names: tuple[str, ...] = ()


def join_addresses(request: Request, reach: Reach) -> tuple[str, ...]:
    """Return the addresses of the joining page, the likeliest to work first.

    A number needs nobody to resolve it; but a certificate is made out to a name. Behind a proxy only the
    address by which the asker came is known to work.
    """
    state = request.scope.get("state") or {}
    path = state.get("path", "")
    if state.get("proxied"):
        return (f"{request.url.scheme}://{request.url.netloc}{path}/join",)
    scheme, port = request.url.scheme, request.url.port
    end = "" if port in (None, 443 if scheme == "https" else 80) else f":{port}"
    numbers = tuple(reach.addresses())
    hosts = reach.names + numbers if scheme == "https" else numbers + reach.names
    return tuple(f"{scheme}://{host}{end}{path}/join" for host in dict.fromkeys(hosts))[:MOST_LINKS]


def qr_svg(text: str) -> str:
    """Return a QR code as an SVG of its own, black on white whatever the page's colours are."""
    drawn = io.BytesIO()
    segno.make(text, error="m", micro=False).save(
        drawn,
        kind="svg",
        border=4,
        dark="#000",
        light="#fff",
        xmldecl=False,
        svgns=True,
        omitsize=True,
        nl=False,
    )
    return drawn.getvalue().decode("ascii")
