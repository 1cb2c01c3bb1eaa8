"""Everything that a proof found, before it is put into words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from models.trial_table import TableRow
from watcher.proof.bars import Scored
from watcher.proof.edge_limit import EdgeLimit
from watcher.proof.level_score import LevelFigures
from watcher.proof.plain_times import PlainTimes
from watcher.proof.water_balance import ErrorCost


@dataclass(frozen=True, slots=True)
class WorstReading:
    """One of the worst readings with its picture. [mm]."""

    recording: str
    mould: str
    time_s: float
    read_mm: float
    true_mm: float
    jpeg: bytes


@dataclass(frozen=True, slots=True)
class Took:
    """Times of one kind over many frames: mean, median, nine in ten. [ms]."""

    mean_ms: float
    median_ms: float
    ninth_ms: float
    count: int

    def over(self, other: Took) -> tuple[float, float]:
        """Mean and median as multiples of another's."""
        return self.mean_ms / other.mean_ms, self.median_ms / other.median_ms


@dataclass(frozen=True, slots=True)
class RecordingProof:
    """One recording, judged.

    Attributes
    ----------
    scored : Scored
        What Tipbell came to.
    blob, edge : LevelFigures or None
        The plain baselines on the same frames, each with its own best constant taken off; None: the truth
        does not tell where the moulds are.
    times : PlainTimes
    edge_limits : tuple of EdgeLimit
    costs : tuple of ErrorCost
        One for each cast that became ready.
    worst : tuple of WorstReading
    decode, look : Took or None
    moulds, frames : int
    whole_s : float
        Time that the whole measurement took. [s]
    simulated : bool
        Drawn by the simulator rather than rendered or photographed.
    """

    scored: Scored
    blob: LevelFigures | None
    edge: LevelFigures | None
    times: PlainTimes
    edge_limits: tuple[EdgeLimit, ...]
    costs: tuple[ErrorCost, ...]
    worst: tuple[WorstReading, ...]
    decode: Took | None
    look: Took | None
    moulds: int
    frames: int
    whole_s: float
    simulated: bool = False


@dataclass(frozen=True, slots=True)
class SpeedRow:
    """Cost of looking at a drawn bench at rest.

    Attributes
    ----------
    width_px, height_px, moulds : int
    found : int
        Moulds whose hole was looked into in the last frame: only these cost.
    decode, look, advance : Took
    first_look_ms : float
        The first look, which searches the whole picture for tags. [ms]
    """

    width_px: int
    height_px: int
    moulds: int
    found: int
    decode: Took
    look: Took
    advance: Took
    first_look_ms: float


@dataclass(frozen=True, slots=True)
class StraightLine:
    """A straight line through measured points: y = start + slope x, with the slope's standard deviation."""

    start: float
    slope: float
    slope_sigma: float


@dataclass(frozen=True, slots=True)
class LongRun:
    """Many frames of a drawn bench, looked at one after the other in one process.

    Attributes
    ----------
    frames, moulds, casts : int
    cycle_frames : int
        Frames from one pour of a mould to its next: a shorter run does not tell what a day costs.
    seconds : float
        Processor time from JPEG to state, drawing left out. [s]
    memory_mb : tuple of (float, float)
        Frame and resident memory. [MB]
    frame_ms : tuple of (float, float)
        Frame and what a frame took about there. [ms]
    """

    frames: int
    moulds: int
    casts: int
    cycle_frames: int
    seconds: float
    memory_mb: tuple[tuple[float, float], ...]
    frame_ms: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class ServiceProof:
    """`tipbell watch` started once: when it answered, the processor time until then, its memory. [s, MB].

    `memory_mb` is resident memory once it answers, `memory_later_mb` the same after `later_s` at work.
    """

    answers_after_s: float
    worked_s: float
    memory_mb: float
    memory_later_mb: float
    later_s: float


FLAT_MB_PER_DAY = 1.0
"""Memory counts as flat when it surely grows by less a day (our choice): 1 MB a day is 365 MB in a year."""


@dataclass(frozen=True, slots=True)
class SoakProof:
    """Simulated days through the whole service, levels handed over instead of pictures.

    Attributes
    ----------
    days, moulds, casts, restarts : int
    unnoticed, invented : int
        True casts that the journal does not know; casts in it that never were.
    missed, false : int
        `ready` never called for a cast that was due; called where it was not.
    memory_mb : tuple of (float, float)
        Day and resident memory at its end. [MB]
    more_files : int
        Files open after the last day over those after the first.
    """

    days: int
    moulds: int
    casts: int
    unnoticed: int
    invented: int
    missed: int
    false: int
    restarts: int
    memory_mb: tuple[tuple[float, float], ...]
    more_files: int

    def growth(self) -> StraightLine | None:
        """Fit a straight line to the memory after the first day, which fills caches; None: too few days."""
        return straight_line(self.memory_mb[1:])

    def flat(self) -> bool | None:
        """Say whether memory is flat, twice the line's own uncertainty allowed for; None: not to be told."""
        line = self.growth()
        if line is None or abs(line.slope - FLAT_MB_PER_DAY) <= 2.0 * line.slope_sigma:
            return None
        return line.slope < FLAT_MB_PER_DAY


@dataclass(frozen=True, slots=True)
class SpeedProof:
    """All that was timed. `service` a sentence: it could not be started, and why."""

    rows: tuple[SpeedRow, ...]
    long_run: LongRun | None
    service: ServiceProof | str


@dataclass(frozen=True, slots=True)
class Proof:
    """The whole proof. `speed`, `soak` None, `trials` empty: not asked for. `soak` a sentence: why not."""

    version: str
    machine: str
    recordings: tuple[RecordingProof, ...]
    trials: tuple[TableRow, ...]
    trial_seed: int
    speed: SpeedProof | None
    soak: SoakProof | str | None = None


def straight_line(points: Sequence[tuple[float, float]]) -> StraightLine | None:
    """Fit a straight line by least squares; None below three points or without spread."""
    n = len(points)
    if n < 3:
        return None
    mean_x, mean_y = (sum(point[i] for point in points) / n for i in (0, 1))
    spread = sum((x - mean_x) ** 2 for x, _ in points)
    if spread <= 0.0:
        return None
    slope = sum((x - mean_x) * (y - mean_y) for x, y in points) / spread
    start = mean_y - slope * mean_x
    left = sum((y - start - slope * x) ** 2 for x, y in points)
    return StraightLine(start, slope, (left / (n - 2) / spread) ** 0.5)
