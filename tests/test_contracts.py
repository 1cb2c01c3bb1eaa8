"""Style, types and the way imports run, each held by its own program."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


def said(*asked: str) -> str:
    """Run a checker in the project's folder; return what it complained of, empty when all is well."""
    done = subprocess.run(
        [sys.executable, *asked], cwd=ROOT, capture_output=True, text=True, timeout=300, check=False,
        env={**os.environ, "NO_COLOR": "1"},
    )  # fmt: skip
    return "" if done.returncode == 0 else done.stdout + done.stderr


def test_the_style_is_kept():
    assert said("-m", "ruff", "check", "--quiet", ".") == ""


def test_the_layout_of_the_code_is_kept():
    assert said("-m", "ruff", "format", "--check", "--quiet", ".") == ""


@pytest.mark.slow
def test_the_types_fit():
    assert said("-m", "mypy", "--no-error-summary") == ""


def test_imports_run_one_way():
    assert said("-c", "from importlinter.cli import lint_imports_command as c; c()") == ""
