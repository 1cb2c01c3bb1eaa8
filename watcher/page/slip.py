"""The slip on the page: check it, hear what to do, keep it as the day's slip."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from typing import Annotated, Any, Self, cast

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field, StringConstraints, model_validator

from models.doors import BadValue
from models.slip_weight import SlipMeasure
from watcher.desk.local_day import day_of
from watcher.desk.memory import BenchMemory
from watcher.desk.slip_answer import as_json
from watcher.desk.slip_paper import PAPER_NAME, OwnBand, own_band, paper_text, slip_for, slip_of
from watcher.desk.slip_reading import SlipMorning, SlipWords, morning_of
from watcher.page.moments import iso, iso_or_none
from watcher.page.port import BenchPort
from watcher.page.refusals import MEMORY_POST_REFUSALS, MEMORY_REFUSALS, PageRefusal
from watcher.page.saying import PLAIN
from watcher.page.shapes_day import PastCheckShape, SlipCheckShape, SlipShape
from watcher.page.telling import reclaim_view
from watcher.records.bench import Bench
from watcher.storage.papers import Paper, PaperKind

SHOWN = 120
"""Past checks that are shown: a third of a year of mornings."""

Number = Annotated[float | None, Field(ge=-1e6, le=1e6)]


class SlipIn(BaseModel):
    """What was measured, as it was taken; `keep` makes it the day's slip."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)

    measure: SlipMeasure
    reading: Annotated[float, Field(ge=0, le=1e6)]
    baume_modulus: Number = None
    stirred: bool = False
    temperature_c: Number = None
    flow_s: Number = None
    cup: Annotated[str, StringConstraints(max_length=40, pattern=PLAIN)] = ""
    stood_s: Number = None
    stood_min: Number = None
    band: tuple[float, float] | None = None
    flow_band: tuple[float, float] | None = None
    tank_l: Number = None
    thicker: Number = None
    keep: bool = False

    @model_validator(mode="after")
    def _stirred_to_keep(self) -> Self:
        if self.keep and not self.stirred:
            raise ValueError("stir the tank through, measure it again, then keep it")
        return self


def slip_routes(port: BenchPort, memory: BenchMemory) -> APIRouter:
    """Return the routes of the slip."""
    router = APIRouter()

    @router.get("/slip.json", responses=MEMORY_REFUSALS, summary="The slip in use, and past checks")
    def slip() -> SlipShape:
        return slip_view(port, memory)

    @router.post("/slip.json", responses=MEMORY_POST_REFUSALS, summary="Check the slip; keep it on wish")
    def check(given: SlipIn) -> SlipCheckShape:
        bench = port.bench()
        words = _words(given)
        papers = memory.papers(PaperKind.SLIP, PAPER_NAME)
        own = None
        if words.band is None and words.flow_band is None:
            own = own_band(papers[0] if papers else None, words.measure, words.baume_modulus)
        if own is not None:
            words = replace(words, band=(own.low, own.high), flow_band=own.flow_s)
        try:
            morning = morning_of(words, bench.slip)
            version = _kept(port, memory, bench, morning) if given.keep else None
        except BadValue as fault:
            raise PageRefusal(422, "cannot_be", str(fault)) from None
        return _checked(morning, version, own)

    return router


def slip_view(port: BenchPort, memory: BenchMemory) -> SlipShape:
    """Return the slip that new casts go by, and the checks that were kept."""
    bench = port.bench()
    papers = memory.papers(PaperKind.SLIP, PAPER_NAME)
    today = day_of(port.now(), memory.zone)
    kept = papers[0] if papers and day_of(papers[0].kept_at, memory.zone) == today else None
    slip = bench.slip
    if kept is not None:
        try:
            slip = slip_of(kept, bench.slip)
        except BadValue:
            kept = None
    return {
        "now": iso(port.now()),
        "zone": memory.zone,
        "specific_gravity": slip.specific_gravity,
        "cake_solids_fraction": slip.cake_solids_fraction,
        "water_per_cake": round(slip.water_per_cake, 4),
        "kept_at": iso_or_none(kept.kept_at if kept is not None else None),
        "checks": [_past(paper) for paper in papers[:SHOWN]],
        "last": tomllib.loads(papers[0].text).get("measured", {}) if papers else {},
        "reclaim": reclaim_view(memory),
    }


def _words(given: SlipIn) -> SlipWords:
    return SlipWords(
        given.measure,
        given.reading,
        given.baume_modulus,
        given.stirred,
        given.temperature_c,
        given.flow_s,
        given.stood_s,
        given.stood_min,
        given.cup or None,
        given.band,
        given.flow_band,
        given.tank_l,
        given.thicker,
    )


def _kept(port: BenchPort, memory: BenchMemory, bench: Bench, morning: SlipMorning) -> int:
    """Keep it, and let the running bench go by it for casts that begin from now on."""
    slip = slip_for(bench.slip, morning.sg)
    why = "" if morning.verdict is None else morning.verdict.verdict.value
    paper = memory.keep(PaperKind.SLIP, PAPER_NAME, paper_text(morning, slip), why=why, at=port.now())
    port.use_slip(slip)
    return paper.version


def _checked(morning: SlipMorning, version: int | None, own: OwnBand | None) -> SlipCheckShape:
    answer: dict[str, Any] = {
        **as_json(morning),
        "kept_version": version,
        "own_band_since": None if own is None else own.since.isoformat(),
    }
    return cast(SlipCheckShape, answer)


def _past(paper: Paper) -> PastCheckShape:
    text = tomllib.loads(paper.text)
    measured = text.get("measured", {})
    return {
        "version": paper.version,
        "kept_at": iso(paper.kept_at),
        "specific_gravity": text["slip"]["specific_gravity"],
        "verdict": paper.why,
        "temperature_c": measured.get("temperature_c"),
        "flow_s": measured.get("flow_s"),
    }
