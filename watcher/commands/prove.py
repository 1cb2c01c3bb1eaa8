"""`tipbell prove`: every figure that Tipbell claims, measured anew and written down beside its bar."""

from __future__ import annotations

import json
import os
import platform
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console
from rich.progress import Progress

import watcher
from models.trial_table import TableRow, calibration_table
from watcher.commands.prove_drawn import write_drawn
from watcher.commands.prove_recording import judge_recording
from watcher.commands.prove_service import start_once
from watcher.commands.prove_soak import soak_days
from watcher.commands.prove_speed import time_benches, time_long_run
from watcher.commands.refused import Refused
from watcher.proof.readme_block import NoMarks, readme_block, with_block
from watcher.proof.report import report, tables_only
from watcher.proof.report_files import as_markdown, write_report
from watcher.proof.results import Proof, RecordingProof, SoakProof, SpeedProof
from watcher.proof.summary import summary

ROOT = Path(watcher.__file__).resolve().parent.parent
TRIAL_SEED = 20
DRAWN_NAME = "drawn bench"


@dataclass(frozen=True, slots=True)
class ProofAsked:
    """What is to be proved.

    Attributes
    ----------
    out : Path
        Folder for the report.
    recordings : tuple of Path
        Folders of recordings, or folders that hold some.
    drawn : bool
        Judge a bench of the simulator as well.
    casts : int
        Drawn casts for each state of knowledge; 0: none.
    speed : bool
        Time looks, the service's start and a long run.
    long_frames : int
        Frames of the long run; 5,760 is a day at one every five seconds.
    soak_days : int
        Simulated days through the whole service; 0: none.
    readme : bool
        Write the figures into README and `deploy`.
    as_json : bool
        Print the summary.
    """

    out: Path
    recordings: tuple[Path, ...]
    drawn: bool
    casts: int
    speed: bool
    long_frames: int
    soak_days: int
    readme: bool
    as_json: bool


def prove(asked: ProofAsked) -> None:
    """Measure everything asked for and write the report.

    Raises
    ------
    RecordingError, Refused
        Each with one sentence; nothing is written then.
    """
    folders = _recording_folders(asked.recordings)
    if asked.readme:
        _readme_marks()
    try:
        asked.out.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise Refused(
            f"{asked.out} cannot be made a folder ({fault.strerror}); give one to write to"
        ) from fault
    # first, while this process has grown by nothing else
    soak = _soak(asked.soak_days)
    proof = Proof(
        watcher.__version__,
        _machine(),
        _judged(folders, asked.drawn),
        _trials(asked.casts),
        TRIAL_SEED,
        _speed(asked.long_frames, folders[0]) if asked.speed else None,
        soak,
    )
    blocks = report(proof)
    paths = write_report(blocks, asked.out)
    summed = summary(proof)
    text = json.dumps(summed, indent=2) + "\n"
    (asked.out / "summary.json").write_text(text, encoding="utf-8")
    if asked.readme:
        _keep(text, as_markdown(tables_only(proof)), readme_block(summed))
    if asked.as_json:
        print(text, end="")
    else:
        _tell(summed, paths)


def _recording_folders(given: tuple[Path, ...]) -> tuple[Path, ...]:
    folders: list[Path] = []
    for path in given:
        if (path / "recording.toml").exists():
            folders.append(path)
            continue
        inside = sorted(found.parent for found in path.glob("*/recording.toml"))
        if not inside:
            raise Refused(f"{path} is no recording and holds none; give a folder with a recording.toml")
        folders += inside
    names = [folder.resolve().name for folder in folders]
    doubled = next((name for name in names if names.count(name) > 1), None)
    if doubled is not None:
        raise Refused(f"two recordings are called {doubled}; give each folder a name of its own")
    return tuple(folders)


def _judged(folders: tuple[Path, ...], drawn: bool) -> tuple[RecordingProof, ...]:
    found = []
    for folder in folders:
        with _counted(f"measuring {folder.name}") as advanced:
            found.append(judge_recording(folder, advanced=advanced))
    if drawn:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name) / DRAWN_NAME
            with _counted("drawing a bench"):
                write_drawn(folder)
            with _counted("measuring it") as advanced:
                found.append(judge_recording(folder, simulated=True, advanced=advanced))
    return tuple(found)


def _trials(casts: int) -> tuple[TableRow, ...]:
    if casts == 0:
        return ()
    with _counted(f"fitting {4 * casts} drawn casts"):
        return calibration_table(casts, TRIAL_SEED)


def _speed(long_frames: int, recording: Path) -> SpeedProof:
    with _counted("timing looks at drawn benches") as advanced:
        rows = time_benches(advanced)
    with _counted(f"a long run of {long_frames} frames") as advanced:
        long_run = time_long_run(long_frames, advanced) if long_frames else None
    with _counted("starting the service"):
        return SpeedProof(rows, long_run, start_once(recording))


def _soak(days: int) -> SoakProof | str | None:
    if days == 0:
        return None
    with _counted(f"letting {days} simulated days pass through the service") as advanced:
        return soak_days(days, advanced)


def _machine() -> str:
    python = platform.python_version()
    return f"{os.cpu_count()} cores ({platform.machine()}), {platform.system()}, Python {python}"


def _readme_marks() -> None:
    try:
        with_block((ROOT / "README.md").read_text(encoding="utf-8"), "")
    except (NoMarks, OSError) as fault:
        raise Refused(str(fault)) from None


def _keep(data: str, tables: str, block: str) -> None:
    """Write what the repository keeps: the data, the tables, and the README's block."""
    (ROOT / "deploy" / "accuracy.json").write_text(data, encoding="utf-8")
    (ROOT / "deploy" / "ACCURACY.md").write_text(tables, encoding="utf-8")
    readme = ROOT / "README.md"
    readme.write_text(with_block(readme.read_text(encoding="utf-8"), block), encoding="utf-8")


def _tell(summed: dict[str, object], paths: tuple[Path, Path]) -> None:
    bars = summed["bars"]
    assert isinstance(bars, list)
    for bar in bars:
        print(f"{bar['stands']:10s} {bar['what']}: {bar['found_words']} (must be {bar['must']})")
    print(f"the whole report: {paths[0]} and {paths[1]}")


@contextmanager
def _counted(what: str) -> Iterator[Callable[[], None]]:
    """Say what is being done, and count along on a terminal."""
    console = Console(stderr=True)
    if not console.is_terminal:
        print(f"tipbell: {what}", file=sys.stderr, flush=True)
    with Progress(console=console, disable=not console.is_terminal, transient=True) as progress:
        task = progress.add_task(what, total=None)
        yield lambda: progress.advance(task)
