"""Why a camera in the network does not open: nobody there, the password refused, or nothing at that path.

OpenCV only says that it did not open. One plain question to the camera tells the caster what to do.
"""

from __future__ import annotations

import socket
from base64 import b64encode
from urllib.parse import unquote, urlsplit

from watcher.camera.address import StreamAddress
from watcher.camera.health import Unusable
from watcher.records.frames import Blind

_PORTS = {"rtsp": 554, "rtsps": 322, "http": 80, "https": 443}
_ASK_S = 3.0


def why_closed(address: StreamAddress) -> Unusable:
    """Ask a camera that did not open why.

    Returns
    -------
    Unusable
        A sentence that names the camera by its masked address.
    """
    parts = urlsplit(address.url)
    host, port = parts.hostname or "", parts.port or _PORTS[parts.scheme.lower()]
    where = f"{host}:{port}"
    try:
        with socket.create_connection((host, port), timeout=_ASK_S) as line:
            if parts.scheme.lower() in ("rtsps", "https"):
                return Unusable(Blind.UNPLUGGED, f"{where} answers, but sends no pictures that can be read")
            line.settimeout(_ASK_S)
            line.sendall(_question(address, host, port))
            answer = line.recv(256)
    except socket.gaierror:
        return Unusable(
            Blind.UNPLUGGED, f"no camera is known by the name {host}: is it on, and in this network?"
        )
    except ConnectionRefusedError:
        return Unusable(Blind.UNPLUGGED, f"{host} is there but offers no camera at {port}: is its stream on?")
    except TimeoutError:
        return Unusable(Blind.STALLED, f"the camera at {where} does not answer: switch it off and on")
    except OSError:
        return Unusable(
            Blind.UNPLUGGED, f"the camera at {where} cannot be reached: is it on, and in this network?"
        )
    return _read(answer, where, has_password=bool(parts.password))


def _question(address: StreamAddress, host: str, port: int) -> bytes:
    parts = urlsplit(address.url)
    path = f"{parts.path or '/'}{'?' + parts.query if parts.query else ''}"
    if parts.scheme.lower().startswith("rtsp"):
        ask = f"DESCRIBE rtsp://{host}:{port}{path} RTSP/1.0\r\nCSeq: 1\r\nAccept: application/sdp\r\n\r\n"
        return ask.encode()
    login = ""
    if parts.username:
        pair = f"{unquote(parts.username)}:{unquote(parts.password or '')}"
        login = f"Authorization: Basic {b64encode(pair.encode()).decode()}\r\n"
    return f"GET {path} HTTP/1.1\r\nHost: {host}:{port}\r\n{login}Connection: close\r\n\r\n".encode()


def _read(answer: bytes, where: str, *, has_password: bool) -> Unusable:
    """Read the first line of the answer: HTTP (RFC 9110) and RTSP (RFC 2326) share their codes."""
    words = answer.split(b"\r\n", 1)[0].split()
    code = int(words[1]) if len(words) > 1 and words[1].isdigit() else 0
    if code in (401, 403):
        refused = "refuses user and password" if has_password else "asks for user and password"
        return Unusable(Blind.REFUSED, f"the camera at {where} {refused}: correct its address")
    if code == 404:
        return Unusable(
            Blind.REFUSED, f"the camera at {where} has no stream at that path: correct its address"
        )
    if code >= 500:
        return Unusable(Blind.REFUSED, f"the camera at {where} says that it cannot serve now (code {code})")
    if not answer:
        return Unusable(
            Blind.STALLED, f"the camera at {where} hangs up at once: does somebody else watch it?"
        )
    return Unusable(
        Blind.UNREADABLE, f"the camera at {where} answers, but sends no pictures that can be read"
    )
