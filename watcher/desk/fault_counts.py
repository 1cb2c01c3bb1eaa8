"""How often each fault happens: by mould, by the cast's number on its day, and by slip."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from watcher.records.afterwards import Finding, FindingKind
from watcher.records.kept import KeptCast

FAULTS = tuple(kind for kind in FindingKind if kind is not FindingKind.CLEAN)
LATER_CASTS = 5
"""Casts of a day from this number on are counted together."""

_VERDICTS = {"too_thin": FindingKind.THIN, "too_thick": FindingKind.THICK}


@dataclass(frozen=True, slots=True)
class FaultCount:
    """Casts that have something in common, and on how many of them each fault was noted.

    Attributes
    ----------
    group : str
    casts : int
    with_fault : int
        On which any was noted.
    counts : mapping of FindingKind to int
        Those that were noted at all.
    """

    group: str
    casts: int
    with_fault: int
    counts: Mapping[FindingKind, int]


def faults_of(casts: Iterable[KeptCast], findings: Iterable[Finding]) -> dict[str, frozenset[FindingKind]]:
    """Return the faults of each cast by its id: those noted, and the caster's verdict where it is one."""
    found: dict[str, set[FindingKind]] = {cast.cast_id: set() for cast in casts}
    for cast in casts:
        if cast.verdict in _VERDICTS:
            found[cast.cast_id].add(_VERDICTS[cast.verdict])
    for finding in findings:
        if finding.kind is not FindingKind.CLEAN and finding.cast_id in found:
            found[finding.cast_id].add(finding.kind)
    return {cast_id: frozenset(kinds) for cast_id, kinds in found.items()}


def count_faults(
    casts: Sequence[KeptCast],
    faults: Mapping[str, frozenset[FindingKind]],
    group_of: Callable[[KeptCast], str],
) -> tuple[FaultCount, ...]:
    """Count faults by group; a cast with two faults counts in both, and once in `with_fault`."""
    groups: dict[str, list[KeptCast]] = {}
    for cast in casts:
        groups.setdefault(group_of(cast), []).append(cast)
    return tuple(_counted(group, some, faults) for group, some in sorted(groups.items()))


def by_number(cast: KeptCast) -> str:
    """Group by the cast's number on its day."""
    return str(cast.number_today) if cast.number_today < LATER_CASTS else f"{LATER_CASTS}+"


def _counted(
    group: str, casts: Sequence[KeptCast], faults: Mapping[str, frozenset[FindingKind]]
) -> FaultCount:
    own = [faults.get(cast.cast_id, frozenset()) for cast in casts]
    counts: dict[FindingKind, int] = {kind: sum(kind in kinds for kinds in own) for kind in FAULTS}
    some: dict[FindingKind, int] = {kind: count for kind, count in counts.items() if count}
    return FaultCount(group, len(casts), sum(bool(kinds) for kinds in own), some)
