"""The part of `tipbell check` that tries the page's certificate and key."""

from __future__ import annotations

from datetime import timedelta

from watcher.clock import ComputerClock
from watcher.commands.finding import Finding
from watcher.service.certificate import CertificateUnusable, certificate_facts
from watcher.settings import PageSettings

_SOON = timedelta(days=14)
"""Whoever renews by a timer has done so by then (common practice, no source)."""


def certificate_finding(page: PageSettings) -> Finding:
    """Say whether browsers will take the page's certificate, for which names and how long."""
    assert page.certificate is not None
    try:
        facts = certificate_facts(page.certificate, page.key)
    except CertificateUnusable as fault:
        return Finding("certificate", False, str(fault))
    ends = f"good until {facts.ends_at:%Y-%m-%d}"
    if facts.ends_at - ComputerClock().now_at() < _SOON:
        return Finding("certificate", False, f"{ends} only; renew it and start Tipbell again")
    if not facts.names:
        return Finding("certificate", False, "names no computer; make one out to this computer's name")
    missing = [name for name in page.names if not _covers(facts.names, name)]
    if missing:
        return Finding("certificate", False, f"is not made out to {', '.join(missing)}; browsers will warn")
    return Finding("certificate", True, f"made out to {', '.join(facts.names)}; {ends}")


def _covers(names: tuple[str, ...], wanted: str) -> bool:
    """Say whether one of the names is the wanted one; a star stands for its first part (RFC 6125, 6.4.3)."""
    return wanted in names or f"*.{wanted.partition('.')[2]}" in names
