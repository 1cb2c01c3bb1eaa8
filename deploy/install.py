"""Install Tipbell for years on a small Debian-based computer: `sudo python3 deploy/install.py install`.

`install` also upgrades what is there; `rollback` goes back to the release before; `uninstall` leaves the
memory unless told to forget it. `--dry-run` only says what would be done; `--root DIR` does it below a
folder, and leaves out what only a running system has. Standard library only.
"""

import argparse
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
from begin import why_no_opencv, why_not_installed
from fit import CannotInstall, check_fit, missing_packages
from hands import USER, Hands, Place, last_line

SOURCE = Path(__file__).resolve().parent.parent
SYSTEM = SOURCE / "deploy" / "system"
SERVICE = "tipbell.service"
TIMER = "tipbell-copy.timer"
UNITS = (SERVICE, "tipbell-copy.service", TIMER)
RULES = "70-tipbell-camera.rules"
KEPT_RELEASES = 2


def install(hands, source, extras):
    """Install, or upgrade what is there; what does not start is rolled back."""
    place = hands.place
    check_fit(place.opt, real=place.real and not hands.dry)
    lacking = missing_packages()
    if lacking:
        hands.system("apt-get", "install", "-y", "--no-install-recommends", *lacking)
    if not hands.system("getent", "passwd", USER, must=False) or hands.dry:
        home = ("--home-dir", str(place.state), "--shell", "/usr/sbin/nologin")
        hands.system("useradd", "--system", "--user-group", *home, USER, must=not hands.dry)
    for folder, mode in ((place.state, 0o750), (place.copies, 0o750)):
        hands.folder(folder, mode)
    old = _current(place)
    new = place.releases / f"{version_of(SOURCE)}-{datetime.now(UTC):%Y%m%d-%H%M%S}"
    try:
        _make_release(hands, new, source, extras)
        if old is not None:
            _copy_memory(hands, old)
        _write_system(hands)
        hands.system("systemctl", "stop", SERVICE, must=False)
        _note(hands, new, old)
        hands.point(place.current, new)
        hands.point(place.command, place.current / "bin" / "tipbell")
        _start(hands, new)
    except (CannotInstall, OSError) as fault:
        if old is not None and _current(place) == new:
            rollback(hands)
        elif old is not None:
            hands.system("systemctl", "start", SERVICE, must=False)
        hands.remove(new)
        raise CannotInstall(f"{fault}; the release before goes on" if old else str(fault)) from None
    for release in sorted(place.releases.glob("*")) if place.releases.exists() else ():
        if release not in (new, old):
            hands.remove(release)
    hands.system("systemctl", "enable", "--now", TIMER)
    if not (place.state / "bench.toml").exists():
        hands.say(
            "go on: set the bench up at http://127.0.0.1:8417/setup on this computer (INSTALL.md, step 2)"
        )


def rollback(hands):
    """Go back to the release before, and to its memory where it cannot read what the newer one wrote."""
    place = hands.place
    noted = json.loads(place.noted.read_text(encoding="utf-8")) if place.noted.exists() else {}
    before = Path(noted["before"]) if noted.get("before") else None
    if before is None or not (before / "bin" / "tipbell").exists():
        raise CannotInstall("there is no release before this one")
    hands.system("systemctl", "stop", SERVICE, must=False)
    journal = noted.get("journal", "")
    if place.before.exists() and journal and revision_of(Path(journal)) != revision_of(place.before):
        done = hands.program(before, "restore", "--from", place.before, "--settings", place.settings)
        if done.returncode != 0:
            raise CannotInstall(f"the memory of before could not be put back: {last_line(done.stderr)}")
        hands.say(f"keep what was written since as {journal}.before")
    _note(hands, before, _current(place))
    hands.point(place.current, before)
    hands.system("systemctl", "start", SERVICE, must=False)


def uninstall(hands, *, forget):
    """Remove the program; the memory, settings and copies only when told to."""
    place = hands.place
    for unit in (TIMER, SERVICE):
        hands.system("systemctl", "disable", "--now", unit, must=False)
    for path in (*(place.units / unit for unit in UNITS), place.rules / RULES, place.command, place.opt):
        hands.remove(path)
    hands.system("systemctl", "daemon-reload", must=False)
    if forget:
        hands.remove(place.state)
        hands.remove(place.copies)
        hands.system("userdel", USER, must=False)
    else:
        hands.say(f"leave memory and settings in {place.state}, copies in {place.copies}")


def version_of(source):
    """Return the version that the source says it has."""
    text = (source / "watcher" / "__init__.py").read_text(encoding="utf-8")
    return text.split('__version__ = "')[1].split('"')[0]


