"""`tipbell check`: try everything that the settings name, and say for each: fine, or what to do."""

from __future__ import annotations

import json
import shutil
import socket
from collections.abc import Generator, Iterator
from dataclasses import asdict
from pathlib import Path

from watcher.camera.recording_fields import RecordingError
from watcher.camera.recording_file import read_bench_file
from watcher.clock import ComputerClock
from watcher.commands.check_calls import call_findings
from watcher.commands.check_camera import camera_findings
from watcher.commands.check_certificate import certificate_finding
from watcher.commands.finding import Finding
from watcher.records.layout import BenchLayout, PlacedMould
from watcher.service.sharing import shared_url
from watcher.settings import Settings, read_settings
from watcher.storage.engine import JournalUnusable, open_store
from watcher.storage.journal import open_journal
from watcher.storage.own_file import journal_url

WANTED_FREE_BYTES = 1_000_000_000
"""Less free space than this fills up within weeks of pictures (common practice, no source). [bytes]"""

WATCHED_ONLY = (
    "no target yet: its casts are only watched, not called; tip by eye and say on its page that one came out "
    "right, and the next is called (or give target_wall_mm)"
)
"""The shortest way to a called mould: nothing is to be mended, but nobody shall wait for a bell."""


def check(path: Path, *, as_json: bool, send: bool = False) -> bool:
    """Try everything and print what was found.

    Parameters
    ----------
    path : Path
        The settings file.
    as_json : bool
        Print one JSON object instead of lines.
    send : bool
        Let every channel carry a trial message.

    Returns
    -------
    bool
        Whether all is well.

    Raises
    ------
    SettingsError
        The settings cannot be read, so there is nothing to try.
    """
    findings = list(_tried(read_settings(path), send=send))
    fine = all(finding.fine for finding in findings)
    if as_json:
        print(json.dumps({"fine": fine, "checks": [asdict(finding) for finding in findings]}, indent=2))
        return fine
    for finding in findings:
        print(f"{'fine' if finding.fine else 'MEND':4s}  {finding.what:20s} {finding.says}")
    return fine


def _tried(settings: Settings, *, send: bool) -> Iterator[Finding]:
    yield Finding("settings", True, "every key is known")
    layout = yield from _bench(settings)
    yield from camera_findings(settings, layout)
    yield _disk(settings.memory.folder)
    yield _journal(settings)
    yield from call_findings(settings, ComputerClock().now_at(), send=send)
    yield _port(settings.page.port)
    if settings.page.certificate is not None:
        yield certificate_finding(settings.page)


def _bench(settings: Settings) -> Generator[Finding, None, BenchLayout | None]:
    path = settings.bench.file
    try:
        described = read_bench_file(path)
    except RecordingError as fault:
        yield Finding("bench", False, str(fault))
        return None
    if described.unknown:
        yield Finding("bench", False, f"not known: {'; '.join(described.unknown)}; mend or remove it")
    else:
        layout = described.layout
        yield Finding(
            "bench", True, f"{path.name}: {len(layout.sheet)} sheet tags, {len(layout.moulds)} moulds"
        )
    yield from map(_mould, described.layout.moulds)
    return described.layout


def _mould(mould: PlacedMould) -> Finding:
    what, profile = f"mould {mould.name}", mould.profile
    if profile.target_wall_mm is None and profile.target_water_ml is None:
        return Finding(what, True, WATCHED_ONLY)
    if profile.target_wall_mm is None:
        return Finding(what, True, f"called at {profile.target_water_ml:g} mL of water, as the good cast had")
    thin, thick = profile.target_wall_mm
    return Finding(what, True, f"called at {thin:g} mm, late from {thick:g} mm on")


def _disk(folder: Path) -> Finding:
    there = next(parent for parent in (folder, *folder.parents) if parent.exists())
    free = shutil.disk_usage(there).free
    says = f"{free / 1e9:.1f} GB free at {folder}"
    if free < WANTED_FREE_BYTES:
        return Finding("disk", False, f"{says}; free some, at least {WANTED_FREE_BYTES / 1e9:g} GB is wanted")
    return Finding("disk", True, says)


def _journal(settings: Settings) -> Finding:
    shared = shared_url(settings)
    try:
        if settings.memory.database is None or shared is not None:
            settings.memory.folder.mkdir(parents=True, exist_ok=True)
        open_journal(journal_url(settings), settings.bench.name).close()
        if shared is not None:
            open_store(shared).close()
    except (JournalUnusable, OSError) as fault:
        return Finding("journal", False, str(fault))
    also = ", and the shared database answers" if shared is not None else ""
    return Finding("journal", True, f"can be opened and written{also}")


def _port(port: int) -> Finding:
    try:
        socket.create_server(("127.0.0.1", port)).close()
    except OSError as fault:
        return Finding("page", False, f"port {port} cannot be used ({fault.strerror}); give another one")
    return Finding("page", True, f"port {port} is free" if port else "takes any free port")
