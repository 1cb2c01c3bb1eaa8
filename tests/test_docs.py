"""What can be asked, set or heard is described for the person who uses it."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.main import get_command

from watcher.__main__ import app
from watcher.records.notices import Kind
from watcher.settings import Settings

README = (Path(__file__).resolve().parent.parent / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("command", sorted(get_command(app).commands))
def test_every_command_is_in_the_readme(command):
    assert f"tipbell {command}" in README or f"begin.py {command}" in README


def settings_keys() -> list[tuple[str, str]]:
    """Every section of the settings with each of its keys."""
    keys = []
    for section, field in Settings.model_fields.items():
        table = field.annotation
        if getattr(table, "__args__", None):
            table = table.__args__[0]
        keys += [(section, key) for key in table.model_fields]
    return keys


@pytest.mark.parametrize(("section", "key"), settings_keys())
def test_every_setting_is_in_the_readme(section, key):
    lines = [line for line in README.splitlines() if line.startswith(("| `[" + section, "| `[[" + section))]
    assert lines and any(f"`{key}`" in line for line in lines)


@pytest.mark.parametrize("kind", list(Kind))
def test_every_call_is_in_the_readme(kind):
    assert f"`{kind.value}`" in README
