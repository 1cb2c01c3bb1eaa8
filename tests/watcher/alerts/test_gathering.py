"""Moulds that come together share one message, in the order of tipping; a class gets one call, not ten."""

from __future__ import annotations

from dataclasses import replace

from bench_looks import at, bench, run_notices, tick
from casting_bench import casting

from models.mould import checked_mould
from models.slip import Slip
from watcher.alerts.gathering import TOGETHER_S, followers, letter_of, unannounced
from watcher.pipeline import new_bench
from watcher.records.bench import CallRules
from watcher.records.layout import BenchLayout, PlacedMould
from watcher.records.letters import Urgency
from watcher.records.notices import Alert, Kind, Notice, Why

POTS = ("beaker", "cream jug", "planter", "bowl", "mug", "saucer", "vase", "tray", "tumbler", "egg cup")


def class_of(ready_s):
    """One pot for each moment, all full since 50 s."""
    profile = {name: checked_mould(name, [[0, 60], [90, 60]], target_wall_mm=2.4) for name in POTS}
    layout = BenchLayout("bench", None, (), tuple(PlacedMould(name, profile[name]) for name in POTS))
    present = new_bench(layout, Slip(1.76, 0.63), bench_id="bench")
    for name, moment_s in zip(POTS, ready_s, strict=False):
        present = casting(ready_s=moment_s, latest_s=1e6, mould=name, present=present)
    # nobody is asked again, and nobody misses a reading: only the first calls are of interest
    return replace(present, rules=CallRules(again_min=(), blind_min=60.0))


class Post:
    """What would leave by one phone, as the service gathers it."""

    def __init__(self):
        self.announced, self.letters = {}, []

    def take(self, present, notices):
        now_s = present.now_s
        left = unannounced(notices, self.announced, now_s)
        if not left:
            return
        after_them = followers(left, present)
        for one in after_them:
            self.announced[one.alert_id] = (one.call_s - TOGETHER_S, one.call_s + TOGETHER_S)
        self.letters.append((now_s, letter_of(left, after_them, present, "phone")))


def posted(present, inputs):
    post = Post()
    for given in inputs:
        present, notices = run_notices(present, [given])
        post.take(present, [notice for _, notice in notices])
    return post.letters


def readies(letters):
    return [(at_s, letter) for at_s, letter in letters if letter.urgency is not Urgency.QUIET]


def test_a_class_of_ten_gets_one_call_in_the_order_of_tipping():
    ready_s = [2000 + 29 * (7 * i % 10) for i in range(10)]
    letters = posted(class_of(ready_s), map(tick, range(51, 2400)))
    ((called_s, letter),) = readies(letters)
    assert called_s == min(ready_s)
    order = [name for _, name in sorted(zip(ready_s, POTS, strict=True))]
    lines = letter.text.splitlines()
    assert [line.split(" ", 1)[1].split(":")[0] for line in lines] == order
    assert lines[0] == f"1 {order[0]}: tip now, wall about 1.0 mm."
    # ready at 2261 s: 8:00 and 37 min
    assert lines[-1] == f"10 {order[-1]}: tip at 08:37."
    assert letter.title == f"{order[0]}, {order[1]}, {order[2]} and 7 more"
    assert len(letter.alert_ids) == 10
    soon = [letter for _, letter in letters if letter.urgency is Urgency.QUIET]
    assert len(soon) == 1


def test_moulds_far_apart_are_each_called_for_themselves():
    letters = readies(posted(class_of([2000, 2100, 2250]), map(tick, range(51, 2400))))
    assert [(at_s, letter.title) for at_s, letter in letters] == [
        (2000, "beaker: ready"), (2100, "cream jug: ready"), (2250, "planter: ready"),
    ]  # fmt: skip


def test_no_call_lies_more_than_five_minutes_ahead_of_its_mould():
    ready_s = [2000 + 50 * i for i in range(10)]
    letters = readies(posted(class_of(ready_s), map(tick, range(51, 2600))))
    assert [at_s for at_s, _ in letters] == [2000, 2350]
    assert len(letters[0][1].text.splitlines()) == 7


def test_a_mould_that_comes_later_than_announced_is_called_after_all():
    present = class_of([2000, 2040])
    post = Post()
    for second in range(51, 2600):
        if second == 2010:  # new readings: the jug takes longer than it was thought to
            state = present.moulds["cream jug"]
            tip = replace(state.cast.estimate, ready_s=2400.0)
            state = replace(state, cast=replace(state.cast, estimate=tip))
            present = replace(present, moulds={**present.moulds, "cream jug": state})
        present, notices = run_notices(present, [tick(second)])
        post.take(present, [notice for _, notice in notices])
    assert [(at_s, letter.title) for at_s, letter in readies(post.letters)] == [
        (2000, "beaker, cream jug"), (2400, "cream jug: ready"),
    ]  # fmt: skip


def test_an_announced_mould_that_nobody_answers_is_asked_for_again():
    present = replace(class_of([2000, 2040]), rules=CallRules(blind_min=60.0))
    letters = readies(posted(present, map(tick, range(51, 2230))))
    assert [at_s for at_s, _ in letters] == [2000, 2180]
    assert letters[1][1].text.splitlines() == [
        "1 Again: beaker: tip now, wall about 1.0 mm.", "2 Again: cream jug: tip now, wall about 1.0 mm.",
    ]  # fmt: skip
    assert letters[1][1].step == 1


def test_of_two_calls_for_one_mould_the_graver_is_told():
    ready = Alert("c/ready", Kind.READY, "beaker", "c", 600.0, at(600), due_s=600.0)
    late = replace(ready, alert_id="c/late", kind=Kind.LATE)
    letter = letter_of([Notice(ready, Why.FIRST), Notice(late, Why.FIRST)], (), bench(), "phone")
    assert letter.text == "beaker: past its time, tip at once."
    assert set(letter.alert_ids) == {"c/ready", "c/late"}
    assert letter.urgency is Urgency.ALARM


def test_the_loudest_of_several_sets_how_loud_the_message_is():
    soon = Alert("c/soon", Kind.SOON, "beaker", "c", 600.0, at(600), due_s=840.0)
    leak = Alert("d/leaking", Kind.LEAKING, "cream jug", "d", 600.0, at(600), why="check the seam")
    letter = letter_of([Notice(soon, Why.FIRST), Notice(leak, Why.FIRST)], (), bench(), "phone")
    assert letter.urgency is Urgency.ALARM
    assert letter.text.splitlines()[0].startswith("1 cream jug: leaking?")
