"""Where a test's journal lies: in a file of its folder, or on the server whose address the folder holds."""

from __future__ import annotations

from pathlib import Path


def address(folder: Path) -> str:
    """Return what `open_journal` takes for the journal of this folder."""
    kept = folder / "address"
    return kept.read_text() if kept.exists() else f"sqlite:///{folder / 'journal.db'}"


def remember(folder: Path, url: str) -> None:
    """Let the journal of this folder lie on a server."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "address").write_text(url)
