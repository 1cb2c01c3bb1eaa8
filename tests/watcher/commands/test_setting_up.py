"""The set-up commands as they are typed: status 0 when done, 2 and one sentence when not."""

from __future__ import annotations

import numpy as np
import pytest
from typer.testing import CliRunner

from watcher.__main__ import app
from watcher.setup.lens_file import read_lens

COMMANDS = ("cards", "shot", "lens", "survey", "mould", "bench", "sight")


@pytest.fixture
def run():
    def typed(*words: object):
        return CliRunner().invoke(app, [str(word) for word in words])

    return typed


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(run, command):
    answer = run(command, "--help")
    assert answer.exit_code == 0
    assert f"tipbell {command}" in answer.output or command in answer.output


def test_cards_and_their_measured_line(run, tmp_path):
    assert run("cards", "--out", tmp_path, "--mould", "beaker", "--paper", "a4").exit_code == 0
    answer = run("cards", "--out", tmp_path, "--ruler", 249.0, "--ruler-up", 159.4)
    assert answer.exit_code == 0 and "0.4 % smaller" in answer.output
    assert (tmp_path / "cards-a4.pdf").read_bytes().startswith(b"%PDF")


def test_a_guessed_lens_is_written_with_its_warning(run, tmp_path):
    answer = run("lens", "--view", 70, "--size", "1920x1080", "--out", tmp_path / "lens.toml")
    assert answer.exit_code == 0 and "The lens is a guess" in answer.output
    assert read_lens(tmp_path / "lens.toml").fx_px == pytest.approx(
        960.0 / np.tan(np.radians(35.0)), abs=0.01
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("cards", "--out", "x", "--ruler", 25), "looks like centimetres"),
        (("lens", "--size", "big", "--out", "x"), "--size is 'big'; give width and height"),
        (("lens", "--pictures", "nowhere", "--out", "x"), "there is no folder nowhere"),
        (
            ("survey", "--pictures", "nowhere", "--sheet", "s", "--lens", "l", "--out", "x"),
            "there is no file s",
        ),
        (("mould", "jug", "--shot", "no.png", "--sheet", "s", "--out", "x"), "no.png cannot be read"),
        (("bench", "--lens", "l", "--sheet", "s", "--moulds", "m", "--out", "x"), "there is no lens file l"),
        (("sight", "--shot", "no.png", "--bench", "b"), "no.png cannot be read"),
    ],
)
def test_what_cannot_be_used_ends_with_two_and_one_sentence(run, tmp_path, monkeypatch, words, said):
    monkeypatch.chdir(tmp_path)
    answer = run(*words)
    assert answer.exit_code == 2
    assert answer.stderr.startswith("tipbell: ") and said in answer.stderr
    assert len(answer.stderr.strip().splitlines()) == 1
    assert list(tmp_path.iterdir()) == []
