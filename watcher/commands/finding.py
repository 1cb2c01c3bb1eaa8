"""What came out of trying one thing."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was tried: fine, or a sentence that says what to do."""

    what: str
    fine: bool
    says: str
