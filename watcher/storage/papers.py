"""Versions of mould profiles, slips and camera calibrations: only ever added to, each with its hash."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum

from sqlalchemy import Connection, insert, select

from watcher.storage.schema import PAPERS


class PaperKind(StrEnum):
    """What a paper describes."""

    PROFILE = "profile"
    SLIP = "slip"
    CALIBRATION = "calibration"
    DAY = "day"  # what the caster wants of a day


@dataclass(frozen=True, slots=True)
class Paper:
    """One version. `text` is TOML; `content_hash` is SHA-256 of its UTF-8 bytes."""

    kind: PaperKind
    name: str
    version: int
    content_hash: str
    text: str
    why: str
    kept_at: datetime


def content_hash(text: str) -> str:
    """Return the hash by which a cast names what it was cast by."""
    return hashlib.sha256(text.encode()).hexdigest()


def add_version(connection: Connection, paper: Paper, *, bench_id: str, seq: int) -> Paper:
    """Keep a paper under its next version; return the newest version again when that says the same."""
    newest = versions(connection, bench_id, paper.kind, paper.name)[:1]
    if newest and newest[0].text == paper.text:
        return newest[0]
    paper = replace(paper, version=newest[0].version + 1 if newest else 1)
    row = {
        "bench_id": bench_id,
        "seq": seq,
        "kind": paper.kind.value,
        "name": paper.name,
        "version": paper.version,
        "content_hash": paper.content_hash,
        "text": paper.text,
        "why": paper.why,
        "kept_at": paper.kept_at,
    }
    connection.execute(insert(PAPERS), row)
    return paper


def newest_hashes(connection: Connection, bench_id: str) -> tuple[dict[str, str], str]:
    """Return the hash of each mould's newest profile, and of the slip that was kept last."""
    query = select(PAPERS).where(PAPERS.c.bench_id == bench_id).order_by(PAPERS.c.seq)
    profiles: dict[str, str] = {}
    slip = ""
    for row in connection.execute(query):
        if row.kind == PaperKind.PROFILE.value:
            profiles[row.name] = row.content_hash
        elif row.kind == PaperKind.SLIP.value:
            slip = row.content_hash
    return profiles, slip


def versions(connection: Connection, bench_id: str, kind: PaperKind, name: str) -> tuple[Paper, ...]:
    """Return every version of a paper, newest first."""
    own = PAPERS.c
    query = select(PAPERS).where(own.bench_id == bench_id, own.kind == kind.value, own.name == name)
    return tuple(
        Paper(PaperKind(row.kind), row.name, row.version, row.content_hash, row.text, row.why, row.kept_at)
        for row in connection.execute(query.order_by(own.version.desc()))
    )