def revision_of(journal):
    """Return the revision of a journal's tables, or an empty text where there is none."""
    try:
        with closing(sqlite3.connect(f"{journal.resolve().as_uri()}?mode=ro", uri=True)) as opened:
            return str(opened.execute("SELECT version_num FROM alembic_version").fetchone()[0])
    except (sqlite3.Error, TypeError):
        return ""


def _current(place):
    return place.current.resolve() if place.current.exists() else None


def _make_release(hands, release, source, extras):
    hands.say(f"make the environment {release} and install the pinned packages (some minutes)")
    if hands.dry:
        return
    release.parent.mkdir(parents=True, exist_ok=True)
    _must([sys.executable, "-m", "venv", str(release)], lambda said: f"no environment: {last_line(said)}")
    with tempfile.TemporaryDirectory() as clean:
        if source.is_dir():  # a build leaves its traces beside what it builds
            for name in ("watcher", "models", "pyproject.toml", "README.md"):
                copy = shutil.copytree if (source / name).is_dir() else shutil.copyfile
                copy(source / name, Path(clean) / name)
        wanted = Path(clean) if source.is_dir() else source
        pip = [str(release / "bin" / "python"), "-m", "pip", "install", "--no-input"]
        pip += [] if hands.place.real else ["--no-compile"]  # the service may not write there itself
        pins = ["--disable-pip-version-check", "-c", str(SOURCE / "deploy" / "constraints.txt")]
        _must([*pip, *pins, f"{wanted}{extras}"], _why_not_installed)
    _must([str(release / "bin" / "python"), "-c", "import cv2"], why_no_opencv)
    _must([str(release / "bin" / "tipbell"), "--version"], lambda said: f"it does not run: {last_line(said)}")


def _why_not_installed(said):
    return why_not_installed(said).split(" (all that pip said")[0]


def _must(asked, why):
    done = subprocess.run(asked, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise CannotInstall(why(done.stderr or done.stdout))


def _copy_memory(hands, old):
    """Copy the memory by the program that wrote it, while it still watches."""
    if not hands.place.settings.exists() or not _journal(hands.place):
        return
    done = hands.program(old, "backup", "--to", hands.place.before, "--settings", hands.place.settings)
    if done.returncode != 0:
        raise CannotInstall(f"the memory could not be copied: {last_line(done.stderr)}")


def _journal(place):
    found = sorted(place.state.glob("*/journal.db"))
    return str(found[0]) if found else ""


def _note(hands, now, before):
    noted = {"now": str(now), "before": str(before) if before else "", "journal": _journal(hands.place)}
    hands.write(hands.place.noted, json.dumps(noted, indent=1) + "\n")


def _write_system(hands):
    place = hands.place
    for unit in UNITS:
        hands.write(place.units / unit, (SYSTEM / unit).read_text(encoding="utf-8"))
    hands.write(place.rules / RULES, (SYSTEM / RULES).read_text(encoding="utf-8"))
    hands.system("systemctl", "daemon-reload")
    hands.system("udevadm", "control", "--reload", must=False)
    hands.system("udevadm", "trigger", "--subsystem-match=video4linux", must=False)


def _start(hands, release):
    """Start the service and wait until it says that it watches, or serves the set-up page."""
    if not hands.system("systemctl", "enable", "--now", SERVICE, must=False):
        done = hands.program(release, "check", "--settings", hands.place.settings)
        mend = [line for line in done.stdout.splitlines() if line.startswith("MEND")]
        raise CannotInstall(f"the service does not start: {mend[0] if mend else 'see journalctl -u tipbell'}")


def main(arguments=None):
    """Run one of the commands; return the exit status."""
    parser = argparse.ArgumentParser(prog="install.py", description="Install Tipbell for years.")
    parser.add_argument("command", choices=("install", "rollback", "uninstall"))
    parser.add_argument("--wheel", type=Path, default=SOURCE, help="a wheel, in place of this folder")
    parser.add_argument("--extra", action="append", default=[], help="network, mqtt or timelapse")
    parser.add_argument("--forget", action="store_true", help="uninstall: remove the memory as well")
    parser.add_argument("--root", type=Path, default=Path("/"), help="install below this folder")
    parser.add_argument("--dry-run", action="store_true", help="only say what would be done")
    asked = parser.parse_args(arguments)
    hands = Hands(Place(asked.root.resolve()), dry=asked.dry_run)
    os.umask(0o022)
    try:
        if asked.command == "install":
            install(hands, asked.wheel.resolve(), f"[{','.join(asked.extra)}]" if asked.extra else "")
        elif asked.command == "rollback":
            rollback(hands)
        else:
            uninstall(hands, forget=asked.forget)
    except (CannotInstall, OSError) as fault:
        print(f"tipbell: {fault}", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
