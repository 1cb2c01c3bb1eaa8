"""How the set-up routes say no, and who may ask what."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from fastapi import Request
from fastapi.responses import Response

from watcher.page.access.door import asker_of
from watcher.page.port import Picture
from watcher.page.refusals import PageRefusal
from watcher.page.setup.port import Unfit
from watcher.records.guests import Rights


@contextmanager
def or_refuse() -> Iterator[None]:
    """Turn what is unfit into the page's one shape of refusal."""
    try:
        yield
    except Unfit as unfit:
        raise PageRefusal(422, "cannot_be", unfit.say, unfit.field) from None
    except OSError as fault:
        say = f"it could not be written down ({fault.strerror}); do it again later"
        raise PageRefusal(503, "not_kept", say) from fault


def keeper_only(request: Request) -> None:
    """Refuse whoever is not the bench's keeper: cameras, addresses and settings are theirs."""
    asker = asker_of(request)
    if asker is None or asker.rights is not Rights.KEEP:
        raise PageRefusal(403, "not_keeper", "only the bench's own computer may change this")


def jpeg(picture: Picture | None) -> Response:
    """Answer with a picture that no browser keeps."""
    if picture is None:
        raise PageRefusal(404, "no_picture", "there is no picture yet")
    return Response(picture.jpeg, media_type="image/jpeg", headers={"cache-control": "no-store"})
