"""Build every part of a watched bench from its settings, and close them in reverse."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from ipaddress import ip_address

from models.slip import Slip
from watcher.alerts.channels import channels_of
from watcher.alerts.postman import Postman
from watcher.alerts.quiet import QuietHours, quiet_span
from watcher.alerts.senders import Senders
from watcher.camera.address import camera_address
from watcher.camera.controls import Controls
from watcher.camera.opening import open_source
from watcher.camera.recording_file import read_bench_file
from watcher.camera.source import FrameSource
from watcher.clock import Clock, resume
from watcher.desk.after_learned import past_setting
from watcher.desk.memory import BenchMemory
from watcher.desk.plan_times import past_speeds
from watcher.desk.slip_paper import slips_of_today
from watcher.page.access.access import Access
from watcher.page.access.links import Reach
from watcher.page.app import make_app
from watcher.page.port import PastCast
from watcher.page.words_letters import letter_words
from watcher.pipeline import new_bench, resumed
from watcher.records.bench import Bench
from watcher.records.kept import KeptCast
from watcher.records.layout import BenchLayout
from watcher.service.announcing import Announcer, announced_name
from watcher.service.clerk import Clerk
from watcher.service.clock_watch import ClockWatch
from watcher.service.films import Films
from watcher.service.hole_crops import HoleCrops
from watcher.service.keeper_link import keeper_link
from watcher.service.outside import Outside
from watcher.service.reachable import lan_addresses, own_names
from watcher.service.running import RunningBench
from watcher.service.setting_up_beside import Beside
from watcher.service.sharing import Sharing, own_page, shared_url
from watcher.service.stand_ins import Source, StandIns
from watcher.service.summary import DaySummary
from watcher.service.troubles import Troubles
from watcher.service.upkeep import Upkeep
from watcher.service.watches import Watches
from watcher.service.web import Web
from watcher.settings import Settings
from watcher.storage.crops import Crops
from watcher.storage.guests import JournalGuests
from watcher.storage.journal import Journal, open_journal
from watcher.storage.own_file import journal_url

log = logging.getLogger(__name__)

HISTORY = 30


@dataclass(frozen=True, slots=True)
class Assembled:
    """A bench ready to be watched."""

    running: RunningBench
    source: Source
    clock: Clock
    journal: Journal
    web: Web
    crops: HoleCrops
    upkeep: Upkeep
    films: Films
    outside: Outside
    summary: DaySummary
    troubles: Troubles
    clock_watch: ClockWatch
    look_every_s: float


@contextmanager
def assembled(
    settings: Settings, beside: Beside | None = None, *, instead: StandIns | None = None
) -> Iterator[Assembled]:
    """Open journal, camera, channels and page; close them in reverse, whatever happens.

    `beside`: what joins the set-up pages to the bench; None: there are none.

    What is given `instead` is not opened: a told clock, sightings, somebody who takes the letters.

    Raises
    ------
    RecordingError, AddressError, JournalUnusable, UnusableChannel, OSError
        Each with one sentence for the caster.
    """
    with ExitStack() as stack:
        described = read_bench_file(settings.bench.file)
        senders = instead.senders if instead else Senders(channels_of(settings), settings.memory.folder)
        settings.memory.folder.mkdir(parents=True, exist_ok=True)
        journal = open_journal(journal_url(settings), settings.bench.name)
        stack.callback(journal.close)
        clock, doubt_s = _clock(journal, instead)
        sharing = _sharing(settings, journal, clock, stack)
        journal.began(clock.moment())
        crops = Crops(settings.memory.folder / "crops")
        memory = BenchMemory(journal, crops, settings.bench.zone)
        slips = slips_of_today(memory, described.slip, clock.now_s(), clock.now_at())
        bench = _bench(settings, described.layout, described.slip, journal, doubt_s, slips)
        source = instead.source if instead else _camera(settings, described.layout, clock)
        stack.callback(source.close)
        words = letter_words(settings.calls.language)
        watches = Watches(settings, clock, doubt_s)
        troubles = Troubles([lambda: journal.trouble, lambda: crops.trouble, *watches.parts])
        quiet = QuietHours(quiet_span(settings.calls.quiet), settings.bench.zone, senders.channels)
        postman = Postman(
            journal.outbox if sharing is None else sharing.outbox,
            senders,
            clock.now_s,
            troubles.heard,
            lambda letter: quiet.holds(letter, clock.now_at()),
        )
        stack.callback(postman.close)
        running = RunningBench(
            bench,
            now=lambda: (clock.now_s(), clock.now_at()),
            zone=settings.bench.zone,
            carry_out=Clerk(journal, senders, postman, quiet, words),
            history=lambda mould: tuple(map(past_cast, journal.casts(mould, HISTORY))),
            troubles=troubles,
            faults=watches.faults,
            setting=lambda mould: past_setting(memory.all_casts(mould, HISTORY), memory.after.findings()),
            speeds=lambda mould: past_speeds(memory.all_casts(mould, HISTORY)),
            silences=dict if sharing is None else sharing.silences,
        )
        running.tick(clock.now_s(), clock.now_at())  # the page must not show a bench without a present
        access = _access(settings, clock, journal)
        page = settings.page
        setup = None
        if beside is not None:
            elsewhere = None if sharing is None else sharing.elsewhere
            setup = beside.join(settings, running, journal, source, clock, stack, elsewhere)
        web = Web(
            make_app(running, access=access, setup=setup, memory=memory, others=sharing),
            host=_host(settings),
            port=page.port,
            certificate=page.certificate,
            key=page.key,
        )
        stack.callback(web.close)
        stack.callback(running.stop)
        if sharing is not None:
            troubles.add(sharing.trouble)
            sharing.start(settings, running.bench, running.say, own_page(settings, lan_addresses, web.port))
        if page.open:
            stack.enter_context(keeper_link(settings, access, web.address))
        name = announced_name() if page.announce else ""
        if name:
            stack.callback(Announcer(name, settings.bench.name, web.port, lan_addresses).close)
        upkeep = Upkeep(journal, crops, settings.memory.folder / "copies", clock)
        outside = Outside(settings.outside, running.bench, clock.now_s)
        stack.callback(outside.close)
        troubles.add(outside.trouble)
        summary = DaySummary(journal, senders, clock, settings.bench.zone, settings.calls.summary_at, words)
        yield Assembled(
            running,
            source,
            clock,
            journal,
            web,
            HoleCrops(crops),
            upkeep,
            Films(memory, crops, clock),
            outside,
            summary,
            troubles,
            watches.clock,
            settings.camera.every_s,
        )


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


def _clock(journal: Journal, instead: StandIns | None) -> tuple[Clock, float]:
    """Return the bench's clock, and by how much it may be wrong against the run before. [s]."""
    if instead is not None:
        return instead.clock, instead.doubt_s
    gone_on = resume(journal.last_moment())
    return gone_on.clock, gone_on.doubt_s


