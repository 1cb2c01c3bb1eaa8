"""The cookie that holds a joined device's key."""

from __future__ import annotations

import hashlib

from starlette.responses import Response
from starlette.types import Scope

from watcher.page.access.guestbook import IDLE_DAYS


def cookie_name(bench_id: str) -> str:
    """Return the cookie's name: several benches may share one computer's name, and cookies know no ports."""
    return f"tipbell_{hashlib.sha256(bench_id.encode()).hexdigest()[:8]}"


def give_key(response: Response, scope: Scope, name: str, key: str) -> None:
    """Hand a device its key, for as long as it may stay away; an empty key takes it back."""
    state = scope.get("state") or {}
    response.set_cookie(
        name,
        key,
        max_age=IDLE_DAYS * 86400 if key else 0,
        path=f"{state.get('path', '')}/",
        secure=scope.get("scheme") == "https",
        httponly=True,
        samesite="strict",
    )


def key_line(scope: Scope, name: str, key: str) -> bytes:
    """Return the value of the header that hands a device its key."""
    response = Response()
    give_key(response, scope, name, key)
    return response.headers["set-cookie"].encode("latin-1")
