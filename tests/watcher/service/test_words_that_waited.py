"""What was said to a bench that was away counts from when it was said, not from when it is heard."""

from __future__ import annotations

from datetime import timedelta

from bench_looks import at, run, tick
from casting_bench import casting

from watcher.pipeline import advance
from watcher.records.bench import Bench, Stage
from watcher.records.said import Said, What
from watcher.service.sharing import _Inbox
from watcher.storage.words import Word


def taken(present: Bench, age_s: float, what: What = What.TIPPED) -> tuple[str, list[Said]]:
    heard: list[Said] = []
    inbox = _Inbox(lambda: present, heard.append, lambda: (present.now_s, present.now_at))
    cast = present.moulds["beaker"].cast
    assert cast is not None
    return inbox.take(Word("bench", what, "beaker", cast.cast_id, age_s=age_s)), heard


def test_a_tip_that_was_said_while_the_bench_was_away_is_dated_when_it_was_said() -> None:
    present, _ = run(casting(ready_s=3000, latest_s=4000), [tick(second) for second in range(51, 900, 50)])
    assert present.now_s == 851
    answer, (said,) = taken(present, 300.0)
    assert answer == "" and said.at_s == 551 and present.now_at - said.at == timedelta(seconds=300)
    after = advance(present, said).bench
    cast = after.moulds["beaker"].cast
    assert after.moulds["beaker"].stage is Stage.TIPPED
    assert cast is not None and cast.tipped_s == 551 and cast.tipped_at == at(551)
    assert (after.now_s, after.now_at) == (851, at(851)), "the bench's own time does not go back"


def test_no_tip_comes_before_its_pour_and_what_is_fresh_is_now() -> None:
    present, _ = run(casting(ready_s=3000, latest_s=4000), [tick(second) for second in range(51, 900, 50)])
    cast = present.moulds["beaker"].cast
    assert cast is not None
    _, (said,) = taken(present, 10_000.0)
    assert said.at_s == cast.fillings[-1].latest_s
    _, (said,) = taken(present, 2.0)
    assert said.at_s == present.now_s
    _, (said,) = taken(present, 300.0, What.NOTE)
    assert said.at_s == present.now_s
