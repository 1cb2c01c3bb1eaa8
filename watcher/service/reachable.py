"""How this machine is called from outside: its number addresses and its own name."""

from __future__ import annotations

import ipaddress
import re
import socket
import struct

_ELSEWHERE = ("192.0.2.1", 9)
"""An address that is nobody's (kept for examples, RFC 5737): only the way there is asked for."""

_SIOCGIFADDR = 0x8915
"""Linux: ask an interface for its address (netdevice(7))."""


def lan_addresses() -> tuple[str, ...]:
    """Return this machine's IPv4 addresses, the one towards other networks first. Nothing is sent.

    Loopback is left out, and so are addresses that a machine gives itself where nobody gives it one.
    """
    found = dict.fromkeys([*_towards_others(), *_of_the_interfaces()])
    return tuple(address for address in found if _serves(address))


def own_names() -> tuple[str, ...]:
    """Return the names by which this machine is usually found: `name.local` and `name`."""
    name = socket.gethostname().split(".")[0].lower()
    if not re.fullmatch(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?", name) or name == "localhost":
        return ()
    return (f"{name}.local", name)


def _towards_others() -> list[str]:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(_ELSEWHERE)  # a datagram socket sends nothing when it is connected
            return [str(asking.getsockname()[0])]
        except OSError:
            return []


def _of_the_interfaces() -> list[str]:
    try:
        import fcntl
    except ImportError:  # not on Windows
        return []
    found = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        for _, name in socket.if_nameindex():
            try:
                answer = fcntl.ioctl(asking.fileno(), _SIOCGIFADDR, struct.pack("256s", name.encode()[:15]))
            except OSError:  # no IPv4 address, or not Linux
                continue
            found.append(socket.inet_ntoa(answer[20:24]))
    return found


def _serves(address: str) -> bool:
    parsed = ipaddress.ip_address(address)
    return not (parsed.is_loopback or parsed.is_link_local or parsed.is_unspecified)
