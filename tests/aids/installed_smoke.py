"""Does an installed Tipbell stand on its own? `python3 installed_smoke.py ROOT RECORDING`, from anywhere.

ROOT is where the installer put it; RECORDING any recording. The page is asked for what only a whole package
has: templates, static files, profiles, migrations. Standard library only.
"""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import tempfile
from pathlib import Path
from urllib.request import urlopen

WHERE = """
import json, models, watcher
from importlib.resources import files
profiles = sorted(one.name for one in (files("models") / "profiles").iterdir())
print(json.dumps({"models": models.__file__, "watcher": watcher.__file__, "profiles": profiles}))
"""


def main(root: Path, recording: Path) -> None:
    """Try it all; any failure ends with a trace."""
    program = root / "usr" / "local" / "bin" / "tipbell"
    python = root / "opt" / "tipbell" / "current" / "bin" / "python"
    clean = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    with tempfile.TemporaryDirectory() as elsewhere:

        def run(*asked: object) -> str:
            done = subprocess.run(
                list(map(str, asked)), capture_output=True, text=True, cwd=elsewhere, env=clean
            )
            assert done.returncode == 0, f"{asked}: {done.stderr[-500:]}"
            return done.stdout

        where = json.loads(run(python, "-c", WHERE))
        for name in ("models", "watcher"):
            assert Path(where[name]).resolve().is_relative_to(root.resolve()), where[name]
        print(f"ours: models and watcher lie in the release; {len(where['profiles'])} profiles")
        bill = json.loads(run(program, "parts", "--json"))
        print(f"parts: {len(bill['components'])}")
        check_memory(run, program, Path(elsewhere))
        check_page(
            [str(program), "demo", "--recording", str(recording), "--port", "0", "--no-browser"],
            elsewhere,
            clean,
        )


def check_memory(run, program: Path, home: Path) -> None:
    """A journal is made by the migrations that came along, and copied."""
    (home / "tipbell.toml").write_text(
        f'[camera]\naddress = "{home}"\nfolders = ["{home}"]\n', encoding="utf-8"
    )
    subprocess.run([str(program), "check"], cwd=home, capture_output=True, check=False)
    print("memory:", run(program, "backup", "--to", home / "copy.db").strip())


def check_page(command: list[str], home: str, environment: dict[str, str]) -> None:
    """The demo serves its page, with all that the page names, and stops when told."""
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=home, env=environment) as process:
        try:
            assert process.stdout is not None
            found = None
            while found is None:
                line = process.stdout.readline()
                assert line, "the demo ended before it named its page"
                found = re.search(r"http://\S+/", line)
            address = found.group()
            page = ask(address)
            named = set(re.findall(r'(?:href|src)="((?:\./)?static/[^"?#]+)', page))
            assert named, "the page names no static file"
            for path in sorted(named):
                assert ask(address + path.removeprefix("./"))
            moulds = json.loads(ask(address + "bench.json"))["moulds"]
            assert moulds
            process.send_signal(signal.SIGTERM)
            assert process.wait(15) == 0
        finally:
            process.kill()
    print(f"page: {len(page)} characters, {len(named)} static files, {len(moulds)} moulds")


def ask(address: str) -> str:
    """Fetch one thing from the page."""
    with urlopen(address, timeout=15) as answer:
        assert answer.status == 200
        return answer.read().decode("utf-8", "replace")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]).resolve())
