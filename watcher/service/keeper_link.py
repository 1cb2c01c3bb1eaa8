"""A link for whoever keeps the bench but is not seen as its own computer: behind a proxy, or a container.

It lies in a file that only this user can read, works once and for an hour, and is gone when the service
stops.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress

from watcher.page.access.access import Access
from watcher.settings import Settings

FILE_NAME = "keeper-link.txt"


@contextmanager
def keeper_link(settings: Settings, access: Access, own_address: str) -> Iterator[None]:
    """Write the link into the memory's folder, and take it away at the end.

    The link names the first of the settings' own names, else this computer; behind another name it works as
    well with that in its place.
    """
    page, file = settings.page, settings.memory.folder / FILE_NAME
    base = own_address.rstrip("/") + page.path
    if page.proxy and page.names:
        base = f"https://{page.names[0]}{page.path}"
    with suppress(FileNotFoundError):
        file.unlink()
    descriptor = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w", encoding="utf-8") as writing:
        writing.write(f"{base}/join#{access.keeper_code()}\n")
    try:
        yield
    finally:
        with suppress(OSError):
            file.unlink()
