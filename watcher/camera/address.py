"""What a camera field may say: it can be typed on the page, so it never opens a file of somebody's choice."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

_STREAMS = ("rtsp", "rtsps", "http", "https")
_DEVICE = re.compile(r"/dev/(video\d{1,3}|tipbell-[a-z0-9-]{1,30}|v4l/by-(id|path)/[\w.:+-]+)")
_FORBIDDEN = re.compile(r"[\s\x00-\x1f\x7f\\|]")
_ALLOWED = (
    "give rtsp://, rtsps://, http:// or https:// and the camera's address, a device such as"
    " /dev/v4l/by-id/..., or a folder below one of the allowed ones"
)


class AddressError(ValueError):
    """A camera's address cannot be used. The message is one sentence and holds no password."""


@dataclass(frozen=True, slots=True)
class StreamAddress:
    """A camera in the network. `str()` and messages show it masked."""

    url: str

    @property
    def masked(self) -> str:
        """The address without user, password and query, in which cameras carry them too."""
        parts = urlsplit(self.url)
        host = parts.hostname or ""
        host = f"[{host}]" if ":" in host else host
        port = f":{parts.port}" if parts.port else ""
        user = "****@" if parts.username or parts.password else ""
        query = "?****" if parts.query else ""
        return f"{parts.scheme}://{user}{host}{port}{parts.path}{query}"

    def __str__(self) -> str:
        return self.masked

    def __repr__(self) -> str:
        return f"StreamAddress({self.masked!r})"


@dataclass(frozen=True, slots=True)
class DeviceAddress:
    """A camera on a USB plug."""

    path: Path

    def __str__(self) -> str:
        return str(self.path)


@dataclass(frozen=True, slots=True)
class FolderAddress:
    """A folder into which another program drops pictures."""

    path: Path

    def __str__(self) -> str:
        return str(self.path)


Address = StreamAddress | DeviceAddress | FolderAddress


def camera_address(text: str, folder_roots: Sequence[Path]) -> Address:
    """Read a camera field.

    Parameters
    ----------
    text : str
        What was typed or stands in the settings.
    folder_roots : sequence of Path
        Folders below which pictures may be dropped; links that lead out of them are refused.

    Raises
    ------
    AddressError
        With what may be given instead.
    """
    text = text.strip()
    if not text:
        raise AddressError(f"the camera's address is empty; {_ALLOWED}")
    if _FORBIDDEN.search(text):
        raise AddressError(f"the camera's address holds a space or a sign that no address has; {_ALLOWED}")
    if text.isdecimal() and len(text) <= 3:
        return DeviceAddress(Path(f"/dev/video{int(text)}"))
    if _DEVICE.fullmatch(text):
        return DeviceAddress(Path(text))
    if "://" in text:
        return _stream(text)
    if text.startswith("/"):
        return _folder(Path(text), folder_roots)
    raise AddressError(f"{_shown(text)} is no camera's address; {_ALLOWED}")


def _stream(text: str) -> StreamAddress:
    scheme = text.partition("://")[0].lower()
    if scheme not in _STREAMS:
        raise AddressError(f"{_shown(scheme)}:// is no kind of camera; {_ALLOWED}")
    try:
        parts = urlsplit(text)
        host, _ = parts.hostname, parts.port
    except ValueError:
        raise AddressError(f"the {scheme}:// address has a faulty host or port; {_ALLOWED}") from None
    if not host:
        raise AddressError(f"the {scheme}:// address names no camera after the slashes; {_ALLOWED}")
    return StreamAddress(text)


def _folder(path: Path, roots: Sequence[Path]) -> FolderAddress:
    try:
        real = path.resolve(strict=False)
    except (OSError, RuntimeError):
        raise AddressError(f"{path} leads in a circle; {_ALLOWED}") from None
    if not any(real.is_relative_to(root.resolve()) for root in roots):
        where = ", ".join(str(root) for root in roots) or "none is set"
        raise AddressError(f"{path} is not below a folder that pictures may come from ({where})")
    if real.exists() and not real.is_dir():
        raise AddressError(f"{path} is a file; give the folder that pictures are dropped into")
    return FolderAddress(real)


def _shown(text: str) -> str:
    """Return what was typed for a message: short, and nothing that might be a password."""
    return "what was typed" if "@" in text or len(text) > 40 else repr(text)