def _camera(settings: Settings, layout: BenchLayout, clock: Clock) -> FrameSource:
    address = camera_address(settings.camera.address.get_secret_value(), settings.camera.folders)
    lens = layout.lens
    size_px = (lens.width_px, lens.height_px) if lens is not None else (1280, 720)
    return open_source(layout.camera, address, clock, size_px=size_px, controls=_controls(settings))


def _bench(
    settings: Settings,
    layout: BenchLayout,
    slip: Slip,
    journal: Journal,
    doubt_s: float,
    slips: tuple[tuple[float, Slip], ...],
) -> Bench:
    own = settings.bench
    rules = settings.calls.rules(own.zone)
    fresh = new_bench(layout, slip, bench_id=own.name, call_rules=rules, zone=own.zone)
    fresh = replace(fresh, slips=slips)
    restored = journal.restore()
    open_casts = sum(state.cast is not None for state in restored.moulds.values())
    log.info("event=resumed open_casts=%d alerts=%d", open_casts, len(restored.alerts))
    last = journal.last_moment()
    return resumed(fresh, restored.moulds, restored.alerts, doubt_s, last.at if last is not None else None)


def _controls(settings: Settings) -> Controls:
    camera = settings.camera
    return Controls(camera.exposure, camera.white_balance_k, camera.focus)


def _sharing(settings: Settings, journal: Journal, clock: Clock, stack: ExitStack) -> Sharing | None:
    url = shared_url(settings)
    if url is None:
        return None
    sharing = Sharing(url, journal, lambda: (clock.now_s(), clock.now_at()))
    stack.callback(sharing.close)
    return sharing


def _access(settings: Settings, clock: Clock, journal: Journal) -> Access:
    page = settings.page
    told = (announced_name(),) if page.announce else ()
    return Access(
        clock,
        settings.bench.name,
        JournalGuests(journal),
        opened=page.open,
        reach=Reach(lan_addresses, (*page.names, *filter(None, told), *own_names())),
        proxy=page.proxy,
        path=page.path,
    )


def _host(settings: Settings) -> str:
    """Return where to listen: behind a proxy on this machine the bench is reached through that alone."""
    page = settings.page
    at_hand = bool(page.proxy) and ip_address(page.proxy).is_loopback
    return "0.0.0.0" if page.open and not at_hand else "127.0.0.1"
