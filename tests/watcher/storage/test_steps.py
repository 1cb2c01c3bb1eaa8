"""What was seen and said after the tip is there after a restart, and stays with the cast for good."""

from __future__ import annotations

from pathlib import Path

from bench_looks import bench, look, run, say

from watcher.pipeline import advance, new_bench, resumed
from watcher.records.after_tip import AfterStep
from watcher.records.bench import Bench, Stage
from watcher.records.readings import Contents
from watcher.records.said import What
from watcher.storage.journal import Journal, open_journal

CAST = [look(0, contents=Contents.EMPTY), *(look(25.0 * i, level_mm=2.0 + 0.1 * i) for i in range(1, 40))]
TURNED = [look(1000 + 25 * i, contents=Contents.AWAY) for i in range(20)]
STANDS = [look(1500 + 25 * i, contents=Contents.EMPTY) for i in range(4)]


def opened(folder: Path) -> Journal:
    return open_journal(f"sqlite:///{folder / 'journal.db'}", "bench")


def told(journal: Journal, present: Bench, inputs) -> Bench:
    for given in inputs:
        step = advance(present, given)
        journal.add(step, given if hasattr(given, "what") else None)
        present = step.bench
    journal.write(lambda connection: None)
    return present


def again(journal: Journal) -> Bench:
    restored = journal.restore()
    return resumed(bench(), restored.moulds, restored.alerts, 0.0)


def test_a_mould_that_drains_goes_on_draining_after_a_restart(tmp_path: Path) -> None:
    journal = opened(tmp_path)
    told(journal, bench(), [*CAST, *TURNED])
    journal.close()
    journal = opened(tmp_path)
    present = again(journal)
    assert present.moulds["beaker"].stage is Stage.DRAINING
    present = told(journal, present, [*STANDS, say(1700, What.SPARE_CUT)])
    state = present.moulds["beaker"]
    assert [noted.step for noted in state.cast.after.noted] == [
        AfterStep.INVERTED,
        AfterStep.UPRIGHT,
        AfterStep.SPARE_CUT,
    ]
    journal.close()


def test_what_was_said_before_a_restart_can_still_be_taken_back(tmp_path: Path) -> None:
    journal = opened(tmp_path)
    told(journal, bench(), [*CAST, *TURNED, *STANDS, say(1700, What.SPARE_CUT)])
    journal.close()
    journal = opened(tmp_path)
    present, events = run(again(journal), [say(1800, What.TAKE_BACK)])
    journal.close()
    assert events[-1].detail == "spare_cut"
    assert present.moulds["beaker"].cast.after.when(AfterStep.SPARE_CUT) is None
    assert present.moulds["beaker"].stage is Stage.UPRIGHT


def test_a_cast_that_is_over_keeps_its_steps(tmp_path: Path) -> None:
    journal = opened(tmp_path)
    said = [say(1700, What.SPARE_CUT), say(4000, What.DEMOULDED)]
    emptied = [look(4010, contents=Contents.EMPTY), look(4030, contents=Contents.EMPTY)]
    present = told(journal, bench(), [*CAST, *TURNED, *STANDS, *said, *emptied])
    (kept,) = journal.casts()
    journal.close()
    assert present.moulds["beaker"].cast is None
    assert kept.after.when(AfterStep.DEMOULDED).at_s == 4000
    assert [noted.said for noted in kept.after.noted] == [False, False, True, True]


def test_a_pour_that_was_said_by_mistake_is_no_cast(tmp_path: Path) -> None:
    journal = opened(tmp_path)
    empty = look(0, contents=Contents.EMPTY)
    told(journal, new_bench(bench().layout, bench().slip), [empty, say(50, What.FILLED)])
    assert len(journal.casts()) == 1
    journal.close()
    journal = opened(tmp_path)
    present = told(journal, bench(), [empty, say(50, What.FILLED), say(60, What.TAKE_BACK)])
    assert present.moulds["beaker"].cast is None
    assert journal.casts() == ()
    journal.close()
