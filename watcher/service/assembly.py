"""Build every part of a watched bench from its settings, and close them in reverse."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from ipaddress import ip_address

from sqlalchemy.engine import URL

from models.slip import Slip
from watcher.alerts.channels import Channel
from watcher.alerts.postman import Postman
from watcher.alerts.senders import Senders, letter_for
from watcher.alerts.wording import sentence
from watcher.camera.address import camera_address
from watcher.camera.controls import Controls
from watcher.camera.opening import open_source
from watcher.camera.recording_file import read_bench_file
from watcher.camera.source import FrameSource
from watcher.clock import ComputerClock, resume
from watcher.page.access.access import Access
from watcher.page.access.links import Reach
from watcher.page.app import make_app
from watcher.page.port import PastCast
from watcher.pipeline import new_bench, resumed
from watcher.records.bench import Bench, Step
from watcher.records.kept import KeptCast
from watcher.records.layout import BenchLayout
from watcher.records.letters import Letter
from watcher.records.notices import AlarmState
from watcher.records.said import Said
from watcher.service.hole_crops import HoleCrops
from watcher.service.keeper_link import keeper_link
from watcher.service.outside import Outside
from watcher.service.reachable import lan_addresses, own_names
from watcher.service.running import RunningBench
from watcher.service.troubles import Troubles
from watcher.service.upkeep import Upkeep
from watcher.service.web import Web
from watcher.settings import Settings
from watcher.storage.crops import Crops
from watcher.storage.guests import JournalGuests
from watcher.storage.journal import Journal, open_journal

log = logging.getLogger(__name__)

HISTORY = 30


@dataclass(frozen=True, slots=True)
class Assembled:
    """A bench ready to be watched."""

    running: RunningBench
    source: FrameSource
    clock: ComputerClock
    journal: Journal
    web: Web
    crops: HoleCrops
    upkeep: Upkeep
    outside: Outside
    look_every_s: float


@contextmanager
def assembled(settings: Settings) -> Iterator[Assembled]:
    """Open journal, camera, channels and page; close them in reverse, whatever happens.

    Raises
    ------
    RecordingError, AddressError, JournalUnusable, UnusableChannel, OSError
        Each with one sentence for the caster.
    """
    with ExitStack() as stack:
        described = read_bench_file(settings.bench.file)
        address = camera_address(settings.camera.address.get_secret_value(), settings.camera.folders)
        senders = Senders(_channels(settings), settings.memory.folder)
        settings.memory.folder.mkdir(parents=True, exist_ok=True)
        journal = open_journal(_url(settings), settings.bench.name)
        stack.callback(journal.close)
        gone_on = resume(journal.last_moment())
        clock = gone_on.clock
        journal.began(clock.moment())
        bench = _bench(settings, described.layout, described.slip, journal, gone_on.doubt_s)
        lens = described.layout.lens
        size_px = (lens.width_px, lens.height_px) if lens is not None else (1280, 720)
        source = open_source(
            described.layout.camera, address, clock, size_px=size_px, controls=_controls(settings)
        )
        stack.callback(source.close)
        crops = Crops(settings.memory.folder / "crops")
        troubles = Troubles([lambda: journal.trouble, lambda: crops.trouble])
        postman = Postman(journal.outbox, senders, clock.now_s, troubles.heard)
        stack.callback(postman.close)
        running = RunningBench(
            bench,
            now=lambda: (clock.now_s(), clock.now_at()),
            zone=settings.bench.zone,
            carry_out=_Clerk(journal, senders, postman),
            history=lambda mould: tuple(map(past_cast, journal.casts(mould, HISTORY))),
            troubles=troubles,
        )
        running.tick(clock.now_s(), clock.now_at())  # the page must not show a bench without a present
        access = _access(settings, clock, journal)
        page = settings.page
        web = Web(
            make_app(running, access=access),
            host=_host(settings),
            port=page.port,
            certificate=page.certificate,
            key=page.key,
        )
        stack.callback(web.close)
        stack.callback(running.stop)
        if page.open:
            stack.enter_context(keeper_link(settings, access, web.address))
        upkeep = Upkeep(journal, crops, settings.memory.folder / "copies", clock)
        outside = Outside(settings.outside, running.bench, clock.now_s)
        stack.callback(outside.close)
        yield Assembled(
            running,
            source,
            clock,
            journal,
            web,
            HoleCrops(crops),
            upkeep,
            outside,
            settings.camera.every_s,
        )


class _Clerk:
    """Writes down every step, and its letters in the same transaction; then rings for the postman."""

    def __init__(self, journal: Journal, senders: Senders, postman: Postman) -> None:
        self._journal = journal
        self._senders = senders
        self._postman = postman

    def __call__(self, step: Step, said: Said | None) -> None:
        letters = self._letters(step)
        self._journal.add(step, said, letters)
        if self._journal.outbox.waiting():
            # whoever has answered need not be called on a phone that was out of reach till now
            self._journal.outbox.withdraw(_answered(step))
        if letters:
            self._postman.ring()

    def _letters(self, step: Step) -> list[Letter]:
        return [
            letter_for(notice, sentence(notice), channel=channel)
            for notice in step.to_send
            for channel in self._senders.for_step(notice.step)
        ]


def _answered(step: Step) -> frozenset[str]:
    answered = (AlarmState.ACKNOWLEDGED, AlarmState.NORMAL)
    return frozenset(alert.alert_id for alert in step.bench.alerts if alert.state in answered)


def past_cast(kept: KeptCast) -> PastCast:
    """Turn a remembered cast into what the page shows of it."""
    drop = kept.drop_mm
    minutes = None if kept.tipped_s is None else (kept.tipped_s - kept.fillings[0].latest_s) / 60.0
    wall = kept.figures.get("estimate", {}).get("wall_mm")
    return PastCast(
        kept.cast_id,
        kept.began_at,
        kept.tipped_at,
        minutes,
        drop[0] if drop is not None else None,
        drop[1] if drop is not None else None,
        float(wall) if isinstance(wall, int | float) else None,
        kept.verdict,
    )


def _bench(settings: Settings, layout: BenchLayout, slip: Slip, journal: Journal, doubt_s: float) -> Bench:
    fresh = new_bench(layout, slip, bench_id=settings.bench.name, call_rules=settings.calls.rules())
    restored = journal.restore()
    open_casts = sum(state.cast is not None for state in restored.moulds.values())
    log.info("event=resumed open_casts=%d alerts=%d", open_casts, len(restored.alerts))
    return resumed(fresh, restored.moulds, restored.alerts, doubt_s)


def _controls(settings: Settings) -> Controls:
    camera = settings.camera
    return Controls(camera.exposure, camera.white_balance_k, camera.focus)


def _channels(settings: Settings) -> list[Channel]:
    return [
        Channel(one.name, one.address.get_secret_value(), from_step=one.from_step) for one in settings.channel
    ]


def _url(settings: Settings) -> str:
    database = settings.memory.database
    if database is not None:
        return database.get_secret_value()
    return URL.create("sqlite", database=str(settings.memory.folder / "journal.db")).render_as_string()


def _access(settings: Settings, clock: ComputerClock, journal: Journal) -> Access:
    page = settings.page
    return Access(
        clock,
        settings.bench.name,
        JournalGuests(journal),
        opened=page.open,
        reach=Reach(lan_addresses, (*page.names, *own_names())),
        proxy=page.proxy,
        path=page.path,
    )


def _host(settings: Settings) -> str:
    """Return where to listen: behind a proxy on this machine the bench is reached through that alone."""
    page = settings.page
    at_hand = bool(page.proxy) and ip_address(page.proxy).is_loopback
    return "0.0.0.0" if page.open and not at_hand else "127.0.0.1"
