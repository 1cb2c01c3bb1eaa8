"""The files for the system: its own tools have nothing to say against them, and they close what they say."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from watcher.camera.address import DeviceAddress, camera_address

SYSTEM = Path(__file__).resolve().parents[2] / "deploy" / "system"
PROGRAM = "/opt/tipbell/current/bin/tipbell"
UNITS = ("tipbell.service", "tipbell-copy.service", "tipbell-copy.timer")
MOST_EXPOSURE = 2.0


@pytest.fixture
def units(tmp_path: Path) -> Path:
    """The units, with a program in them that every system has: what they start is not installed here."""
    for name in UNITS:
        text = (SYSTEM / name).read_text(encoding="utf-8").replace(PROGRAM, "/bin/true")
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def said_of(analyze: str, file: Path) -> str:
    """What is said of a unit; the status alone tells little, it is 0 for a key that nobody knows."""
    done = subprocess.run([analyze, "verify", str(file)], capture_output=True, text=True, timeout=60)
    return done.stderr.strip() or ("" if done.returncode == 0 else f"status {done.returncode}")


@pytest.mark.parametrize("name", UNITS)
def test_systemd_has_nothing_to_say_against_a_unit(systemd_analyze_path: str, units: Path, name: str) -> None:
    assert said_of(systemd_analyze_path, units / name) == ""


def test_systemd_does_say_what_is_wrong(systemd_analyze_path: str, units: Path) -> None:
    file = units / "tipbell.service"
    file.write_text(file.read_text(encoding="utf-8").replace("LockPersonality=", "LockPersonalty="))
    assert "LockPersonalty" in said_of(systemd_analyze_path, file)


@pytest.mark.parametrize("name", ["tipbell.service", "tipbell-copy.service"])
def test_a_service_is_closed_against_the_rest_of_the_computer(
    systemd_analyze_path: str, units: Path, name: str
) -> None:
    asked = [systemd_analyze_path, "security", "--offline=true", "--no-pager", str(units / name)]
    said = subprocess.run(asked, capture_output=True, text=True, timeout=60).stdout
    found = re.search(r"Overall exposure level for \S+: ([\d.]+)", said)
    assert found, said[-500:]
    assert float(found[1]) < MOST_EXPOSURE


def test_the_service_may_write_where_its_settings_lie_and_nowhere_else() -> None:
    text = (SYSTEM / "tipbell.service").read_text(encoding="utf-8")
    assert "--settings /var/lib/tipbell/tipbell.toml" in text and "StateDirectory=tipbell\n" in text
    assert "ProtectSystem=strict" in text and "ReadWritePaths" not in text


RULE_PART = re.compile(
    r'(ACTION|SUBSYSTEM|KERNEL|GOTO|LABEL|SYMLINK|OPTIONS|ATTR\{\w+\}|ENV\{\w+\})(==|!=|\+=|=)"[^"]*"'
)


def test_the_camera_rule_is_well_formed_and_its_name_is_one_that_the_settings_take() -> None:
    """By form alone: what reads such rules does so on a running system only."""
    text = (SYSTEM / "70-tipbell-camera.rules").read_text(encoding="utf-8")
    rules = [line for line in text.splitlines() if line.strip() and not line.startswith("# ")]
    for line in rules:
        for part in line.lstrip("#").split(", "):
            if part.strip() and part != "#":
                assert RULE_PART.fullmatch(part), part
    (name,) = set(re.findall(r'SYMLINK\+="([^"]+)"', text))
    assert isinstance(camera_address(f"/dev/{name}", ()), DeviceAddress)
    assert set(re.findall(r'GOTO="(\w+)"', text)) == set(re.findall(r'LABEL="(\w+)"', text))


def test_the_shell_lines_of_the_copy_do_what_they_say(tmp_path: Path) -> None:
    """As systemd would: `$$` is `$`, `%%` is `%`, and the environment is set."""
    text = (SYSTEM / "tipbell-copy.service").read_text(encoding="utf-8")
    copies, state = tmp_path / "copies", tmp_path / "state"
    copies.mkdir()
    state.mkdir()
    (state / "bench.toml").write_text("[camera]\n", encoding="utf-8")
    program = tmp_path / "tipbell"
    program.write_text('#!/bin/sh\n[ "$1 $2 $4" = "backup --settings --to" ] && : > "$5"\n', encoding="utf-8")
    program.chmod(0o755)
    for line in re.findall(r"^ExecStart=/bin/sh -c '(.*)'$", text, re.MULTILINE):
        command = line.replace("$$", "$").replace("%%", "%")
        command = command.replace(PROGRAM, str(program)).replace("/var/lib/tipbell", str(state))
        shell = shutil.which("sh") or "/bin/sh"
        subprocess.run(
            [shell, "-c", command], check=True, env={"TIPBELL_COPIES": str(copies), "PATH": "/usr/bin:/bin"}
        )
    names = sorted(path.name for path in copies.iterdir())
    assert names[0] == "bench.toml" and re.fullmatch(r"journal-[1-7]\.db", names[1])
