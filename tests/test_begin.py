"""The first command that anybody runs: what it does once, what it says when something is missing."""

from __future__ import annotations

import importlib.util
import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture
def begin(tmp_path, monkeypatch):
    """The script, working on an empty project of its own where no command may be run."""
    spec = importlib.util.spec_from_file_location("begin_under_test", ROOT / "deploy" / "begin.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    (tmp_path / "deploy").mkdir()
    (tmp_path / "deploy" / "constraints.txt").write_text("numpy==2.4.6\n")
    (tmp_path / "pyproject.toml").write_text("[project]\n")
    venv = tmp_path / ".venv"
    monkeypatch.setattr(module, "ROOT", tmp_path)
    monkeypatch.setattr(module, "VENV", venv)
    monkeypatch.setattr(module, "STAMP", venv / "tipbell-setup.json")
    monkeypatch.setattr(module, "LOG", venv / "setup.log")
    monkeypatch.setattr(module, "PYTHON", venv / "bin" / "python")

    def refuse(*asked, **options):
        raise AssertionError(f"ran {asked}")

    monkeypatch.setattr(module.subprocess, "run", refuse)
    monkeypatch.setattr(module.subprocess, "Popen", refuse)
    return module


def set_up_before(begin, *, tests: bool) -> None:
    begin.PYTHON.parent.mkdir(parents=True)
    begin.PYTHON.touch()
    begin.STAMP.write_text(json.dumps({"fingerprint": begin.fingerprint(), "tests": tests}))


def test_an_old_python_is_told_so(begin):
    with pytest.raises(
        begin.CannotBegin, match=r"this is Python 3\.9\.2; call again with Python 3\.11 or newer"
    ):
        begin._check_python((3, 9, 2, "final", 0))


def test_a_python_without_venv_names_the_package_that_brings_it(begin, monkeypatch):
    monkeypatch.setattr(begin.importlib.util, "find_spec", lambda name: None if name == "ensurepip" else 1)
    with pytest.raises(begin.CannotBegin, match=r"no ensurepip module; .*apt-get install python3-venv"):
        begin._check_python(sys.version_info)


def test_a_second_call_does_nothing_again(begin):
    set_up_before(begin, tests=False)
    begin.set_up(with_tests=False)


def test_what_was_set_up_for_the_tests_serves_the_demo_too(begin):
    set_up_before(begin, tests=True)
    begin.set_up(with_tests=False)


@pytest.mark.parametrize("changed", ["deploy/constraints.txt", "pyproject.toml"])
def test_other_pins_are_installed_anew(begin, changed, tmp_path):
    set_up_before(begin, tests=True)
    (tmp_path / changed).write_text("something else\n")
    with pytest.raises(AssertionError, match="ran"):
        begin.set_up(with_tests=False)
    assert not begin.STAMP.exists()


def test_the_tests_need_more_than_the_demo_left(begin):
    set_up_before(begin, tests=False)
    with pytest.raises(AssertionError, match="ran"):
        begin.set_up(with_tests=True)


def test_no_network_is_said_in_one_sentence(begin):
    # pip 23.2 without a network, 2026-11-24; the index's name replaced by <index>
    said = (
        "WARNING: Retrying (Retry(total=0, connect=None, read=None, redirect=None, status=None)) after "
        "connection broken by 'NameResolutionError(\"HTTPSConnection(host='<index>', port=443): Failed to "
        "resolve '<index>' ([Errno -3] Temporary failure in name resolution)\")': /simple/numpy/\n"
        "ERROR: Could not find a version that satisfies the requirement numpy>=2.2 (from versions: none)\n"
        "ERROR: No matching distribution found for numpy>=2.2\n"
    )
    sentence = begin.why_not_installed(said)
    assert sentence.startswith("the packages could not be fetched: check the network and call again")
    assert "setup.log" in sentence and "\n" not in sentence


def test_another_failure_of_pip_is_passed_on_with_the_place_of_the_rest(begin):
    sentence = begin.why_not_installed("building\nerror: command 'gcc' failed\n")
    assert "error: command 'gcc' failed" in sentence and "setup.log" in sentence


def test_a_full_disk_is_said(begin):
    assert "disk is full" in begin.why_not_installed("OSError: [Errno 28] No space left on device\n")


def test_a_system_library_that_opencv_misses_is_named_with_the_packages(begin):
    # OpenCV 5.0 on a Debian 12 whose libGL was taken away, 2026-11-24
    said = (
        'Traceback (most recent call last):\n  File "<string>", line 1, in <module>\n'
        "ImportError: libGL.so.1: cannot open shared object file: No such file or directory\n"
    )
    assert begin.why_no_opencv(said) == (
        "OpenCV cannot start because this system lacks libGL.so.1; on Debian or Ubuntu: "
        "sudo apt-get install libgl1 libglib2.0-0 libxcb1, then call again"
    )


def test_what_the_demo_is_asked_for_reaches_the_demo(begin):
    asked, _ = begin._parsed(
        ["demo", "--port", "8123", "--speed", "60", "--no-browser", "--recording", "a b"]
    )
    assert begin._demo_options(asked) == [
        "--port",
        "8123",
        "--speed",
        "60.0",
        "--recording",
        "a b",
        "--no-browser",
    ]
    assert begin._demo_options(begin._parsed(["demo"])[0]) == []


def test_further_options_of_the_tests_go_to_pytest(begin):
    asked, extra = begin._parsed(["test", "-k", "tip and not late", "-x"])
    assert asked.command == "test"
    assert extra == ["-k", "tip and not late", "-x"]


def test_an_option_that_nobody_knows_is_refused(begin, capsys):
    with pytest.raises(SystemExit) as end:
        begin._parsed(["demo", "--sped", "3"])
    assert end.value.code == 2
    assert "--sped" in capsys.readouterr().err


def test_it_reads_on_any_python_3_so_that_an_old_one_is_told(tmp_path):
    import ast

    text = (ROOT / "deploy" / "begin.py").read_text(encoding="utf-8")
    ast.parse(text, feature_version=(3, 7))


def test_it_shows_its_commands_without_setting_anything_up():
    done = subprocess.run(
        [sys.executable, str(ROOT / "deploy" / "begin.py"), "--help"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0
    assert "demo|test|setup" in done.stdout
