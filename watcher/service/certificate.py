"""The certificate by which the page is https: can it and its key be used, for which names, how long."""

from __future__ import annotations

import ssl
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

_ROUNDS = 10  # a handshake takes two or three


class CertificateUnusable(OSError):
    """Certificate or key cannot be used. The message is a plain sentence."""


@dataclass(frozen=True, slots=True)
class CertificateFacts:
    """What a certificate says of itself.

    Attributes
    ----------
    names : tuple of str
        Computer names and number addresses that it is made out to.
    ends_at : datetime
        Last moment at which browsers take it; UTC.
    """

    names: tuple[str, ...]
    ends_at: datetime


def load_chain(certificate: Path, key: Path | None) -> ssl.SSLContext:
    """Return what a server needs to speak https.

    Raises
    ------
    CertificateUnusable
        A file is missing, is no PEM, is locked, or the two do not belong together.
    """
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    try:
        # without a password of ours a locked key would ask for one at the terminal, and wait for ever
        context.load_cert_chain(certificate, key, password=lambda: "")
    except (OSError, ValueError) as fault:
        raise CertificateUnusable(
            f"certificate {certificate.name} or its key cannot be used ({fault}); give both as PEM, unlocked"
        ) from None
    return context


def certificate_facts(certificate: Path, key: Path | None) -> CertificateFacts:
    """Speak https with ourselves, in memory, and return what a browser would see.

    Raises
    ------
    CertificateUnusable
        As `load_chain`; or it has ended, or begins later.
    """
    serving = load_chain(certificate, key)
    asking = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    asking.check_hostname = False
    asking.verify_flags |= ssl.VERIFY_X509_PARTIAL_CHAIN  # it is held against itself: no authority is asked
    try:
        asking.load_verify_locations(certificate)
        told = _shaken(serving, asking).getpeercert() or {}
    except ssl.SSLCertVerificationError as fault:
        raise CertificateUnusable(
            f"browsers refuse certificate {certificate.name}: {fault.verify_message}; renew it"
        ) from None
    except ssl.SSLError as fault:
        raise CertificateUnusable(f"no browser can use certificate {certificate.name}: {fault}") from None
    pairs = [pair for pair in told.get("subjectAltName", ()) if isinstance(pair, tuple)]
    names = tuple(str(value).lower() for kind, value in pairs if kind in ("DNS", "IP Address"))
    ends_s = ssl.cert_time_to_seconds(str(told["notAfter"]))
    return CertificateFacts(names, datetime.fromtimestamp(ends_s, UTC))


def _shaken(serving: ssl.SSLContext, asking: ssl.SSLContext) -> ssl.SSLObject:
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    server = serving.wrap_bio(to_server, to_client, server_side=True)
    client = asking.wrap_bio(to_client, to_server)
    for _ in range(_ROUNDS):
        done = 0
        for side in (client, server):
            try:
                side.do_handshake()
            except ssl.SSLWantReadError:
                continue
            done += 1
        if done == 2:
            return client
    raise ssl.SSLError("the two sides do not come together")
