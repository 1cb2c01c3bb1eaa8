"""What does not work is said on the page, and no longer once it works again."""

from __future__ import annotations

from bench_looks import at, bench

from watcher.page.views import bench_view
from watcher.records.letters import SendFailed, Sent
from watcher.service.running import RunningBench
from watcher.service.troubles import Troubles


def test_a_full_disk_and_a_silent_phone_stand_on_the_page_until_they_are_mended() -> None:
    disk = ["the disk is full"]
    troubles = Troubles([lambda: disk[0], lambda: ""])
    running = RunningBench(bench(), now=lambda: (5.0, at(5.0)), troubles=troubles)

    def shown(now_s: float) -> list[str]:
        running.tick(now_s, at(now_s))
        return bench_view(running.bench(), running, None)["troubles"]

    troubles.heard(SendFailed("phone", False, "phone gave no answer within 8 s"))
    assert shown(1.0) == ["the disk is full", "phone gave no answer within 8 s"]
    disk[0] = ""
    assert shown(2.0) == ["phone gave no answer within 8 s"]
    troubles.heard(Sent("phone"))
    assert shown(3.0) == []
