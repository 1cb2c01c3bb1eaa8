"""What a computer must be to have Tipbell installed: said in one sentence each before anything is changed."""

import importlib.util
import os
import platform
import shutil
import struct
import subprocess
import sys
from pathlib import Path

OLDEST = (3, 11)
LEAST_FREE_BYTES = 3_000_000_000
"""Two releases of 0.7 GB each lie side by side during an upgrade, and the memory grows."""

PROCESSORS = ("x86_64", "aarch64")
"""Those for which the numerical packages come ready-made."""

LIBRARIES = {"libGL.so.1": "libgl1", "libglib-2.0.so.0": "libglib2.0-0", "libxcb.so.1": "libxcb1"}
"""What OpenCV asks of the system, and the Debian package that brings it."""


class CannotInstall(Exception):
    """Something is missing or failed; the text is one sentence for the person in front of the screen."""


def check_fit(opt, *, real):
    """Refuse a computer that Tipbell cannot run on for years.

    `real`: this computer itself, not a folder; then its system is changed, which needs root.
    """
    if sys.platform != "linux":
        raise CannotInstall(f"this is {platform.system()}; the installer is for Linux (see deploy/begin.py)")
    if struct.calcsize("P") != 8 or platform.machine() not in PROCESSORS:
        raise CannotInstall(
            f"this system is {platform.machine()} with {8 * struct.calcsize('P')} bits; install the 64-bit "
            f"edition of its system (processors: {', '.join(PROCESSORS)})"
        )
    if sys.version_info[:2] < OLDEST:
        found = ".".join(map(str, sys.version_info[:3]))
        raise CannotInstall(f"this is Python {found}; Debian 12 or newer brings Python 3.11")
    if real and os.geteuid() != 0:
        raise CannotInstall("call it with sudo: it makes a user and a service")
    if real and not _like_debian(Path("/etc/os-release")):
        raise CannotInstall("this system is not based on Debian; INSTALL.md says what to do by hand")
    there = next(parent for parent in (opt, *opt.parents) if parent.exists())
    free = shutil.disk_usage(there).free
    if free < LEAST_FREE_BYTES:
        raise CannotInstall(
            f"{free / 1e9:.1f} GB are free at {there}; {LEAST_FREE_BYTES / 1e9:g} GB are wanted"
        )


def missing_packages():
    """Return the Debian packages that this computer lacks."""
    known = subprocess.run(["/sbin/ldconfig", "-p"], capture_output=True, text=True, check=False).stdout
    missing = [package for library, package in LIBRARIES.items() if library not in known]
    if importlib.util.find_spec("ensurepip") is None or importlib.util.find_spec("venv") is None:
        missing.append("python3-venv")
    return missing


def _like_debian(release):
    try:
        lines = release.read_text(encoding="utf-8").splitlines()
    except OSError:
        return False
    said = dict(line.split("=", 1) for line in lines if "=" in line)
    words = f"{said.get('ID', '')} {said.get('ID_LIKE', '')}".replace('"', "").split()
    return "debian" in words or "raspbian" in words
