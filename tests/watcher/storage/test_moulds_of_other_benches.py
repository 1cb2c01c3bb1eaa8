"""A mould that was set up and cast on one bench is brought onto another with its figures and its past."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from bench_stories import START, story
from database_server import DatabaseServer

from models.mould import checked_mould
from models.profile_text import ProfileCard, ProfileFile, profile_from_text, profile_to_text
from watcher.page.setup.port import Unfit
from watcher.records.afterwards import FindingKind
from watcher.records.bench import Step
from watcher.records.kept import KeptCast
from watcher.records.said import Said, What
from watcher.service.setting_up_shared import Brings, shown_elsewhere
from watcher.service.sharing import MouldsElsewhere
from watcher.setup.lineage import Lineage, compared
from watcher.storage.afterwards import Afterwards
from watcher.storage.awaiting import Awaiting
from watcher.storage.carrying import Sender
from watcher.storage.courier import Courier
from watcher.storage.journal import Journal, open_journal
from watcher.storage.link import Link
from watcher.storage.papers import PaperKind

AHEAD_S = 5000.0
"""The second bench's seconds are so far ahead of the first one's."""


def profile(wall_mm: float, card: int = 7) -> str:
    mould = checked_mould("beaker", [[0, 70], [90, 56]], target_wall_mm=wall_mm)
    return profile_to_text(ProfileFile(mould, ProfileCard(card, 30.0, (0.0, 60.0, 0.0))))


class Bench:
    """A bench with its journal and what carries it across."""

    def __init__(self, folder: Path, bench_id: str, url: str) -> None:
        self.journal = open_journal(f"sqlite:///{folder / bench_id / 'journal.db'}", bench_id)
        assert self.journal.path is not None
        awaiting = Awaiting(self.journal.path, bench_id)
        self.courier = Courier(self.journal, awaiting, Link(url), Sender(bench_id, awaiting.home_id))
        self.link = Link(url)
        self.elsewhere = MouldsElsewhere(self.link, bench_id)
        self.used: list[str] = []

    def keep(self, wall_mm: float, card: int = 7) -> None:
        self.journal.keep(PaperKind.PROFILE, "beaker", profile(wall_mm, card), why="typed", at=START)
        self.carry()

    def carry(self) -> None:
        while self.courier.once().rows:
            pass

    def bring(self, bench_id: str, choice: str = ""):
        def use(text: str) -> tuple[str, ...]:
            self.used.append(text)
            own = replace(profile_from_text(text, source="x"), card=ProfileCard(9, 30.0, (0.0, 60.0, 0.0)))
            self.journal.keep(PaperKind.PROFILE, "beaker", profile_to_text(own), why="brought", at=START)
            return ("used",)

        now = (AHEAD_S, START)
        return Brings(self.elsewhere, self.journal, lambda: now, use).bring(bench_id, "beaker", choice)

    def walls(self) -> list[float]:
        versions = self.journal.versions(PaperKind.PROFILE, "beaker")
        read = [
            profile_from_text(paper.text, source="x").mould.target_wall_mm for paper in reversed(versions)
        ]
        return [wall[0] for wall in read if wall is not None]

    def close(self) -> None:
        self.courier.close()
        self.link.close()
        self.journal.close()


@pytest.fixture
def benches(tmp_path: Path, database_server: DatabaseServer):
    url = database_server.fresh()
    made = [Bench(tmp_path, name, url) for name in ("north", "south")]
    yield made
    for one in made:
        one.close()


def cast_some(bench: Bench, steps: int) -> None:
    told = None
    for told in story(steps, bench_id=bench.journal.bench_id):
        bench.journal.add(told.step, told.said, told.letters)
    assert told is not None
    bench.journal.add(Step(told.step.bench), durable=True)
    bench.carry()


def ended(journal: Journal) -> list[KeptCast]:
    return [one for one in journal.casts("beaker") if one.tipped_s is not None]


def test_a_mould_comes_with_its_versions_and_every_cast_each_at_its_own_moment(benches: list[Bench]) -> None:
    north, south = benches
    north.keep(2.4)
    north.keep(2.6)
    cast_some(north, 39)  # one cast is tipped, none stands in the beaker
    (there,) = ended(north.journal)
    Afterwards(north.journal).find(there.cast_id, FindingKind.STUCK, START)
    north.journal.add(
        Step(list(story(39, bench_id="north"))[-1].step.bench),
        Said(What.CAME_OUT_RIGHT, 190.0, START + timedelta(seconds=190), "beaker"),
        durable=True,
    )
    north.carry()
    (shown,) = [one for one in shown_elsewhere(south.elsewhere) if one.name == "beaker"]
    assert (shown.bench_id, shown.versions, shown.casts, shown.casting) == ("north", 2, 1, False)

    told = south.bring("north")
    assert told.said == ("used", "beaker: one cast came along")
    assert south.walls()[:2] == [2.4, 2.6] and south.walls()[-1] == 2.6
    (here,) = ended(south.journal)
    (there,) = ended(north.journal)
    assert (here.cast_id, here.began_at, here.tipped_at) == (there.cast_id, there.began_at, there.tipped_at)
    assert here.verdict == "came_out_right"
    assert here.drop_mm == there.drop_mm and there.drop_mm is not None
    # the story ends at 190 s on north's clock, which is 09:03:10 there and by south's clock 5190 s
    assert here.began_s - there.began_s == pytest.approx(AHEAD_S, abs=1e-6)
    assert [f.latest_s - here.began_s for f in here.fillings] == pytest.approx(
        [f.latest_s - there.began_s for f in there.fillings]
    )
    assert [one.kind for one in Afterwards(south.journal).findings()] == [FindingKind.STUCK]
    again = south.bring("north")
    assert again.said[-1] == "beaker: goes by its own profile; no cast that is new here"
    assert len(ended(south.journal)) == 1
    south.carry()  # and what came is the second bench's own too: the shared database takes it


def test_a_mould_that_is_under_cast_elsewhere_is_not_brought(benches: list[Bench]) -> None:
    north, south = benches
    north.keep(2.4)
    cast_some(north, 10)
    with pytest.raises(Unfit, match="under cast on bench north; bring it once it is empty there"):
        south.bring("north")
    with pytest.raises(Unfit, match="knows no mould"):
        south.bring("east")


def test_what_both_have_changed_is_said_and_nothing_of_it_is_lost(benches: list[Bench]) -> None:
    north, south = benches
    cast_some(north, 39)
    cast_some(south, 39)
    north.keep(2.4)
    south.bring("north")
    south.carry()
    south.keep(2.8, card=9)
    north.keep(2.0)
    told = south.bring("north")
    assert told.said == () and "both benches have changed beaker" in told.question
    assert south.walls()[-1] == 2.8, "asked first, nothing was changed"
    assert south.bring("north", "ours").question == ""
    assert south.walls()[-2:] == [2.0, 2.8], "theirs is kept, ours counts"
    south.carry()
    # north now takes south's: it has gone on from what both knew, so nobody need be asked
    assert north.bring("south").question == ""
    assert north.walls()[-1] == 2.8 and 2.0 in north.walls()
    north.keep(3.0)
    south.keep(3.4, card=9)
    assert south.bring("north", "theirs").said[0] == "used"
    assert south.walls()[-1] == 3.0 and 3.4 in south.walls()


@pytest.mark.parametrize(
    ("ours", "theirs", "stand"),
    [
        ([], [2.4], Lineage.NEW),
        ([2.4], [2.4], Lineage.SAME),
        ([2.4], [2.4, 2.6], Lineage.THEIRS),
        ([2.4, 2.6], [2.4], Lineage.OURS),
        ([2.4, 2.6], [2.4, 2.8], Lineage.BOTH),
    ],
)
def test_where_a_mould_stands_is_no_change_of_it(
    ours: list[float], theirs: list[float], stand: Lineage
) -> None:
    here = [profile(wall, card=1) for wall in ours]
    assert compared(here, [profile(wall, card=2) for wall in theirs]) is stand
