"""Simulated days through the whole service, for the bars on memory and on casts that are lost."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

from watcher.commands.soak_run import Soak, Soaking
from watcher.proof.results import SoakProof

MOULDS = 4
SEED = 7


def soak_days(days: int, advanced: Callable[[], None] = lambda: None) -> SoakProof | str:
    """Let simulated days pass, levels handed over instead of pictures, the service started again and again.

    Returns
    -------
    SoakProof or str
        A sentence where this system does not tell what is to be measured.
    """
    memory: list[tuple[float, float]] = []
    files: list[int] = []
    with tempfile.TemporaryDirectory(prefix="tipbell-soak-") as folder:
        soaking = Soaking(Soak(days, MOULDS, SEED, drawn=0), Path(folder))
        try:
            for day in soaking.days():
                memory.append((float(day.day + 1), day.memory_mb))
                files.append(day.open_files)
                soaking.tally.remarks.clear()
                advanced()
        except FileNotFoundError as fault:
            if not str(fault.filename).startswith("/proc"):
                raise
            return "this system does not tell a process's memory"
        tally = soaking.tally
        return SoakProof(
            days,
            MOULDS,
            tally.casts,
            tally.unnoticed,
            tally.invented,
            tally.missed,
            tally.false,
            soaking.restarts,
            tuple(memory),
            files[-1] - files[0],
        )
