"""`tipbell backup` and `tipbell restore`, as they are typed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from bench_stories import story

from watcher.storage.journal import open_journal


def tipbell(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    root = Path(__file__).resolve().parents[3]
    made = [sys.executable, "-m", "watcher", *words, "--settings", str(folder / "tipbell.toml")]
    return subprocess.run(made, cwd=root, capture_output=True, text=True, check=False)


def test_a_memory_is_copied_while_it_is_open_and_put_back_when_it_is_not(tmp_path: Path) -> None:
    (tmp_path / "tipbell.toml").write_text('[camera]\naddress = "0"\n[memory]\nfolder = "memory"\n')
    journal = open_journal(f"sqlite:///{tmp_path / 'memory' / 'journal.db'}", "bench")
    for told in story(50, bench_id="bench"):
        journal.add(told.step, durable=told.number == 49)
    copied = tipbell(tmp_path, "backup", "--to", str(tmp_path / "copy.db"))
    early = tipbell(tmp_path, "restore", "--from", str(tmp_path / "copy.db"))
    journal.close()
    put = tipbell(tmp_path, "restore", "--from", str(tmp_path / "copy.db"))
    assert (copied.returncode, early.returncode, put.returncode) == (0, 2, 0), copied.stderr + put.stderr
    assert "3 casts" in copied.stdout
    assert "stop it first" in early.stderr
    assert (tmp_path / "memory" / "journal.db.before").exists()
    again = open_journal(f"sqlite:///{tmp_path / 'memory' / 'journal.db'}", "bench")
    assert len(again.casts()) == 3
    again.close()


def test_what_is_no_copy_is_refused_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "tipbell.toml").write_text('[camera]\naddress = "0"\n')
    refused = tipbell(tmp_path, "restore", "--from", str(tmp_path / "tipbell.toml"))
    assert refused.returncode == 2
    assert "is no journal" in refused.stderr
    assert "Traceback" not in refused.stderr
