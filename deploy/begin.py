"""Set Tipbell up in this folder and start it: `python3 deploy/begin.py demo`, `test` or `setup`.

Standard library only, so that any Python 3.11 or newer can run it; older ones are told so in a sentence,
which is why the syntax here stays plain.
"""

import argparse
import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
STAMP = VENV / "tipbell-setup.json"
LOG = VENV / "setup.log"
OLDEST = (3, 11)
ON_WINDOWS = os.name == "nt"
PYTHON = VENV / ("Scripts/python.exe" if ON_WINDOWS else "bin/python")
SYSTEM_LIBRARIES = "libgl1 libglib2.0-0 libxcb1"

NETWORK_SIGNS = (
    "Temporary failure in name resolution",
    "Name or service not known",
    "getaddrinfo failed",
    "nodename nor servname",
    "NewConnectionError",
    "ConnectTimeoutError",
    "Connection refused",
    "Network is unreachable",
    "ProxyError",
    "SSLError",
    "Max retries exceeded",
    "Could not find a version that satisfies",
)


class CannotBegin(Exception):
    """Something is missing; the text is one sentence for the person in front of the screen."""


def main(arguments=None):
    """Run one of the three commands; return the exit status."""
    asked, extra = _parsed(arguments)
    try:
        _check_python(sys.version_info)
        set_up(with_tests=asked.command == "test")
    except CannotBegin as fault:
        print(f"tipbell: {fault}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("tipbell: stopped; call again to go on", file=sys.stderr)
        return 1
    if asked.command == "setup":
        print(f"Tipbell is set up; {_shown(PYTHON)} -m watcher --help lists what it does")
        return 0
    if asked.command == "test":
        return _go([str(PYTHON), "-m", "pytest", *extra], folder=ROOT)
    return _go([str(PYTHON), "-P", "-m", "watcher", "demo", *_demo_options(asked)], folder=None)


def set_up(with_tests):
    """Make `.venv` and install the pinned packages, unless that has been done for exactly these pins."""
    wanted = fingerprint()
    done = _stamp()
    fits = done.get("fingerprint") == wanted and PYTHON.exists()
    if fits and (done.get("tests") or not with_tests):
        return
    with_tests = with_tests or bool(done.get("tests"))  # what was there for the tests stays
    STAMP.unlink(missing_ok=True)
    if not _venv_works():
        _make_venv()
    _install(with_tests)
    _check_opencv()
    STAMP.write_text(json.dumps({"fingerprint": wanted, "tests": with_tests}), encoding="utf-8")


def fingerprint():
    """Tell apart any two set-ups that need different packages or another place."""
    digest = hashlib.sha256()
    for part in (ROOT / "deploy" / "constraints.txt", ROOT / "pyproject.toml"):
        digest.update(part.read_bytes())
    digest.update(f"{ROOT} {sys.version_info[:2]} {sys.platform}".encode())
    return digest.hexdigest()


def _parsed(arguments):
    parser = argparse.ArgumentParser(
        prog="begin.py", description="Set Tipbell up in this folder and start it."
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="demo|test|setup")
    demo = commands.add_parser("demo", help="play the sample session and serve the page")
    demo.add_argument("--port", type=int, help="serve the page at this port")
    demo.add_argument("--speed", type=float, help="play so many times faster than life")
    demo.add_argument("--no-browser", action="store_true", help="do not open the page")
    demo.add_argument("--recording", help="play this recording instead of the sample session")
    commands.add_parser("test", help="run the tests; further options go to pytest", add_help=False)
    commands.add_parser("setup", help="only set up")
    asked, extra = parser.parse_known_args(arguments)
    if extra and asked.command != "test":
        parser.error(f"unknown: {' '.join(extra)}")
    return asked, extra


def _demo_options(asked):
    options = []
    for name in ("port", "speed", "recording"):
        value = getattr(asked, name)
        if value is not None:
            options += [f"--{name}", str(value)]
    return options + (["--no-browser"] if asked.no_browser else [])


def _check_python(version):
    found, oldest = ".".join(map(str, version[:3])), ".".join(map(str, OLDEST))
    if tuple(version[:2]) < OLDEST:
        raise CannotBegin(f"this is Python {found}; call again with Python {oldest} or newer")
    for module in ("venv", "ensurepip"):
        if importlib.util.find_spec(module) is None:
            raise CannotBegin(
                f"this Python {found} has no {module} module; install it "
                "(on Debian or Ubuntu: sudo apt-get install python3-venv) and call again"
            )


def _stamp():
    try:
        found = json.loads(STAMP.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def _venv_works():
    if not PYTHON.exists():
        return False
    asked = [str(PYTHON), "-c", "import sys; print(*sys.version_info[:2])"]
    try:
        said = subprocess.run(asked, capture_output=True, text=True, check=False).stdout.split()
    except OSError:
        return False
    return said == [str(part) for part in sys.version_info[:2]]


def _make_venv():
    print(f"Making {_shown(VENV)} ...", flush=True)
    if VENV.exists():  # the Python it was made with has gone, or it was never finished
        shutil.rmtree(VENV, ignore_errors=True)
    made = subprocess.run(
        [sys.executable, "-m", "venv", str(VENV)], capture_output=True, text=True, check=False
    )
    if made.returncode != 0:
        shutil.rmtree(VENV, ignore_errors=True)
        last = _last_line(made.stderr or made.stdout)
        raise CannotBegin(
            f"the environment {_shown(VENV)} could not be made: {last}; on Debian or Ubuntu "
            "sudo apt-get install python3-venv may help"
        )


def _install(with_tests):
    if _quiet([str(PYTHON), "-m", "pip", "--version"]) != 0:
        _quiet([str(PYTHON), "-m", "ensurepip", "--upgrade"])
    print("Installing the pinned packages (some minutes the first time) ...", flush=True)
    asked = [
        str(PYTHON), "-m", "pip", "install", "--disable-pip-version-check", "--no-input",
        "-c", str(ROOT / "deploy" / "constraints.txt"), "-e", f"{ROOT}{'[test]' if with_tests else ''}",
    ]  # fmt: skip
    status = _logged(asked)
    if status != 0:
        raise CannotBegin(why_not_installed(LOG.read_text(encoding="utf-8", errors="replace")))


def why_not_installed(said):
    """Turn what pip said into one sentence."""
    where = f"all that pip said is in {_shown(LOG)}"
    if "No space left on device" in said:
        return f"the disk is full: free about 1 GB and call again ({where})"
    for sign in NETWORK_SIGNS:
        if sign in said:
            return f"the packages could not be fetched: check the network and call again ({where})"
    return f"pip could not install the packages: {_last_line(said)} ({where})"


def _check_opencv():
    tried = subprocess.run([str(PYTHON), "-c", "import cv2"], capture_output=True, text=True, check=False)
    if tried.returncode != 0:
        raise CannotBegin(why_no_opencv(tried.stderr))


def why_no_opencv(said):
    """Turn OpenCV's failure to start into one sentence that names the packages to install."""
    last = _last_line(said)
    if "cannot open shared object file" in last:
        library = last.split("ImportError:")[-1].split(":")[0].strip()
        return (
            f"OpenCV cannot start because this system lacks {library}; on Debian or Ubuntu: "
            f"sudo apt-get install {SYSTEM_LIBRARIES}, then call again"
        )
    return f"OpenCV cannot start: {last}"


def _logged(asked):
    """Run a long command: all it says into the log, its newest line on a terminal."""
    on_terminal = sys.stdout.isatty()
    width = shutil.get_terminal_size().columns - 1
    with LOG.open("w", encoding="utf-8") as log:
        running = subprocess.Popen(
            asked, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, errors="replace"
        )
        try:
            for line in running.stdout:
                log.write(line)
                if on_terminal:
                    print("\r" + line.strip()[:width].ljust(width), end="", flush=True)
        finally:
            if on_terminal:
                print("\r" + " " * width + "\r", end="", flush=True)
            if running.poll() is None and sys.exc_info()[0] is not None:
                running.terminate()
        return running.wait()


def _quiet(asked):
    return subprocess.run(asked, capture_output=True, check=False).returncode


def _go(asked, folder):
    """Hand over to the command. Where the system can, this process becomes it, so that signals reach it."""
    if folder is not None:
        os.chdir(folder)
    sys.stdout.flush()
    if not ON_WINDOWS:
        os.execv(asked[0], asked)  # the caller's own words, no shell in between
    try:
        return subprocess.call(asked)
    except KeyboardInterrupt:
        return 0


def _last_line(said):
    lines = [line.strip() for line in said.splitlines() if line.strip()]
    return lines[-1] if lines else "no reason was given"


def _shown(path):
    try:
        return str(path.relative_to(Path.cwd()))
    except ValueError:
        return str(path)


if __name__ == "__main__":
    sys.exit(main())
