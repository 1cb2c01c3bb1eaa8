"""How the set-up routes say no, and who may ask what."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import quote

from fastapi import Request
from fastapi.responses import Response

from watcher.page.access.door import asker_of
from watcher.page.port import Picture
from watcher.page.refusals import GET_REFUSALS, PageRefusal
from watcher.page.setup.port import Unfit
from watcher.records.guests import Rights

JPEG = {200: {"content": {"image/jpeg": {}}, "description": "a JPEG"}, **GET_REFUSALS}
"""How a route that answers with a picture is described."""
PDF = {200: {"content": {"application/pdf": {}}, "description": "a PDF"}, **GET_REFUSALS}
"""How a route that answers with something to print is described."""


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


def kept_file(data: bytes, kind: str, name: str) -> Response:
    """Answer with a file to be kept under this name, in whatever letters.

    Parameters
    ----------
    data : bytes
    kind : str
        The media type.
    name : str
        Written after RFC 8187, so that it may hold any letter and no header.
    """
    headers = {"content-disposition": f"attachment; filename*=UTF-8''{quote(name, safe='')}"}
    return Response(data, media_type=kind, headers=headers)
