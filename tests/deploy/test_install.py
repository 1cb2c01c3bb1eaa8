"""The installer below a folder: install, upgrade with the memory, a failed one rolled back, uninstall.

What a running system alone has (its service manager, its users) is played by a recorder; the program that a
release starts is the real one, out of this checkout.
"""

from __future__ import annotations

import importlib.util
import json
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from watcher.storage.journal import open_journal

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def installer(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The script, whose releases hold a door to this checkout in place of packages of their own."""
    monkeypatch.syspath_prepend(str(ROOT / "deploy"))
    spec = importlib.util.spec_from_file_location("install_under_test", ROOT / "deploy" / "install.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)

    def make(hands: Any, release: Path, source: Path, extras: str) -> None:
        program = release / "bin" / "tipbell"
        program.parent.mkdir(parents=True)
        program.write_text(
            f'#!/bin/sh\nPYTHONPATH={ROOT} exec {sys.executable} -m watcher "$@"\n', encoding="utf-8"
        )
        program.chmod(0o755)

    numbers = iter(range(1, 10))
    monkeypatch.setattr(module, "_make_release", make)
    monkeypatch.setattr(module, "version_of", lambda source: f"0.{next(numbers)}.0")
    return module


class Recorder:
    """Stands for the system: notes what it is asked, and starts the service as told."""

    def __init__(self, starts: Any = lambda: True) -> None:
        self.asked: list[str] = []
        self.starts = starts

    def __call__(self, *asked: object, must: bool = True) -> bool:
        line = " ".join(map(str, asked))
        self.asked.append(line)
        return bool(self.starts()) if line == "systemctl enable --now tipbell.service" else True


def hands_on(installer: ModuleType, root: Path, system: Recorder) -> Any:
    hands = installer.Hands(installer.Place(root))
    hands.system = system
    return hands


def journal(root: Path) -> Path:
    return root / "var" / "lib" / "tipbell" / "tipbell-memory" / "journal.db"


def ask(file: Path, question: str) -> Any:
    with closing(sqlite3.connect(file)) as opened, opened:
        return opened.execute(question).fetchone()


@pytest.fixture
def installed(installer: ModuleType, tmp_path: Path) -> Path:
    """A root where a bench is installed, set up and has a memory."""
    installer.install(hands_on(installer, tmp_path, Recorder()), ROOT, "")
    state = tmp_path / "var" / "lib" / "tipbell"
    (state / "bench.toml").write_text("[camera]\n", encoding="utf-8")
    camera = f'[camera]\naddress = "{state}"\nfolders = ["{state}"]\n'  # a device would be waited for
    (state / "tipbell.toml").write_text(camera, encoding="utf-8")
    journal(tmp_path).parent.mkdir()
    open_journal(f"sqlite:///{journal(tmp_path)}", "bench").close()
    assert ask(journal(tmp_path), "SELECT count(*) FROM casts") == (0,)
    return tmp_path


def test_a_first_install_puts_everything_in_its_place_and_says_what_is_to_do(
    installer: ModuleType, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    system = Recorder()
    installer.install(hands_on(installer, tmp_path, system), ROOT, "")
    assert (tmp_path / "opt/tipbell/current").resolve().name.startswith("0.1.0-")
    for unit in ("tipbell.service", "tipbell-copy.service", "tipbell-copy.timer"):
        assert (tmp_path / "etc/systemd/system" / unit).is_file()
    assert (tmp_path / "etc/udev/rules.d/70-tipbell-camera.rules").is_file()
    assert (tmp_path / "var/lib/tipbell").stat().st_mode & 0o777 == 0o750
    said = subprocess.run(
        [str(tmp_path / "usr/local/bin/tipbell"), "--version"], capture_output=True, text=True, check=True
    )
    assert said.stdout.startswith("tipbell ")
    assert "systemctl enable --now tipbell.service" in system.asked  # it serves the set-up page
    assert "set the bench up at http://127.0.0.1:8417/setup" in capsys.readouterr().out


def test_an_upgrade_copies_the_memory_first_and_keeps_one_release_to_go_back_to(
    installer: ModuleType, installed: Path
) -> None:
    settings = installed / "var/lib/tipbell/tipbell.toml"
    settings.write_text(settings.read_text() + "\n[calls]\nsoon_min = 4.0\n", encoding="utf-8")
    for _ in range(2):
        system = Recorder()
        installer.install(hands_on(installer, installed, system), ROOT, "")
        stop, start = (
            system.asked.index(f"systemctl {word} tipbell.service") for word in ("stop", "enable --now")
        )
        assert stop < start
    releases = sorted(path.name.split("-")[0] for path in (installed / "opt/tipbell/releases").iterdir())
    assert releases == ["0.2.0", "0.3.0"]
    assert (installed / "opt/tipbell/current").resolve().name.startswith("0.3.0-")
    assert ask(installed / "var/lib/tipbell/before-upgrade.db", "SELECT count(*) FROM casts") == (0,)
    assert "soon_min = 4.0" in settings.read_text(encoding="utf-8")


def test_a_release_that_migrates_and_then_does_not_start_is_rolled_back_with_its_memory(
    installer: ModuleType, installed: Path
) -> None:
    before = ask(journal(installed), "SELECT version_num FROM alembic_version")

    def migrates_and_fails() -> bool:
        ask(journal(installed), "UPDATE alembic_version SET version_num = '9999'")
        return False

    system = Recorder(migrates_and_fails)
    with pytest.raises(installer.CannotInstall, match=r"does not start: .*; the release before goes on"):
        installer.install(hands_on(installer, installed, system), ROOT, "")
    assert (installed / "opt/tipbell/current").resolve().name.startswith("0.1.0-")
    assert [path.name.split("-")[0] for path in (installed / "opt/tipbell/releases").iterdir()] == ["0.1.0"]
    assert ask(journal(installed), "SELECT version_num FROM alembic_version") == before
    kept = journal(installed).with_name("journal.db.before")
    assert ask(kept, "SELECT version_num FROM alembic_version") == ("9999",)
    assert system.asked[-1] == "systemctl start tipbell.service"


def test_going_back_by_hand_keeps_a_memory_that_the_older_release_can_read(
    installer: ModuleType, installed: Path
) -> None:
    installer.install(hands_on(installer, installed, Recorder()), ROOT, "")
    ask(journal(installed), "CREATE TABLE since_the_upgrade (x)")
    installer.rollback(hands_on(installer, installed, Recorder()))
    assert (installed / "opt/tipbell/current").resolve().name.startswith("0.1.0-")
    assert ask(journal(installed), "SELECT count(*) FROM since_the_upgrade") == (0,)
    installer.rollback(hands_on(installer, installed, Recorder()))  # and forward again
    assert (installed / "opt/tipbell/current").resolve().name.startswith("0.2.0-")


def test_with_nothing_to_go_back_to_it_says_so(installer: ModuleType, installed: Path) -> None:
    with pytest.raises(installer.CannotInstall, match="no release before"):
        installer.rollback(hands_on(installer, installed, Recorder()))


def test_packages_that_cannot_be_had_leave_the_running_release_alone(
    installer: ModuleType, installed: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*given: object) -> None:
        raise installer.CannotInstall("the packages could not be fetched")

    monkeypatch.setattr(installer, "_make_release", fails)
    system = Recorder()
    with pytest.raises(installer.CannotInstall, match="could not be fetched; the release before goes on"):
        installer.install(hands_on(installer, installed, system), ROOT, "")
    assert "systemctl stop tipbell.service" not in system.asked
    assert (installed / "opt/tipbell/current").resolve().name.startswith("0.1.0-")


@pytest.mark.parametrize("forget", [False, True])
def test_uninstalling_leaves_the_memory_unless_told_to_forget_it(
    installer: ModuleType, installed: Path, forget: bool
) -> None:
    installer.uninstall(hands_on(installer, installed, Recorder()), forget=forget)
    left = {str(path.relative_to(installed)) for path in installed.rglob("*") if path.is_file()}
    if forget:
        assert left == set()
    else:
        assert {"var/lib/tipbell/tipbell.toml", "var/lib/tipbell/tipbell-memory/journal.db"} <= left
        assert not [path for path in left if not path.startswith("var/lib/tipbell/")]


def test_a_dry_run_changes_nothing(tmp_path: Path) -> None:
    asked = [
        sys.executable,
        str(ROOT / "deploy" / "install.py"),
        "install",
        "--dry-run",
        "--root",
        str(tmp_path),
    ]
    done = subprocess.run(asked, capture_output=True, text=True, check=True)
    assert "would make the environment" in done.stdout and "would let" in done.stdout
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("platform.machine", "armv7l", "64-bit edition"),
        ("struct.calcsize", 4, "with 32 bits"),
        ("shutil.disk_usage", (1, 1, 10**9), "1.0 GB are free"),
        ("os.geteuid", 1000, "sudo"),
    ],
)
def test_a_computer_that_cannot_hold_it_for_years_is_refused_before_anything_changes(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, name: str, value: Any, said: str
) -> None:
    monkeypatch.syspath_prepend(str(ROOT / "deploy"))
    fit = importlib.import_module("fit")
    module, function = name.split(".")
    answer = type("Usage", (), {"free": value[2]}) if isinstance(value, tuple) else value
    monkeypatch.setattr(getattr(fit, module), function, lambda *given: answer)
    with pytest.raises(fit.CannotInstall, match=said):
        fit.check_fit(tmp_path / "opt", real=True)


def test_systems_based_on_debian_are_known_by_their_own_word(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.syspath_prepend(str(ROOT / "deploy"))
    fit = importlib.import_module("fit")
    for text, known in (
        ('PRETTY_NAME="Debian GNU/Linux 12 (bookworm)"\nID=debian\n', True),
        ("ID=ubuntu\nID_LIKE=debian\n", True),
        ('ID="raspbian"\nID_LIKE="debian"\n', True),
        ('ID=fedora\nID_LIKE="rhel centos"\n', False),
    ):
        (tmp_path / "os-release").write_text(text, encoding="utf-8")
        assert fit._like_debian(tmp_path / "os-release") is known
    assert not fit._like_debian(tmp_path / "none")


def test_the_libraries_named_here_are_those_of_the_first_command(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(ROOT / "deploy"))
    fit, begin = importlib.import_module("fit"), importlib.import_module("begin")
    assert set(fit.LIBRARIES.values()) == set(begin.SYSTEM_LIBRARIES.split())
    assert json.dumps(fit.PROCESSORS) == '["x86_64", "aarch64"]'
