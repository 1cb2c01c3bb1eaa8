"""Where an installed Tipbell lies, and the hands that put it there, or only say what they would do."""

import shutil
import subprocess
from pathlib import Path

from fit import CannotInstall

USER = "tipbell"


class Place:
    """Where everything lies, below a root."""

    def __init__(self, root):
        self.real = root == Path("/")
        self.opt = root / "opt" / "tipbell"
        self.releases = self.opt / "releases"
        self.current = self.opt / "current"
        self.noted = self.opt / "installed.json"
        self.state = root / "var" / "lib" / "tipbell"
        self.settings = self.state / "tipbell.toml"
        self.before = self.state / "before-upgrade.db"
        self.copies = root / "var" / "backups" / "tipbell"
        self.units = root / "etc" / "systemd" / "system"
        self.rules = root / "etc" / "udev" / "rules.d"
        self.command = root / "usr" / "local" / "bin" / "tipbell"


class Hands:
    """Does what must be done, or only says it."""

    def __init__(self, place, *, dry=False):
        self.place, self.dry = place, dry

    def say(self, what):
        """Tell the person in front of the screen."""
        print(f"{'would ' if self.dry else ''}{what}", flush=True)

    def system(self, *asked, must=True):
        """Run a program that changes the system (below a folder: name it). Return whether it worked."""
        self.say(f"run: {' '.join(map(str, asked))}" + ("" if self.place.real else "   (left out: a folder)"))
        if self.dry or not self.place.real:
            return True
        done = subprocess.run(asked, capture_output=True, text=True, check=False)
        if done.returncode != 0 and must:
            raise CannotInstall(f"{asked[0]} failed: {last_line(done.stderr or done.stdout)}")
        return done.returncode == 0

    def program(self, release, *asked):
        """Run Tipbell out of a release, as its own user where there is one; return how it ended."""
        own = ["runuser", "-u", USER, "--"] if self.place.real else []
        command = [*own, str(release / "bin" / "tipbell"), *map(str, asked)]
        self.say(f"run: {' '.join(command)}")
        if self.dry:
            return subprocess.CompletedProcess(command, 0, "", "")
        return subprocess.run(command, capture_output=True, text=True, check=False, cwd=self.place.state)

    def write(self, path, text, mode=0o644):
        """Write a file of the system's, whole or not at all."""
        self.say(f"write {path}")
        if self.dry:
            return
        path.parent.mkdir(parents=True, exist_ok=True)
        half = path.with_name(path.name + ".new")
        half.write_text(text, encoding="utf-8")
        half.chmod(mode)
        half.replace(path)

    def folder(self, path, mode):
        """Make a folder that belongs to Tipbell's own user."""
        self.say(f"make folder {path}")
        if not self.dry:
            path.mkdir(parents=True, exist_ok=True)
            path.chmod(mode)
            self.own(path)

    def own(self, path):
        """Give a file to Tipbell's own user."""
        if self.place.real and not self.dry:
            shutil.chown(path, USER, USER)

    def point(self, link, target):
        """Let a link lead to another place, in one step."""
        self.say(f"let {link} lead to {target}")
        if not self.dry:
            link.parent.mkdir(parents=True, exist_ok=True)
            half = link.with_name(link.name + ".new")
            half.unlink(missing_ok=True)
            half.symlink_to(target)
            half.replace(link)

    def remove(self, path):
        """Remove a file, a link or a whole folder, if it is there."""
        if path.is_symlink() or path.exists():
            self.say(f"remove {path}")
            if not self.dry:
                shutil.rmtree(path) if path.is_dir() and not path.is_symlink() else path.unlink()


def last_line(said):
    """Return the last line that says something: there programs put what went wrong."""
    lines = [line.strip() for line in (said or "").splitlines() if line.strip()]
    return lines[-1] if lines else "no reason was given"
