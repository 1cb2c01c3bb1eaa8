"""The day's slip as the bench's memory keeps it: written as TOML, and read again."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import date, datetime

from models.doors import BadValue
from models.slip import Slip, checked_slip
from models.slip_weight import SlipMeasure
from watcher.desk.local_day import day_of
from watcher.desk.memory import BenchMemory
from watcher.desk.slip_reading import SlipMorning
from watcher.setup.toml_text import Value, toml_text
from watcher.storage.papers import Paper, PaperKind

PAPER_NAME = "slip"


def slip_for(bench_slip: Slip, sg: float) -> Slip:
    """Return the bench's slip with today's gravity; its cake stays as it is.

    Raises
    ------
    BadValue
        So thick a slip cannot give that cake.
    """
    return checked_slip(
        specific_gravity=round(sg, 4),
        cake_solids_fraction=bench_slip.cake_solids_fraction,
        solids_specific_gravity=bench_slip.solids_specific_gravity,
    )


def paper_text(morning: SlipMorning, slip: Slip) -> str:
    """Write the slip as TOML: the two figures that a bench goes by, and how they were measured."""
    words = morning.words
    measured: dict[str, Value | None] = {
        "measure": words.measure.value,
        "reading": words.reading,
        "baume_modulus": words.baume_modulus,
        "stirred": words.stirred,
        "temperature_c": words.temperature_c,
        "flow_s": words.flow_s,
        "cup": words.cup,
        "stood_s": words.stood_s,
        "stood_min": words.stood_min,
        "band": None if words.band is None else list(words.band),
        "flow_band_s": None if words.flow_band is None else list(words.flow_band),
    }
    poured = {"specific_gravity": slip.specific_gravity, "cake_solids_fraction": slip.cake_solids_fraction}
    given = {key: value for key, value in measured.items() if value is not None}
    return toml_text([("slip", poured), ("measured", given)])


@dataclass(frozen=True, slots=True)
class OwnBand:
    """The caster's own band as it was given with an earlier check, in the measure of that check."""

    low: float
    high: float
    flow_s: tuple[float, float] | None
    since: date


def own_band(paper: Paper | None, measure: SlipMeasure, baume_modulus: float | None) -> OwnBand | None:
    """Return the band that a kept slip was judged by, where it was read in the same measure."""
    if paper is None:
        return None
    kept = tomllib.loads(paper.text).get("measured", {})
    if (kept.get("measure"), kept.get("baume_modulus")) != (measure.value, baume_modulus):
        return None
    if "band" not in kept:
        return None
    low, high = kept["band"]
    flow = kept.get("flow_band_s")
    return OwnBand(low, high, None if flow is None else (flow[0], flow[1]), paper.kept_at.date())


def slip_of(paper: Paper, bench_slip: Slip) -> Slip:
    """Return the slip that a paper describes, with the grains of the bench's.

    Raises
    ------
    BadValue
        The paper was written for another body: its figures cannot be together with these grains.
    """
    poured = tomllib.loads(paper.text)["slip"]
    return checked_slip(
        specific_gravity=poured["specific_gravity"],
        cake_solids_fraction=poured["cake_solids_fraction"],
        solids_specific_gravity=bench_slip.solids_specific_gravity,
    )


def gravities(memory: BenchMemory) -> dict[str, str]:
    """Return the specific gravity of every slip that was kept, by its hash, as a caster would write it."""
    papers = memory.papers(PaperKind.SLIP, PAPER_NAME)
    return {
        paper.content_hash: f"{tomllib.loads(paper.text)['slip']['specific_gravity']:.3f}" for paper in papers
    }


def slips_of_today(
    memory: BenchMemory, bench_slip: Slip, now_s: float, now_at: datetime
) -> tuple[tuple[float, Slip], ...]:
    """Return the slips that were kept today, oldest first, each with the bench's second from which it counts.

    A paper that does not go with the bench's own body is passed over.
    """
    today = day_of(now_at, memory.zone)
    found = []
    for paper in reversed(memory.papers(PaperKind.SLIP, PAPER_NAME)):
        if day_of(paper.kept_at, memory.zone) != today:
            continue
        try:
            slip = slip_of(paper, bench_slip)
        except BadValue:
            continue
        found.append((now_s - (now_at - paper.kept_at).total_seconds(), slip))
    return tuple(found)
