"""The command line: help at once, a sentence when something is taken or unknown."""

from __future__ import annotations

import socket

import pytest
import typer
from made_recordings import HEAD, JUG, write_levels
from typer.testing import CliRunner

from watcher import __version__
from watcher.__main__ import app


def test_it_says_its_version():
    done = CliRunner().invoke(app, ["--version"])
    assert (done.exit_code, done.stdout) == (0, f"tipbell {__version__}\n")


def test_a_port_that_is_taken_is_said_in_one_sentence(tmp_path):
    folder = write_levels(tmp_path / "r", "0,cream jug,2\n", toml=HEAD + JUG)
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        done = CliRunner().invoke(
            app, ["demo", "--recording", str(folder), "--port", str(port), "--no-browser"]
        )
    assert done.exit_code == 2
    assert done.stderr.count("\n") == 1 and "in use" in done.stderr


def test_a_demo_of_a_folder_that_is_not_there_ends_with_status_two():
    done = CliRunner().invoke(app, ["demo", "--recording", "nowhere", "--no-browser"])
    assert done.exit_code == 2
    assert "nowhere does not exist" in done.stderr


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (["mesure"], "no such command 'mesure'"),
        (["measure", "here"], "missing option '--out'"),
        (["demo", "--speed", "0"], "'--speed'"),
        (["parts", "--yaml"], "--yaml"),
        (["plan", "--hands", "two"], "'--hands'"),
    ],
)
def test_what_is_typed_wrongly_is_said_in_one_sentence(typed, said):
    done = CliRunner().invoke(app, typed)
    assert done.exit_code == 2
    assert done.stderr.startswith("tipbell: ") and done.stderr.count("\n") == 1
    assert said in done.stderr and "--help`" in done.stderr


def test_the_list_of_commands_says_each_in_one_whole_line():
    shown = CliRunner().invoke(app, ["--help"]).stdout
    lines = shown.partition("Commands:\n")[2].splitlines()
    assert len(lines) > 15
    assert [line for line in lines if "..." in line or not line.endswith(".")] == []


def test_help_names_what_is_typed_not_types_of_a_language():
    for name in typer.main.get_command(app).commands:
        shown = CliRunner().invoke(app, [name, "--help"]).stdout
        assert "list[" not in shown and "range>" not in shown, name
